"""The fit against statsmodels' MixedLM at the same REML criterion, and its cost as readings grow."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator, Sequence

import numpy as np
from table import Limit, Row, at_most
from timed import compare

import matref
from matref.estimator.fit import Reading, collapse_calculated, fit_family
from matref.estimator.line import log_ratio
from matref.estimator.reml import Moments, Readings, Variances, maximise
from matref.estimator.store import family_readings

START = Variances(np.zeros((1, 1)), 0.0, 0.1, np.array([0.1]))


def simulated(count: int, series: int, seed: int = 1) -> Readings:
    """Return invented readings of a line with a random intercept per series."""
    rng = np.random.default_rng(seed)
    own = rng.integers(0, series, count)
    x = np.column_stack([np.ones(count), rng.normal(0, 0.4, count)])
    y = x @ [4.6, 0.95] + rng.normal(0, 0.06, series)[own] + rng.normal(0, 0.03, count)
    zero = np.zeros(series, dtype=np.int64)
    return Readings(x, np.ones((count, 1)), y, own, np.zeros_like(own), zero, zero, 1, 1, 1)


def ours(data: Readings) -> float:
    """Fit and return the criterion at its maximum."""
    moments = Moments(data)
    return float(moments.solve(maximise(moments, START)).criterion)


def theirs(data: Readings) -> float:
    """Fit by MixedLM and return the criterion at its maximum."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    with warnings.catch_warnings(action="ignore"):
        return float(MixedLM(data.y, data.x, groups=data.series).fit(reml=True).llf)


def theirs_crossed(rows: Sequence[Reading]) -> float:
    """Fit class, source group and series within them by MixedLM's variance components; return the criterion."""
    import pandas as pd
    from statsmodels.regression.mixed_linear_model import MixedLM

    frame = pd.DataFrame(
        {
            "y": [math.log(r.caliper_um) for r in rows],
            "x": [log_ratio(r.grammage_gsm) for r in rows],
            "one": 1,
            "c": [r.class_id for r in rows],
            "g": [r.source_group for r in rows],
            "s": [f"{r.class_id} {r.source_group}" for r in rows],
        }
    )
    effects = {name: f"0 + C({name})" for name in ("c", "g", "s")}
    with warnings.catch_warnings(action="ignore"):
        return float(MixedLM.from_formula("y ~ x", groups="one", vc_formula=effects, data=frame).fit(reml=True).llf)


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    data = simulated(10_000, 500)
    note = f"criterion {ours(data):.4f} and {theirs(data):.4f}"
    yield compare(
        "fit, 10,000 readings in 500 series",
        lambda: ours(data),
        "MixedLM",
        lambda: theirs(data),
        limit=Limit("at most 1/20", high=1 / 20),
        turns=3,
        note=note,
    )
    with matref.open(":memory:") as workshop:
        readings = family_readings(workshop.connection, "paper")
    papers = collapse_calculated(readings)
    x = np.array([[1.0, log_ratio(r.grammage_gsm)] for r in papers])
    y = np.log([r.caliper_um for r in papers])
    codes = {c: i for i, c in enumerate(sorted({r.class_id for r in papers}))}
    own = np.array([codes[r.class_id] for r in papers])
    zero = np.zeros(len(codes), dtype=np.int64)
    simple = Readings(x, np.ones((len(y), 1)), y, own, np.zeros_like(own), zero, zero, 1, 1, 1)
    yield compare(
        f"fit, the {len(papers)} papers of the catalogue, same model",
        lambda: ours(simple),
        "MixedLM, intercept per class",
        lambda: theirs(simple),
        limit=at_most(1),
        note=f"criterion {ours(simple):.4f} and {theirs(simple):.4f}",
    )
    yield compare(
        "fit of paper as shipped (kinds and slips as well)",
        lambda: fit_family(readings),
        "MixedLM, class, group, series",
        lambda: theirs_crossed(papers),
        limit=at_most(1),
    )
    fixed, growing = "in 500 series", "twenty to a series"
    for more, series in ((100_000, fixed), (1_000_000, fixed), (1_000_000, growing)):
        few = more // 10
        large = simulated(more, 500 if series == fixed else more // 20)
        small = simulated(few, 500 if series == fixed else few // 20)
        yield compare(
            f"fit, {more:,} readings, {series}",
            lambda large=large: ours(large),  # type: ignore[misc]
            f"{few:,} readings",
            lambda small=small: ours(small),  # type: ignore[misc]
            limit=at_most(12),
            turns=3,
        )
