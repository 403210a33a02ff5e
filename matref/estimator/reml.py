"""Restricted maximum likelihood for one linear mixed model, from sufficient statistics.

The model for a reading i of class c, source group g, series s and kind k (Henderson's mixed-model equations;
Searle, Casella & McCulloch, *Variance Components*, 1992, ch. 6-7):

    y_i = x_i'β + z_i'u_c + w_g + v_s + e_i
    u_c ~ N(0, Λ), w_g ~ N(0, σ_g²), v_s ~ N(0, σ_s²), e_i ~ N(0, σ_k²/τ_i)

Each series lies in one class and one group, so its effect is eliminated series by series (a Schur complement on a
diagonal block). What is left is one small dense system in β, u and w. The readings enter only through their moments
per series and kind: after one pass over the data an evaluation of the criterion does not depend on how many readings
there are.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import minimize

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Standard deviations are searched between these bounds (log scale); below the lower one an effect is as good as absent.
_LOG_SD_BOUNDS = (np.log(1e-4), np.log(10.0))

# The step of the numerical gradient weighs rounding (1e-11 of the criterion) against curvature.
_SEARCH = {"maxiter": 200, "ftol": 1e-12, "eps": 1e-6}


@dataclass(frozen=True, slots=True)
class Readings:
    """The data of a fit. Arrays have one entry per reading; codes count from 0.

    `x` is n × p (fixed effects), `z` is n × q (what varies by class), `y` has n values. `series`, `kind` are codes per
    reading; `series_class` and `series_group` are codes per series.
    """

    x: Floats
    z: Floats
    y: Floats
    series: Ints
    kind: Ints
    series_class: Ints
    series_group: Ints
    classes: int
    groups: int
    kinds: int


@dataclass(frozen=True, slots=True)
class Variances:
    """Standard deviations of the effects: class (q × q lower Cholesky factor), group, series, one per kind."""

    class_factor: Floats
    group_sd: float
    series_sd: float
    kind_sd: Floats


@dataclass(frozen=True, slots=True)
class Solution:
    """Solved mixed-model equations at given variances.

    `criterion` is the REML log-likelihood. `beta` (p), `class_effect` (classes × q), `group_effect` (groups) are the
    BLUE and BLUPs. `line_cov[c]` is the (p + q) × (p + q) prediction error covariance of (β, u_c).
    """

    criterion: float
    beta: Floats
    beta_cov: Floats
    class_effect: Floats
    group_effect: Floats
    line_cov: Floats


class Moments:
    """Weighted sums of products of (x, z, y) per series and kind, taken once for a set of reading weights."""

    def __init__(self, data: Readings, reading_weight: Floats | None = None) -> None:
        self.data = data
        self.p, self.q = data.x.shape[1], data.z.shape[1]
        # Centring and scaling the fixed columns keeps the normal equations well conditioned (Longley's data need it).
        self.centre, self.scale = _standardisation(data.x)
        # Centring y where a constant takes it up: REML does not change, and nothing is lost to cancellation.
        self.constant = _constant_column(data.x)
        self.level = float(data.y.mean()) if self.constant is not None else 0.0
        columns = [
            *((data.x[:, i] - self.centre[i]) / self.scale[i] for i in range(self.p)),
            *(data.z[:, i].copy() for i in range(self.q)),
            data.y - self.level,
        ]
        self.width = len(columns)
        cell = data.series * data.kinds + data.kind
        cells = len(data.series_class) * data.kinds
        weight = np.ones(len(data.y)) if reading_weight is None else reading_weight
        self.product = np.empty((len(data.series_class), data.kinds, self.width, self.width))
        self.total = np.empty((len(data.series_class), data.kinds, self.width))
        for i in range(self.width):
            weighed = weight * columns[i]
            self.total[:, :, i] = np.bincount(cell, weighed, minlength=cells).reshape(-1, data.kinds)
            for j in range(i, self.width):
                total = np.bincount(cell, weighed * columns[j], minlength=cells)
                self.product[:, :, i, j] = self.product[:, :, j, i] = total.reshape(-1, data.kinds)
        self.weight = np.bincount(cell, weight, minlength=cells).reshape(-1, data.kinds)
        self.count = np.bincount(data.kind, minlength=data.kinds)
        self.log_weight = float(np.log(weight).sum())

    def solve(self, variances: Variances, *, full: bool = True) -> Solution:
        """Solve the mixed-model equations; with `full` False only the criterion is worked out."""
        data, p, q = self.data, self.p, self.q
        precision = variances.kind_sd**-2.0
        product = np.tensordot(precision, self.product, axes=(0, 1))
        total = np.tensordot(precision, self.total, axes=(0, 1))
        weight = self.weight @ precision
        series_variance = variances.series_sd**2
        shrink = series_variance / (1 + series_variance * weight)
        product = product - shrink[:, None, None] * total[:, :, None] * total[:, None, :]
        column = total * (1 - shrink * weight)[:, None]  # sum of the column after eliminating the series effect
        weight_left = weight * (1 - shrink * weight)

        by_class = _sum_by(product, data.series_class, data.classes)
        whole = product.sum(axis=0)
        size = p + q * data.classes + data.groups
        system = np.zeros((size, size))
        right = np.zeros(size)
        x, z, y = slice(0, p), slice(p, p + q), self.width - 1
        u = slice(p, p + q * data.classes)
        w = slice(p + q * data.classes, size)
        factor, group_sd = variances.class_factor, variances.group_sd
        system[x, x] = whole[x, x]
        right[x] = whole[x, y]
        xz = by_class[:, x, z] @ factor  # classes × p × q
        system[x, u] = xz.transpose(1, 0, 2).reshape(p, -1)
        zz = factor.T @ by_class[:, z, z] @ factor
        for c in range(data.classes):
            block = slice(p + c * q, p + (c + 1) * q)
            system[block, block] = zz[c]
        right[u] = (by_class[:, z, y] @ factor).ravel()
        by_group = _sum_by(column, data.series_group, data.groups)
        system[x, w] = by_group[:, x].T * group_sd
        system[w, w] = np.diag(np.bincount(data.series_group, weight_left, data.groups) * group_sd**2)
        right[w] = by_group[:, y] * group_sd
        pair = data.series_class * data.groups + data.series_group
        by_pair = _sum_by(column[:, z], pair, data.classes * data.groups).reshape(data.classes, data.groups, q)
        system[u, w] = (by_pair @ factor).transpose(0, 2, 1).reshape(-1, data.groups) * group_sd
        system[p:, p:] += np.eye(size - p)

        upper = cholesky(system, lower=False, check_finite=False)  # reads the upper triangle only
        half = solve_triangular(upper, right, trans="T", check_finite=False)
        free = int(self.count.sum()) - p
        criterion = -0.5 * (
            free * np.log(2 * np.pi)
            - float(self.count @ np.log(precision))
            - self.log_weight
            + float(np.log1p(series_variance * weight).sum())
            + 2 * float(np.log(np.diag(upper)).sum())
            + 2 * float(np.log(self.scale).sum())  # back from standardised to original columns
            + float(whole[y, y] - half @ half)
        )
        if not full:
            empty = np.empty(0)
            return Solution(criterion, empty, empty, empty, empty, empty)
        return self._unpack(criterion, upper, half, factor, group_sd)

    def _unpack(self, criterion: float, upper: Floats, half: Floats, factor: Floats, group_sd: float) -> Solution:
        data, p, q = self.data, self.p, self.q
        inverse = solve_triangular(upper, np.eye(len(upper)), check_finite=False)
        covariance = inverse @ inverse.T
        solution = inverse @ half
        back = np.diag(1 / self.scale)  # β = back · β*, with the centring taken out of the constant column
        constant = self.constant
        if constant is not None:
            back[constant] -= self.centre / self.scale
            back[constant, constant] = 1 / self.scale[constant]
        beta = back @ solution[:p]
        if constant is not None:
            beta[constant] += self.level / data.x[0, constant]
        effect = solution[p : p + q * data.classes].reshape(data.classes, q) @ factor.T
        line_cov = np.empty((data.classes, p + q, p + q))
        spread = np.zeros((p + q, p + q))
        spread[:p, :p], spread[p:, p:] = back, factor
        for c in range(data.classes):
            own = np.r_[0:p, p + c * q : p + (c + 1) * q]
            line_cov[c] = spread @ covariance[np.ix_(own, own)] @ spread.T
        beta_cov = back @ covariance[:p, :p] @ back.T
        group = solution[p + q * data.classes :] * group_sd
        return Solution(criterion, beta, beta_cov, effect, group, line_cov)


def maximise(
    moments: Moments,
    start: Variances,
    *,
    penalty: Callable[[Variances], float] | None = None,
) -> Variances:
    """Return the variances that maximise the REML criterion (plus `penalty`, a log-density) from `start`.

    Effects whose starting value is exactly zero stay absent: this is how a simpler model is asked for.
    """
    pack, unpack = _parameters(start)

    def loss(theta: Floats) -> float:
        variances = unpack(theta)
        value = moments.solve(variances, full=False).criterion
        return -(value + (penalty(variances) if penalty else 0.0)) / readings

    readings = int(moments.count.sum())  # per reading, so that the search ends as exactly with many as with few
    theta = pack(start)
    if not len(theta):
        return start
    # The correlation is carried by the off-diagonal of the factor, which may be negative; the rest are log sds.
    bounds = [_LOG_SD_BOUNDS if is_log else (-10.0, 10.0) for is_log in _is_log(start)]
    found = minimize(loss, theta, method="L-BFGS-B", bounds=bounds, options=_SEARCH)
    return unpack(found.x)


def _is_log(start: Variances) -> list[bool]:
    q = len(start.class_factor)
    flags = [i == j for i in range(q) for j in range(i + 1) if start.class_factor[i, j] != 0]
    return flags + [True] * (int(start.group_sd > 0) + int(start.series_sd > 0) + len(start.kind_sd))


def _parameters(start: Variances) -> tuple[Callable[[Variances], Floats], Callable[[Floats], Variances]]:
    """Return functions between Variances and the vector that is searched (zeros in `start` are left out)."""
    q = len(start.class_factor)
    places = [(i, j) for i in range(q) for j in range(i + 1) if start.class_factor[i, j] != 0]
    has_group, has_series = start.group_sd > 0, start.series_sd > 0

    def pack(v: Variances) -> Floats:
        theta = [np.log(v.class_factor[i, j]) if i == j else v.class_factor[i, j] for i, j in places]
        theta += [np.log(sd) for sd, present in ((v.group_sd, has_group), (v.series_sd, has_series)) if present]
        return np.array([*theta, *np.log(v.kind_sd)])

    def unpack(theta: Floats) -> Variances:
        factor = np.zeros((q, q))
        values = iter(theta)
        for i, j in places:
            value = next(values)
            factor[i, j] = np.exp(value) if i == j else value
        group = float(np.exp(next(values))) if has_group else 0.0
        series = float(np.exp(next(values))) if has_series else 0.0
        return Variances(factor, group, series, np.exp(np.array(list(values))))

    return pack, unpack


def _sum_by(values: Floats, code: Ints, size: int) -> Floats:
    """Return sums of `values` (first axis) by `code`."""
    width = int(np.prod(values.shape[1:], dtype=np.int64))
    place = (code[:, None] * width + np.arange(width)).ravel()
    total: Floats = np.bincount(place, values.reshape(-1), minlength=size * width).astype(np.float64, copy=False)
    return total.reshape(size, *values.shape[1:])


def _constant_column(x: Floats) -> int | None:
    constant = np.flatnonzero((x == x[0]).all(axis=0))
    return int(constant[0]) if len(constant) else None


def _standardisation(x: Floats) -> tuple[Floats, Floats]:
    """Return centre and scale per column: (0, 1) for the constant, and no centring where there is none."""
    constant = _constant_column(x)
    if constant is None:
        return np.zeros(x.shape[1]), np.ones(x.shape[1])
    centre = x.mean(axis=0)
    scale = x.std(axis=0)
    centre[constant], scale[constant] = 0.0, 1.0
    scale[scale == 0] = 1.0
    return centre, scale
