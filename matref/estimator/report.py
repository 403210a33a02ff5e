"""`model report`: how good the estimator is, in numbers and words; `figures` draws them.

Everything is worked out anew from the readings in the file. The baselines of libraries that are not installed are left
out, and said to be.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from matref.estimator.baselines import baselines
from matref.estimator.distribution import LogNormalMixture
from matref.estimator.fit import FamilyFit, Reading, collapse_calculated, fit_family
from matref.estimator.line import gsm_at, log_ratio
from matref.estimator.store import family_readings
from matref.estimator.validate import (
    Judged,
    Score,
    by_group,
    calibration,
    leave_groups_out,
    matref_method,
    notebook,
    variants,
)

LEVELS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
FAMILIES = ("paper", "board", "cloth")
OURS = "matref"


@dataclass(frozen=True, slots=True)
class ClassFit:
    """A class as fitted: caliper (µm) at the middle of its grammages with the range of nine products in ten."""

    class_id: str
    readings: int
    groups: int
    gsm: float
    slope: float
    caliper_um: float
    low_um: float
    high_um: float


@dataclass(frozen=True, slots=True)
class Residual:
    """How one source group departs from the class lines, % of the caliper: mean and root mean square."""

    source_group: str
    readings: int
    mean_pct: float
    rms_pct: float


@dataclass(frozen=True, slots=True)
class FamilyReport:
    """All that is said of one family. `methods`: score by method, of all classes and of the notebook classes."""

    family: str
    readings: int
    statements: int
    classes: tuple[ClassFit, ...]
    residuals: tuple[Residual, ...]
    judged: tuple[Judged, ...]
    calibration: tuple[tuple[float, float], ...]
    groups: dict[str, Score]
    methods: dict[str, tuple[Score, Score]]
    variants: dict[str, tuple[Score, Score]]
    left_out: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return plain values; keys carry units. NaN (nothing to judge) becomes null."""
        return {
            "family": self.family,
            "readings": self.readings,
            "statements": self.statements,
            "classes": [asdict(c) for c in self.classes],
            "residuals_by_source": [asdict(r) for r in self.residuals],
            "calibration": [{"stated": s, "observed": o} for s, o in self.calibration],
            "source_groups": {name: _plain(score) for name, score in self.groups.items()},
            "methods": {name: _pair(pair) for name, pair in self.methods.items()},
            "variants": {name: _pair(pair) for name, pair in self.variants.items()},
            "left_out": list(self.left_out),
        }

    def text(self) -> str:
        """Return the report as lines of plain text."""
        lines = [
            f"{self.family}: {self.readings} readings, {self.statements} statements, {len(self.classes)} classes",
            "",
            *_class_lines(self.classes),
            "",
            "Departures of source groups from the class lines",
            f"  {'source group':28}{'readings':>9}{'mean %':>9}{'rms %':>9}",
            *(f"  {r.source_group:28}{r.readings:9}{r.mean_pct:+9.1f}{r.rms_pct:9.1f}" for r in self.residuals),
            "",
            "One source group left out at a time, foretold from the others",
            *_score_lines(self.methods, "method"),
            *(f"  not compared: {line}" for line in self.left_out),
        ]
        if self.variants:
            lines += ["", "Variants of the model on the same folds", *_score_lines(self.variants, "variant")]
        if self.groups:
            lines += ["", f"  {'group left out':28}{_HEAD}", *(f"  {g:28}{_cells(s)}" for g, s in self.groups.items())]
        if self.calibration:
            stated = "".join(f"{100 * level:6.0f}" for level, _ in self.calibration)
            observed = "".join(f"{100 * share:6.0f}" for _, share in self.calibration)
            lines += ["", "Intervals", f"  stated %  {stated}", f"  observed %{observed}"]
        return "\n".join(lines)


def report(
    connection: sqlite3.Connection,
    families: Sequence[str] = FAMILIES,
    *,
    with_baselines: bool = True,
    with_variants: bool = False,
    say: Callable[[str], None] | None = None,
) -> list[FamilyReport]:
    """Return the report of each family; `say` is told what is being worked out."""
    return [_family(connection, family, with_baselines, with_variants, say or (lambda _: None)) for family in families]


