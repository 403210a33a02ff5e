"""The REML engine against dense algebra, NIST's certified regression, and statsmodels."""

from __future__ import annotations

import sqlite3
from dataclasses import replace

import numpy as np
import pytest
from simulated import Truth, readings

from matref.estimator.fit import Settings, arrays, collapse_calculated
from matref.estimator.reml import Floats, Moments, Readings, Variances, maximise
from matref.estimator.store import family_readings

VARIANCES = Variances(np.array([[0.2, 0.0], [0.03, 0.05]]), 0.05, 0.04, np.array([0.06, 0.03]))


def _simulated(seed: int = 1, *, slope: bool = True) -> Readings:
    rows = readings(Truth(slope_sd=0.05), seed, classes=6, groups=4, per_series=3)
    return arrays(rows, Settings(class_slope=slope))[0]


def _designs(data: Readings, v: Variances, weight: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the marginal covariance V, the class design Z and the group design W, written out in full."""
    n, q = len(data.y), data.z.shape[1]
    z = np.zeros((n, data.classes * q))
    w = np.zeros((n, data.groups))
    s = np.zeros((n, len(data.series_class)))
    for i in range(n):
        c = data.series_class[data.series[i]]
        z[i, c * q : (c + 1) * q] = data.z[i]
        w[i, data.series_group[data.series[i]]] = 1.0
        s[i, data.series[i]] = 1.0
    big = np.kron(np.eye(data.classes), v.class_factor @ v.class_factor.T)
    noise = np.diag(v.kind_sd[data.kind] ** 2 / weight)
    return z @ big @ z.T + v.group_sd**2 * w @ w.T + v.series_sd**2 * s @ s.T + noise, z, w


def _dense(data: Readings, v: Variances, weight: Floats) -> tuple[float, Floats, Floats, Floats, Floats]:
    """Return (REML log-likelihood, β, cov β, class BLUPs, group BLUPs) by the textbook formulas.

    Searle, Casella & McCulloch (1992), sections 6.6 and 7.4.
    """
    covariance, z, w = _designs(data, v, weight)
    n, p = data.x.shape
    inverse = np.linalg.inv(covariance)
    information = data.x.T @ inverse @ data.x
    beta_cov: Floats = np.linalg.inv(information).astype(np.float64)
    beta = beta_cov @ data.x.T @ inverse @ data.y
    residual = data.y - data.x @ beta
    log_likelihood = -0.5 * (
        (n - p) * np.log(2 * np.pi)
        + np.linalg.slogdet(covariance)[1]
        + np.linalg.slogdet(information)[1]
        + residual @ inverse @ residual
    )
    big = np.kron(np.eye(data.classes), v.class_factor @ v.class_factor.T)
    u = (big @ z.T @ inverse @ residual).reshape(data.classes, -1)
    return float(log_likelihood), beta, beta_cov, u, v.group_sd**2 * w.T @ inverse @ residual


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("weighted", [False, True])
def test_agrees_with_dense_algebra(seed: int, weighted: bool) -> None:
    data = _simulated(seed)
    rng = np.random.default_rng(seed)
    weight = rng.uniform(0.05, 1.0, len(data.y)) if weighted else np.ones(len(data.y))
    solution = Moments(data, weight).solve(VARIANCES)
    criterion, beta, beta_cov, u, w = _dense(data, VARIANCES, weight)
    assert solution.criterion == pytest.approx(criterion, abs=1e-7)
    np.testing.assert_allclose(solution.beta, beta, rtol=1e-8)
    np.testing.assert_allclose(solution.beta_cov, beta_cov, rtol=1e-7)
    np.testing.assert_allclose(solution.class_effect, u, atol=1e-9)
    np.testing.assert_allclose(solution.group_effect, w, atol=1e-9)


def test_line_covariance_is_the_prediction_error_of_fixed_plus_class_effect() -> None:
    # Henderson (1975): Var(β̂ − β, û − u) from the joint covariance of y, β and u, worked out densely.
    data = _simulated()
    solution = Moments(data).solve(VARIANCES)
    covariance, z, _ = _designs(data, VARIANCES, np.ones(len(data.y)))
    inverse = np.linalg.inv(covariance)
    big = np.kron(np.eye(data.classes), VARIANCES.class_factor @ VARIANCES.class_factor.T)
    beta_cov = np.linalg.inv(data.x.T @ inverse @ data.x)
    blue = beta_cov @ data.x.T @ inverse
    projector = inverse - inverse @ data.x @ blue
    u_error = big - big @ z.T @ projector @ z @ big
    cross = -blue @ z @ big
    for c in range(data.classes):
        own = slice(2 * c, 2 * c + 2)
        expected = np.block([[beta_cov, cross[:, own]], [cross[:, own].T, u_error[own, own]]])
        np.testing.assert_allclose(solution.line_cov[c], expected, atol=1e-10)


@pytest.mark.parametrize("absent", ["group", "series", "class"])
def test_an_absent_effect_is_really_absent(absent: str) -> None:
    data = _simulated()
    v = {
        "group": replace(VARIANCES, group_sd=0.0),
        "series": replace(VARIANCES, series_sd=0.0),
        "class": replace(VARIANCES, class_factor=np.zeros((2, 2))),
    }[absent]
    criterion, beta, *_ = _dense(data, v, np.ones(len(data.y)))
    solution = Moments(data).solve(v)
    assert solution.criterion == pytest.approx(criterion, abs=1e-7)
    np.testing.assert_allclose(solution.beta, beta, rtol=1e-8)


def _fixed_only(x: Floats, y: Floats) -> Readings:
    """Data of an ordinary regression: one class, one group, one series, one kind."""
    zero = np.zeros(len(y), dtype=np.int64)
    one = np.zeros(1, dtype=np.int64)
    return Readings(x, np.ones((len(y), 1)), y, zero, zero, one, one, 1, 1, 1)


# NIST Statistical Reference Datasets, Longley: certified estimates and their standard deviations
# (https://www.itl.nist.gov/div898/strd/lls/data/Longley.shtml).
LONGLEY_BETA = (
    -3482258.63459582,
    15.0618722713733,
    -0.358191792925910e-01,
    -2.02022980381683,
    -1.03322686717359,
    -0.511041056535807e-01,
    1829.15146461355,
)
LONGLEY_SE = (
    890420.383607373,
    84.9149257747669,
    0.334910077722432e-01,
    0.488399681651699,
    0.214274163161675,
    0.226073200069370,
    455.478499142212,
)
LONGLEY_RESIDUAL_SD = 304.854073561965


def test_longley_certified_regression() -> None:
    from statsmodels.datasets import longley

    table = longley.load_pandas()
    x = np.column_stack([np.ones(16), table.exog.to_numpy()])
    y = table.endog.to_numpy(dtype=float)
    moments = Moments(_fixed_only(x, y))
    v = Variances(np.zeros((1, 1)), 0.0, 0.0, np.array([LONGLEY_RESIDUAL_SD]))
    solution = moments.solve(v)
    np.testing.assert_allclose(solution.beta, LONGLEY_BETA, rtol=1e-6)
    np.testing.assert_allclose(np.sqrt(np.diag(solution.beta_cov)), LONGLEY_SE, rtol=1e-6)


def test_longley_residual_sd_is_where_the_criterion_peaks() -> None:
    # With no random effects the REML estimate of σ is the certified residual standard deviation.
    from statsmodels.datasets import longley

    table = longley.load_pandas()
    x = np.column_stack([np.ones(16), table.exog.to_numpy()])
    y = table.endog.to_numpy(dtype=float) / 1e4  # the search runs up to σ = 10
    moments = Moments(_fixed_only(x, y))
    found = maximise(moments, Variances(np.zeros((1, 1)), 0.0, 0.0, np.array([0.1])))
    assert found.kind_sd[0] * 1e4 == pytest.approx(LONGLEY_RESIDUAL_SD, rel=1e-4)


def _catalogue_data(connection: sqlite3.Connection, group_by: str) -> Readings:
    """Return the catalogue's paper readings with one random intercept, per class or per document."""
    rows = collapse_calculated(family_readings(connection, "paper"))
    data, *_ = arrays(rows, Settings(series="document", by_kind=False))
    own = data.series if group_by == "series" else data.series_class[data.series]
    count = int(own.max()) + 1
    zero = np.zeros(count, dtype=np.int64)
    return Readings(data.x, np.ones((len(data.y), 1)), data.y, own, np.zeros_like(own), zero, zero, 1, 1, 1)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("group_by", ["class", "series"])
def test_catalogue_random_intercept_against_mixedlm(fitted: sqlite3.Connection, group_by: str) -> None:
    from statsmodels.regression.mixed_linear_model import MixedLM

    data = _catalogue_data(fitted, group_by)
    reference = MixedLM(data.y, data.x, groups=data.series).fit(reml=True, method=["lbfgs", "bfgs"])
    moments = Moments(data)
    found = maximise(moments, Variances(np.zeros((1, 1)), 0.0, 0.1, np.array([0.1])))
    solution = moments.solve(found)
    assert solution.criterion == pytest.approx(reference.llf, abs=2e-3)
    assert solution.criterion >= reference.llf - 1e-4  # ours is no lower maximum
    assert found.series_sd**2 == pytest.approx(float(np.asarray(reference.cov_re)[0, 0]), rel=0.02)
    assert found.kind_sd[0] ** 2 == pytest.approx(reference.scale, rel=0.01)
    np.testing.assert_allclose(solution.beta, reference.fe_params, rtol=1e-3)
    np.testing.assert_allclose(np.sqrt(np.diag(solution.beta_cov)), reference.bse_fe, rtol=0.01)


@pytest.mark.filterwarnings("ignore")
def test_catalogue_crossed_effects_against_mixedlm(fitted: sqlite3.Connection) -> None:
    """Class, source group and document crossed and nested, as in the real fit, by `vc_formula` in statsmodels."""
    import pandas as pd
    from statsmodels.regression.mixed_linear_model import MixedLM

    rows = collapse_calculated(family_readings(fitted, "paper"))
    data, *_ = arrays(rows, Settings(series="document", by_kind=False))
    frame = pd.DataFrame(
        {
            "y": data.y,
            "x": data.x[:, 1],
            "one": 1,
            "c": data.series_class[data.series],
            "g": data.series_group[data.series],
            "s": data.series,
        }
    )
    formulas = {"c": "0 + C(c)", "g": "0 + C(g)", "s": "0 + C(s)"}
    reference = MixedLM.from_formula("y ~ x", groups="one", vc_formula=formulas, data=frame)
    moments = Moments(data)
    found = maximise(moments, Variances(np.array([[0.1]]), 0.05, 0.05, np.array([0.05])))
    ours = moments.solve(found)
    fit = reference.fit(reml=True, method=["lbfgs"])
    assert ours.criterion >= fit.llf - 1e-3
    assert ours.criterion == pytest.approx(fit.llf, abs=0.02)
    theirs = dict(zip(reference.exog_vc.names, fit.vcomp, strict=True))
    assert found.class_factor[0, 0] ** 2 == pytest.approx(theirs["c"], rel=0.05)
    assert found.group_sd**2 == pytest.approx(theirs["g"], rel=0.1)
    assert found.series_sd**2 == pytest.approx(theirs["s"], rel=0.1, abs=1e-5)
    assert found.kind_sd[0] ** 2 == pytest.approx(fit.scale, rel=0.02)
    np.testing.assert_allclose(ours.beta, fit.fe_params, rtol=1e-3)


def test_the_maximum_is_a_maximum() -> None:
    rows = readings(Truth(), 5)
    data, *_ = arrays(rows, Settings())
    moments = Moments(data)
    best = maximise(moments, Variances(np.array([[0.1]]), 0.05, 0.05, np.full(2, 0.05)))
    top = moments.solve(best, full=False).criterion
    for factor in (0.97, 1.03):
        for changed in (
            replace(best, class_factor=best.class_factor * factor),
            replace(best, group_sd=best.group_sd * factor),
            replace(best, series_sd=best.series_sd * factor),
            replace(best, kind_sd=best.kind_sd * np.array([factor, 1.0])),
        ):
            assert moments.solve(changed, full=False).criterion < top + 1e-6
