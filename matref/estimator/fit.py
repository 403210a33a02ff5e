"""Fit the class lines of one family (paper, board or cloth) to published readings.

log caliper = a + b·x + (a_c + b_c·x) + group + series + residual, with x = log(grammage / 80 g/m²). Standard
deviations come from restricted maximum likelihood (`reml`). Each reading is weighed by the odds that it is no slip
(a contaminated normal), so that a mistyped reading cannot drag a class; a new product departs from its line with
Student-t tails.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import roots_genlaguerre

from matref.estimator.line import REFERENCE_GSM, Line
from matref.estimator.reml import Floats, Moments, Readings, Solution, Variances, maximise

KINDS = ("specified", "nominal", "measured")


@dataclass(frozen=True, slots=True)
class Reading:
    """One published pair: grammage in g/m², caliper in µm, and where it belongs."""

    class_id: str
    grammage_gsm: float
    caliper_um: float
    kind: str
    series_id: str
    source_group: str
    calculated: bool = False


@dataclass(frozen=True, slots=True)
class Settings:
    """Choices of the fit, as chosen by leaving out one source group at a time (`matref.estimator.validate.variants`).

    `series` says what shares an effect within a class: "none", "source" (all that one source says of the class) or
    "document" (each table or data sheet by itself). `tail` is the t degrees of freedom of a product about its line.
    A reading is a slip with probability `slip_share`; slips scatter `slip_scale` times as wide (a factor of ten one way
    or the other is then nothing unusual).
    """

    class_slope: bool = False
    group: bool = True
    series: str = "source"
    by_kind: bool = True
    tail: float = 4.0
    slip_share: float = 0.01
    slip_scale: float = 30.0


@dataclass(frozen=True, slots=True)
class FamilyFit:
    """What the fit of one family learnt: lines by class id, the line of a class nobody published, and scatter."""

    lines: dict[str, Line]
    unpublished: Line
    variances: Variances
    kinds: tuple[str, ...]
    tail: float
    criterion: float
    readings: int
    statements: int
    slips: tuple[Reading, ...]

    @property
    def product_sd(self) -> float:
        """Scale of one product's departure from its class line (natural log), between sources included."""
        v = self.variances
        residual = float(v.kind_sd[self.kinds.index("nominal")] if "nominal" in self.kinds else v.kind_sd[0])
        return math.sqrt(v.group_sd**2 + v.series_sd**2 + residual**2)

    def nodes(self, count: int = 5) -> list[tuple[float, float]]:
        """Return Student's t as `count` normal components (weight, factor on the scale).

        Gauss-Laguerre nodes of the gamma mixing density; five of them give the 5 % and 95 % quantiles within 1 %.
        """
        if math.isinf(self.tail):
            return [(1.0, 1.0)]
        place, weight = roots_genlaguerre(count, self.tail / 2 - 1)
        share = weight / weight.sum()
        factor = np.sqrt(self.tail / 2 / place)
        return [(float(w), float(f)) for w, f in zip(share, factor, strict=True)]

    def product_parts(self, line: Line, x: float) -> tuple[tuple[float, float], ...]:
        """Return how a new product scatters about its line at x: weight and log standard deviation of each part."""
        variance = line.variance(x)
        return tuple((w, math.sqrt(variance + (f * self.product_sd) ** 2)) for w, f in self.nodes())


def collapse_calculated(readings: Iterable[Reading]) -> list[Reading]:
    """Return the readings with each calculated series replaced by its single statement about bulk.

    A caliper column that is the grammage column times one figure says one thing, however many rows it has.

    >>> rows = [Reading("copier", g, 1.3 * g, "nominal", "s", "mill", calculated=True) for g in (70, 80, 90)]
    >>> [(round(r.grammage_gsm, 1), round(r.caliper_um, 1)) for r in collapse_calculated(rows)]
    [(79.6, 103.5)]
    """
    kept: list[Reading] = []
    calculated: dict[tuple[str, str, str], list[Reading]] = {}
    for r in readings:
        if r.calculated:
            calculated.setdefault((r.class_id, r.series_id, r.source_group), []).append(r)
        else:
            kept.append(r)
    for rows in calculated.values():
        grammage = math.exp(sum(math.log(r.grammage_gsm) for r in rows) / len(rows))
        caliper = math.exp(sum(math.log(r.caliper_um) for r in rows) / len(rows))
        first = rows[0]
        kept.append(Reading(first.class_id, grammage, caliper, first.kind, first.series_id, first.source_group))
    return kept


def arrays(readings: Sequence[Reading], settings: Settings) -> tuple[Readings, list[str], list[str]]:
    """Return the readings as coded arrays, with the class ids and kinds that the codes stand for."""
    classes = sorted({r.class_id for r in readings})
    groups = sorted({r.source_group for r in readings})
    kinds = [k for k in KINDS if any(r.kind == k for r in readings)] if settings.by_kind else ["nominal"]

    # A series that spans two classes has an effect in each: it is two products.
    def key(r: Reading) -> tuple[str, str, str]:
        return (r.class_id, r.source_group, r.series_id if settings.series == "document" else "")

    keys = sorted({key(r) for r in readings})
    series_code = {k: i for i, k in enumerate(keys)}
    class_code = {c: i for i, c in enumerate(classes)}
    group_code = {g: i for i, g in enumerate(groups)}
    x = np.log(np.array([r.grammage_gsm for r in readings]) / REFERENCE_GSM)
    regressors = np.column_stack([np.ones(len(x)), x])
    data = Readings(
        x=regressors,
        z=regressors[:, : 2 if settings.class_slope else 1].copy(),
        y=np.log([r.caliper_um for r in readings]),
        series=np.array([series_code[key(r)] for r in readings]),
        kind=np.array([kinds.index(r.kind) if settings.by_kind else 0 for r in readings]),
        series_class=np.array([class_code[k[0]] for k in keys]),
        series_group=np.array([group_code[k[1]] for k in keys]),
        classes=len(classes),
        groups=len(groups),
        kinds=len(kinds),
    )
    return data, classes, kinds


