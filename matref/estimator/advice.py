"""Which measurement would help most, worked out rather than recited.

For each measurement that a person could take next, the pile's own likely values are supposed true, the reading is
added with the uncertainty it would have, and the width of the caliper's interval after it is worked out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from matref.estimator import observation as obs
from matref.estimator.assumptions import Rules
from matref.estimator.estimate import Estimate
from matref.estimator.model import Model
from matref.estimator.observation import Factor, Observation
from matref.estimator.posterior import Posterior, posterior
from matref.quantities import format_number

_MOST_SHEETS = 5000
_REAM = 500  # a taller stack is not clamped
_GAUGED = (1, 4, 8)  # sheets that go under a micrometer together
_TYPICAL = 2  # how many likely papers the pile is supposed to be, in turn


class Measurement(NamedTuple):
    """A way to measure: the words, and what it would observe of a pile of given grammage and caliper."""

    key: str
    words: str
    sheets: int
    instrument: str

    def observe(self, rules: Rules, grammage_gsm: float, caliper_um: float) -> Observation:
        """Return the observation it would give of a pile whose true values are these."""
        n = self.sheets
        if self.key == "weigh":
            area_m2 = 0.210 * 0.297
            u_mm = rules.division_mm("ruler") * math.sqrt(2 / 12)
            u_g = rules.number("measuring.division.scale") * math.sqrt(2 / 12)
            mass_g = grammage_gsm * area_m2 * n
            return obs.weighing(mass_g, n, 210.0, 297.0, u_mass_g=u_g, u_width_mm=u_mm, u_height_mm=u_mm)
        division = rules.division_mm(self.instrument)
        if self.key == "gauge":
            held = Factor(1.0, 1.0, "own-derivation") if n == 1 else rules.held("gauge")
            return obs.stack(
                caliper_um * n / 1000, n, held, u_thickness_mm=division / math.sqrt(12), with_=self.instrument
            )
        held = rules.held("clamped" if self.key == "clamped" else "hand")
        return obs.stack(
            caliper_um * n / 1000, n, held, u_thickness_mm=division * math.sqrt(2 / 12), with_=self.instrument
        )


class Advice(NamedTuple):
    """A measurement worth taking and the half-width of the caliper's interval after it, µm and % of the value."""

    words: str
    half_width_um: float
    half_width_pct: float

    def as_json(self) -> dict[str, str | float]:
        """Return plain values for JSON."""
        return {"measure": self.words, "half_width_um": self.half_width_um, "half_width_pct": self.half_width_pct}


def candidates() -> Iterator[Measurement]:
    """Yield the measurements that a kitchen and a workshop allow."""
    for n in (20, 100):
        yield Measurement("weigh", f"weigh {n} sheets on a kitchen scale that shows whole grams", n, "")
    for n in (50, 100, 200):
        yield Measurement("clamped", f"clamp {n} sheets between two boards and measure with a ruler", n, "ruler")
    yield Measurement("clamped", "clamp 50 sheets between two boards and measure with a vernier", 50, "vernier")
    yield Measurement("gauge", "measure one sheet with a micrometer", 1, "micrometer")
    yield Measurement("gauge", "measure 8 sheets together with a micrometer", 8, "micrometer")


def advise(
    model: Model, observations: Sequence[Observation], known: Posterior, rules: Rules, level: float, most: int = 3
) -> list[Advice]:
    """Return the measurements that narrow the caliper most, best first, each only once per instrument and kind."""
    found: dict[tuple[str, str], Advice] = {}
    before = _half_width(known, level)
    for candidate in candidates():
        after = expected_half_width(model, observations, known, candidate, rules, level)
        if after[1] > 0.95 * before[1]:
            continue
        key = (candidate.key, candidate.instrument)
        # More sheets always help a little; a further step is only advised where it helps by a tenth.
        if key not in found or after[1] < 0.9 * found[key].half_width_pct:
            found[key] = Advice(candidate.words, *after)
    return sorted(found.values(), key=lambda a: a.half_width_pct)[:most]


def expected_half_width(
    model: Model,
    observations: Sequence[Observation],
    known: Posterior,
    measurement: Measurement,
    rules: Rules,
    level: float,
) -> tuple[float, float]:
    """Return the half-width (µm, % of the value) to expect after `measurement`, averaged over the likely papers."""
    likely = _typical(known)
    total = math.fsum(weight for weight, _, _ in likely)
    width = share = 0.0
    for weight, log_g, log_c in likely:
        reading = measurement.observe(rules, math.exp(log_g), math.exp(log_c))
        after = _half_width(posterior(model, [*observations, reading]), level)
        width += weight / total * after[0]
        share += weight / total * after[1]
    return width, share


