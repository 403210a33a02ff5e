"""Invented readings from a known truth, for tests that must get that truth back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from matref.estimator.fit import Reading


@dataclass(frozen=True)
class Truth:
    """Standard deviations (log scale) of the effects that the readings are drawn with."""

    intercept: float = 4.6
    slope: float = 0.95
    class_sd: float = 0.2
    slope_sd: float = 0.0
    group_sd: float = 0.05
    series_sd: float = 0.04
    specified_sd: float = 0.06
    nominal_sd: float = 0.03


def readings(truth: Truth, seed: int, *, classes: int = 25, groups: int = 12, per_series: int = 5) -> list[Reading]:
    """Every group publishes about half of the classes; each (group, class) is one series of one kind."""
    rng = np.random.default_rng(seed)
    lines = [
        (truth.intercept + truth.class_sd * rng.normal(), truth.slope + truth.slope_sd * rng.normal())
        for _ in range(classes)
    ]
    found = []
    for g in range(groups):
        group = truth.group_sd * rng.normal()
        for c in range(classes):
            if rng.random() < 0.5:
                continue
            kind = "specified" if rng.random() < 0.4 else "nominal"
            sd = truth.specified_sd if kind == "specified" else truth.nominal_sd
            series = truth.series_sd * rng.normal()
            for _ in range(per_series):
                x = rng.normal(0.0, 0.4)
                y = lines[c][0] + lines[c][1] * x + group + series + sd * rng.normal()
                found.append(
                    Reading(f"class {c:02}", 80 * float(np.exp(x)), float(np.exp(y)), kind, f"s{g}-{c}", f"group {g}")
                )
    return found
