"""How good the estimator is: every source group in turn is left out and foretold from the others.

Source groups, not series or rows, are independent of each other: rows of one publisher share their maker, their
rounding and their slips. A reading is judged where its class has readings from another group. The density foretold is
the one that answers give: the class line with its doubt, and Student's t about it for one product.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from matref.estimator.distribution import LogNormalMixture
from matref.estimator.fit import FamilyFit, Reading, Settings, collapse_calculated, fit_family
from matref.estimator.line import log_ratio
from matref.estimator.model import Model
from matref.estimator.observation import Factor
from matref.estimator.posterior import posterior

NOTEBOOK = (
    "offset_uncoated",
    "copier",
    "bond_writing",
    "book_bulky",
    "mechanical_book",
    "newsprint",
    "coated_gloss",
    "coated_silk_matt",
    "ledger",
    "text_laid_wove",
    "drawing_cartridge",
    "exercise_book",
)
"""The classes that a maker of notebooks meets: writing, copy, book, drawing, newsprint, coated text."""

BOOK = ("offset_uncoated", "book_bulky", "mechanical_book", "text_laid_wove", "coated_gloss", "coated_silk_matt")
"""The classes that whole books are printed on."""


class Predictive(Protocol):
    """What a method foretells of log caliper at one grammage."""

    @property
    def centre(self) -> float:
        """The median."""
        ...

    def below(self, y: float) -> float:
        """Return the share below y."""
        ...

    def log_density(self, y: float) -> float:
        """Return the log density at y."""
        ...


Predictor = Callable[[Reading], Predictive]
Method = Callable[[Sequence[Reading]], Predictor]


@dataclass(frozen=True, slots=True)
class Scattered:
    """A normal mixture about one centre: (weight, standard deviation) of each component."""

    centre: float
    parts: tuple[tuple[float, float], ...]

    def below(self, y: float) -> float:
        """Return the share below y."""
        return math.fsum(w * 0.5 * math.erfc((self.centre - y) / (s * math.sqrt(2))) for w, s in self.parts)

    def log_density(self, y: float) -> float:
        """Return the log density at y."""
        terms = [
            math.log(w) - math.log(s) - 0.5 * ((y - self.centre) / s) ** 2 - 0.5 * math.log(2 * math.pi)
            for w, s in self.parts
        ]
        top = max(terms)
        return top + math.log(math.fsum(math.exp(t - top) for t in terms))


@dataclass(frozen=True, slots=True)
class Judged:
    """One reading left out: error (log of printed over foretold), share foretold below it, log density there."""

    reading: Reading
    error: float
    share: float
    log_density: float

    def inside(self, level: float) -> bool:
        """Tell whether the central interval at `level` holds the reading."""
        return abs(self.share - 0.5) < level / 2


@dataclass(frozen=True, slots=True)
class Score:
    """Summary of readings left out. Errors are % of the caliper; the log score is the mean log density (nats)."""

    readings: int
    groups: int
    error_pct: float
    cover_90: float
    cover_50: float
    log_score: float

    @classmethod
    def of(cls, judged: Sequence[Judged]) -> Score:
        """Return the summary; NaN where nothing was judged."""
        n = len(judged)
        if not n:
            return cls(0, 0, math.nan, math.nan, math.nan, math.nan)
        errors = sorted(100 * math.expm1(abs(j.error)) for j in judged)
        median = (errors[(n - 1) // 2] + errors[n // 2]) / 2
        return cls(
            n,
            len({j.reading.source_group for j in judged}),
            median,
            sum(j.inside(0.9) for j in judged) / n,
            sum(j.inside(0.5) for j in judged) / n,
            math.fsum(j.log_density for j in judged) / n,
        )


def matref_method(settings: Settings | None = None) -> Method:
    """Return the estimator itself as a method."""

    def method(known: Sequence[Reading]) -> Predictor:
        fit = fit_family(known, settings)
        return lambda reading: _foretold(fit, reading)

    return method


def _foretold(fit: FamilyFit, reading: Reading) -> Scattered:
    line, x = fit.lines.get(reading.class_id, fit.unpublished), log_ratio(reading.grammage_gsm)
    return Scattered(line.mean(x), fit.product_parts(line, x))


def leave_groups_out(rows: Iterable[Reading], method: Method) -> list[Judged]:
    """Return what `method` foretold of each reading from all source groups but the reading's own."""
    statements = collapse_calculated(rows)
    judged = []
    for group in sorted({r.source_group for r in statements}):
        known = [r for r in statements if r.source_group != group]
        classes = {r.class_id for r in known}
        asked = [r for r in statements if r.source_group == group and r.class_id in classes]
        if not asked:
            continue
        foretell = method(known)
        for reading in asked:
            y = math.log(reading.caliper_um)
            found = foretell(reading)
            judged.append(Judged(reading, y - found.centre, found.below(y), found.log_density(y)))
    return judged


def notebook(judged: Iterable[Judged]) -> list[Judged]:
    """Return those of the notebook classes."""
    return [j for j in judged if j.reading.class_id in NOTEBOOK]


def by_group(judged: Sequence[Judged]) -> dict[str, Score]:
    """Return the summary of each source group left out."""
    groups = sorted({j.reading.source_group for j in judged})
    return {g: Score.of([j for j in judged if j.reading.source_group == g]) for g in groups}


def calibration(judged: Sequence[Judged], levels: Sequence[float]) -> list[tuple[float, float]]:
    """Return (stated level, share of readings inside the interval at that level)."""
    return [(level, sum(j.inside(level) for j in judged) / len(judged)) for level in levels] if judged else []


def variants() -> dict[str, Settings]:
    """Return the settings that were tried, the chosen one first; each differs from it as its name says."""
    chosen = Settings()
    tried = {"as chosen": chosen}
    tried |= {f"series: {kind}": replace(chosen, series=kind) for kind in ("none", "document")}
    tried |= {
        "slope per class": replace(chosen, class_slope=True),
        "slope per class, series: document": replace(chosen, class_slope=True, series="document"),
        "no source groups": replace(chosen, group=False),
        "no source groups, series: document": replace(chosen, group=False, series="document"),
        "one kind of reading": replace(chosen, by_kind=False),
        "no slips": replace(chosen, slip_share=0.0),
    }
    return tried | {
        f"tail: {'normal' if math.isinf(tail) else f't, {tail:g}'}": replace(chosen, tail=tail)
        for tail in (3.0, 5.0, 8.0, math.inf)
    }


def book_thickness_mm(
    model: Model, mass_g: float, area_m2: float, pressed: Factor, class_ids: Sequence[str] = BOOK
) -> LogNormalMixture:
    """Return the thickness foretold of a book of which only mass and page area are known, mm.

    Bulk (cm³/g) times mass over area, times `pressed`, leaf in a closed book over single sheet. The paper is one of
    `class_ids` with the weights of the model. The cover is taken for paper: boards are about as bulky as book paper.
    """
    bulk = posterior(model.only([c for c in class_ids if c in model.classes]), ()).bulk_cm3_g
    shift = math.log(mass_g / area_m2 / 1000) + pressed.mu
    return LogNormalMixture(tuple((w, mu + shift, math.hypot(s, pressed.u)) for w, mu, s in bulk.parts))