class Target(NamedTuple):
    """How many sheets a way of measuring needs to bring the half-width down to a wanted share; None: it cannot."""

    words: str
    sheets: int | None
    half_width_pct: float

    def as_json(self) -> dict[str, str | int | float | None]:
        """Return plain values for JSON."""
        return {"measure": self.words, "sheets": self.sheets, "half_width_pct": self.half_width_pct}


def reach(
    model: Model, observations: Sequence[Observation], known: Posterior, rules: Rules, level: float, target_pct: float
) -> list[Target]:
    """Return, for each way of measuring, the fewest sheets that bring the half-width to `target_pct` of the value."""
    ways = (
        ("weigh", "", "weighing on a scale that shows whole grams"),
        ("hand", "ruler", "a stack held by hand, with a ruler"),
        ("clamped", "ruler", "a clamped stack, with a ruler"),
        ("clamped", "vernier", "a clamped stack, with a vernier"),
        ("gauge", "micrometer", "sheets together under a micrometer"),
    )
    found = []
    for key, instrument, words in ways:

        def after(n: int, key: str = key, instrument: str = instrument) -> float:
            way = Measurement(key, "", n, instrument)
            return expected_half_width(model, observations, known, way, rules, level)[1]

        n = _fewest(after, target_pct, _MOST_SHEETS)
        found.append(Target(words, n, after(n or _MOST_SHEETS)))
    return found


class RulerAnswer(NamedTuple):
    """Is a ruler good enough? From how many clamped sheets on it is, beside the best that a micrometer gives.

    `sheets` None: no stack that one can clamp makes it so. Half-widths are % of the caliper.
    """

    sheets: int | None
    half_width_pct: float
    micrometer_half_width_pct: float

    @property
    def words(self) -> str:
        """One line for people."""
        gauge = f"a micrometer: ± {format_number(self.micrometer_half_width_pct, 2)} %"
        ruler = f"± {format_number(self.half_width_pct, 2)} %"
        if self.sheets is None:
            return f"no: even {_REAM} clamped sheets under a ruler leave {ruler} ({gauge})"
        sheets = "1 sheet" if self.sheets == 1 else f"{self.sheets} sheets"
        return f"yes, from {sheets} clamped between boards: {ruler} ({gauge})"

    def as_json(self) -> dict[str, bool | int | float | str | None]:
        """Return plain values for JSON."""
        return {
            "enough": self.sheets is not None,
            "sheets": self.sheets,
            "half_width_pct": self.half_width_pct,
            "micrometer_half_width_pct": self.micrometer_half_width_pct,
            "answer": self.words,
        }


def ruler_enough(
    model: Model,
    observations: Sequence[Observation],
    known: Posterior,
    rules: Rules,
    level: float,
    target_pct: float | None = None,
) -> RulerAnswer:
    """Return whether a ruler on a clamped stack reaches `target_pct`, or without one, what a micrometer gives.

    A stack counts as reaching the micrometer's range when its own is no more than a tenth wider.
    """

    def after(key: str, n: int, instrument: str) -> float:
        return expected_half_width(model, observations, known, Measurement(key, "", n, instrument), rules, level)[1]

    def ruler(n: int) -> float:
        return after("clamped", n, "ruler")

    micrometer = min(after("gauge", n, "micrometer") for n in _GAUGED)
    n = _fewest(ruler, 1.1 * micrometer if target_pct is None else target_pct, _REAM)
    return RulerAnswer(n, ruler(n or _REAM), micrometer)


def _fewest(after: Callable[[int], float], target: float, most: int) -> int | None:
    """Return the least n with after(n) at most `target`; None if `most` do not do.

    `after` falls with n, but for one sheet under a gauge, which may be better than a few: small n are tried first.
    """
    low, high = 0, 1
    while after(high) > target:
        if high == most:
            return None
        low, high = high, min(2 * high, most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if after(middle) <= target else (middle, high)
    return high


def _typical(known: Posterior) -> list[tuple[float, float, float]]:
    """Return (weight, mean log grammage, mean log caliper) of the likeliest papers: one for each class."""
    sums: dict[str, list[float]] = {}
    for p in known.parts:
        own = sums.setdefault(p.class_id, [0.0, 0.0, 0.0])
        own[0] += p.weight
        own[1] += p.weight * p.mean_g
        own[2] += p.weight * p.mean_c
    papers = [(w, g / w, c / w) for w, g, c in sums.values()]
    return sorted(papers, key=lambda paper: -paper[0])[:_TYPICAL]


def _half_width(known: Posterior, level: float) -> tuple[float, float]:
    estimate = Estimate.of(known.caliper_um, level)
    return estimate.half_width, 100 * estimate.half_width / estimate.value