def _family(
    connection: sqlite3.Connection, family: str, with_baselines: bool, with_variants: bool, say: Callable[[str], None]
) -> FamilyReport:
    rows = family_readings(connection, family)
    say(f"{family}: {OURS}")
    fit = fit_family(rows)
    judged = leave_groups_out(rows, matref_method())
    methods = {OURS: _scores(judged)}
    left_out = []
    for name, method in baselines().items() if with_baselines else ():
        say(f"{family}: {name}")
        try:
            methods[name] = _scores(leave_groups_out(rows, method))
        except ImportError as error:
            left_out.append(f"{name}, for {error.name} is not installed (extra: report)")
    tried = {}
    for name, settings in variants().items() if with_variants else ():
        say(f"{family}: {name}")
        tried[name] = _scores(leave_groups_out(rows, matref_method(settings)))
    statements = collapse_calculated(rows)
    return FamilyReport(
        family=family,
        readings=len(rows),
        statements=len(statements),
        classes=tuple(class_fit(fit, class_id, rows) for class_id in sorted(fit.lines)),
        residuals=tuple(_residuals(fit, statements)),
        judged=tuple(judged),
        calibration=tuple(calibration(judged, LEVELS)),
        groups=by_group(judged),
        methods=methods,
        variants=tried,
        left_out=tuple(left_out),
    )


def class_fit(fit: FamilyFit, class_id: str, rows: Sequence[Reading]) -> ClassFit:
    """Return a class's line at the geometric middle of its grammages."""
    own = [r for r in rows if r.class_id == class_id]
    x = math.fsum(log_ratio(r.grammage_gsm) for r in own) / len(own)
    products = product_range(fit, class_id, x)
    return ClassFit(
        class_id,
        len(own),
        len({r.source_group for r in own}),
        gsm_at(x),
        fit.lines[class_id].slope,
        products.quantile(0.5),
        products.quantile(0.05),
        products.quantile(0.95),
    )


def product_range(fit: FamilyFit, class_id: str, x: float) -> LogNormalMixture:
    """Return what is foretold of a new product of the class at x = log(grammage / 80 g/m²), µm."""
    line = fit.lines[class_id]
    return LogNormalMixture(tuple((weight, line.mean(x), sd) for weight, sd in fit.product_parts(line, x)))


def _residuals(fit: FamilyFit, statements: Sequence[Reading]) -> list[Residual]:
    departures: dict[str, list[float]] = {}
    for r in statements:
        line = fit.lines[r.class_id]
        departures.setdefault(r.source_group, []).append(math.log(r.caliper_um) - line.mean(log_ratio(r.grammage_gsm)))
    return [
        Residual(
            group,
            len(values),
            100 * math.fsum(values) / len(values),
            100 * math.sqrt(math.fsum(v * v for v in values) / len(values)),
        )
        for group, values in sorted(departures.items())
    ]


def _scores(judged: list[Judged]) -> tuple[Score, Score]:
    return Score.of(judged), Score.of(notebook(judged))


_HEAD = f"{'readings':>9}{'error %':>9}{'in 90 %':>9}{'in 50 %':>9}{'log score':>11}"


def _cells(score: Score) -> str:
    if not score.readings:
        return ""
    return (
        f"{score.readings:9}{score.error_pct:9.2f}{100 * score.cover_90:9.1f}{100 * score.cover_50:9.1f}"
        f"{score.log_score:11.3f}"
    )


def _score_lines(scores: dict[str, tuple[Score, Score]], what: str) -> list[str]:
    lines = [f"  {what:36}{_HEAD}", *(f"  {name:36}{_cells(whole)}" for name, (whole, _) in scores.items())]
    if any(own.readings for _, own in scores.values()):
        lines += ["  the notebook classes alone", *(f"  {n:36}{_cells(own)}" for n, (_, own) in scores.items())]
    return lines


def _class_lines(classes: Sequence[ClassFit]) -> list[str]:
    head = f"  {'class':28}{'readings':>9}{'groups':>8}{'g/m²':>7}{'µm':>8}{'nine products in ten':>24}{'slope':>8}"
    return [
        head,
        *(
            f"  {c.class_id:28}{c.readings:9}{c.groups:8}{c.gsm:7.0f}{c.caliper_um:8.0f}"
            f"{f'{c.low_um:.0f} to {c.high_um:.0f}':>24}{c.slope:8.3f}"
            for c in classes
        ),
    ]


def _pair(pair: tuple[Score, Score]) -> dict[str, Any]:
    return {"all": _plain(pair[0]), "notebook": _plain(pair[1])}


def _plain(score: Score) -> dict[str, float | int | None]:
    return {name: None if math.isnan(value) else value for name, value in asdict(score).items()}