def fit_family(readings: Sequence[Reading], settings: Settings | None = None) -> FamilyFit:
    """Fit one family and return its lines.

    At least three readings are needed. Raises ValueError otherwise: the catalogue compiler guarantees them.
    """
    settings = settings or Settings()
    statements = collapse_calculated(readings)
    if len(statements) < 3:
        raise ValueError(f"{len(statements)} statements are too few to fit a line")
    data, classes, kinds = arrays(statements, settings)
    q = data.z.shape[1]
    start = Variances(
        np.array([[0.2, 0.0], [0.001, 0.02]]) if q == 2 else np.array([[0.2]]),
        0.04 if settings.group else 0.0,
        0.04 if settings.series != "none" else 0.0,
        np.full(len(kinds), 0.04),
    )
    variances, solution, weight = _robust(data, start, settings)
    lines = {}
    for c, class_id in enumerate(classes):
        lines[class_id] = _line(solution, c, q)
    unpublished = Line(
        float(solution.beta[0]),
        float(solution.beta[1]),
        *_unpublished_covariance(solution, variances, q),
    )
    return FamilyFit(
        lines=lines,
        unpublished=unpublished,
        variances=variances,
        kinds=tuple(kinds),
        tail=settings.tail,
        criterion=solution.criterion,
        readings=len(readings),
        statements=len(statements),
        slips=tuple(r for r, w in zip(statements, weight, strict=True) if w < 0.5),
    )


def _penalty(v: Variances) -> float:
    """Return a weak log-density that keeps standard deviations near what paper can show (0.05, within a factor 20).

    It decides only where the data are silent, for instance a kind of reading that one source alone has.
    """
    sds = [v.group_sd, v.series_sd, *v.kind_sd.tolist()]
    return -0.5 * sum((math.log(sd / 0.05) / 1.5) ** 2 for sd in sds if sd > 0)


def _robust(data: Readings, start: Variances, settings: Settings) -> tuple[Variances, Solution, Floats]:
    """Alternate between maximising the criterion and weighing each reading by the odds that it is a slip."""
    weight = np.ones(len(data.y))
    variances = start
    if settings.slip_share > 0:
        # Slips are looked for before the spreads are first estimated, or one alone in its series would hide in them.
        weight = _slip_weight(data, weight, start, Moments(data).solve(start), settings)
    for _ in range(20):
        moments = Moments(data, weight)
        variances = maximise(moments, variances, penalty=_penalty)
        solution = moments.solve(variances)
        if settings.slip_share == 0:
            break
        updated = _slip_weight(data, weight, variances, solution, settings)
        change = float(np.abs(updated - weight).max())
        weight = updated
        if change < 0.02:
            break
    return variances, solution, weight


def _slip_weight(
    data: Readings, weight: Floats, variances: Variances, solution: Solution, settings: Settings
) -> Floats:
    """Return the expected precision of each reading under the contaminated normal (Box & Tiao 1968), at most 1.

    `solution` was worked out with the readings weighed by `weight`.
    """
    sd = variances.kind_sd[data.kind]
    departure = (
        data.y
        - data.x @ solution.beta
        - np.einsum("ij,ij->i", data.z, solution.class_effect[data.series_class][data.series])
        - solution.group_effect[data.series_group][data.series]
    )
    if variances.series_sd > 0:
        count = len(data.series_class)
        precision = weight * sd**-2.0
        own = np.bincount(data.series, precision * departure, minlength=count)
        total = np.bincount(data.series, precision, minlength=count) + variances.series_sd**-2.0
        departure = departure - (own / total)[data.series]
    z2 = (departure / sd) ** 2
    wide = settings.slip_scale**2
    odds = (
        settings.slip_share
        / (1 - settings.slip_share)
        / settings.slip_scale
        * np.exp(np.minimum(0.5 * z2 * (1 - 1 / wide), 700.0))
    )
    slip: Floats = odds / (1 + odds)
    updated: Floats = 1 - slip + slip / wide
    return updated


def _line(solution: Solution, c: int, q: int) -> Line:
    spread = np.zeros((2, 2 + q))
    spread[:, :2] = np.eye(2)
    spread[:q, 2:] += np.eye(q)
    cov = spread @ solution.line_cov[c] @ spread.T
    mean = solution.beta + np.r_[solution.class_effect[c], np.zeros(2 - q)]
    return Line(float(mean[0]), float(mean[1]), float(cov[0, 0]), float(cov[0, 1]), float(cov[1, 1]))


def _unpublished_covariance(solution: Solution, variances: Variances, q: int) -> tuple[float, float, float]:
    """Return the covariance of an unpublished class's line: the common line's plus a whole class effect."""
    cov = solution.beta_cov.copy()
    cov[:q, :q] += variances.class_factor @ variances.class_factor.T
    return float(cov[0, 0]), float(cov[0, 1]), float(cov[1, 1])
