"""What others would do with the same readings: baselines for the comparison in `model report`.

Each takes the readings known and returns a predictor of log caliper. Library baselines import theirs when called:
statsmodels and scikit-learn come with the extra `report`, nothing else in matref needs them.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import stdtr
from scipy.stats import t as student

from matref.estimator.fit import Reading
from matref.estimator.line import log_ratio
from matref.estimator.reml import Floats
from matref.estimator.validate import Method, Predictive, Predictor, Scattered

_LEAST_SD = 0.01  # a line through two or three points is not known to better than a hundredth


@dataclass(frozen=True, slots=True)
class StudentPredictive:
    """Student's t with `df` degrees of freedom."""

    centre: float
    scale: float
    df: float

    def below(self, y: float) -> float:
        """Return the share below y."""
        return float(stdtr(self.df, (y - self.centre) / self.scale))

    def log_density(self, y: float) -> float:
        """Return the log density at y."""
        return float(student.logpdf(y, self.df, self.centre, self.scale))


def _normal(centre: float, sd: float) -> Predictive:
    return Scattered(centre, ((1.0, sd),))


def _by_class(known: Sequence[Reading]) -> dict[str, tuple[Floats, Floats]]:
    rows: dict[str, list[Reading]] = defaultdict(list)
    for r in known:
        rows[r.class_id].append(r)
    return {
        c: (np.array([log_ratio(r.grammage_gsm) for r in own]), np.log([r.caliper_um for r in own]))
        for c, own in rows.items()
    }


def constant_bulk(known: Sequence[Reading]) -> Predictor:
    """One bulk per class; the spread about it pooled over the classes, predictive t."""
    data = _by_class(known)
    logs = {c: y - x for c, (x, y) in data.items()}
    freedom = max(sum(len(v) - 1 for v in logs.values()), 1)
    sd = math.sqrt(max(sum(float(((v - v.mean()) ** 2).sum()) for v in logs.values()) / freedom, _LEAST_SD**2))

    def foretell(reading: Reading) -> Predictive:
        own = logs[reading.class_id]
        return StudentPredictive(
            float(own.mean()) + log_ratio(reading.grammage_gsm), sd * math.sqrt(1 + 1 / len(own)), freedom
        )

    return foretell


def ols_per_class(known: Sequence[Reading]) -> Predictor:
    """Ordinary log-log least squares in each class with three readings or more, else one bulk per class."""
    data = _by_class(known)
    bulk = constant_bulk(known)

    def foretell(reading: Reading) -> Predictive:
        x, y = data[reading.class_id]
        if len(x) < 3 or float(np.ptp(x)) < 0.05:
            return bulk(reading)
        return _ols(x, y, log_ratio(reading.grammage_gsm))

    return foretell


def ols_pooled(known: Sequence[Reading]) -> Predictor:
    """One log-log line for all."""
    x = np.array([log_ratio(r.grammage_gsm) for r in known])
    y = np.log([r.caliper_um for r in known])
    return lambda reading: _ols(x, y, log_ratio(reading.grammage_gsm))


def _ols(x: Floats, y: Floats, at: float) -> Predictive:
    """Return the predictive t of simple linear regression."""
    n, centred = len(x), x - x.mean()
    slope = float(centred @ y / (centred @ centred))
    residual = y - y.mean() - slope * centred
    sd = max(math.sqrt(float(residual @ residual) / (n - 2)), _LEAST_SD)
    off = at - float(x.mean())
    spread = sd * math.sqrt(1 + 1 / n + off**2 / float(centred @ centred))
    return StudentPredictive(float(y.mean()) + slope * off, spread, n - 2)


def mixed_lm(known: Sequence[Reading]) -> Predictor:
    """Fit statsmodels' MixedLM by REML: common line, random intercept per class."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    x = np.array([[1.0, log_ratio(r.grammage_gsm)] for r in known])
    y = np.log([r.caliper_um for r in known])
    with _quiet():
        fit = MixedLM(y, x, groups=np.array([r.class_id for r in known])).fit(reml=True, method=["lbfgs", "bfgs"])
        effects, doubts = fit.random_effects, fit.random_effects_cov

    def foretell(reading: Reading) -> Predictive:
        row = np.array([1.0, log_ratio(reading.grammage_gsm)])
        effect = float(np.asarray(effects[reading.class_id])[0])
        variance = fit.scale + float(np.asarray(doubts[reading.class_id])[0, 0])
        return _normal(float(row @ np.asarray(fit.fe_params)) + effect, math.sqrt(variance))

    return foretell


def _features(known: Sequence[Reading]) -> Callable[[Sequence[Reading]], Floats]:
    """Return a function to columns: log grammage, and one column per class."""
    classes = sorted({r.class_id for r in known})
    code = {c: i for i, c in enumerate(classes)}

    def columns(rows: Sequence[Reading]) -> Floats:
        found = np.zeros((len(rows), 1 + len(classes)))
        for i, r in enumerate(rows):
            found[i, 0] = log_ratio(r.grammage_gsm)
            found[i, 1 + code[r.class_id]] = 1.0
        return found

    return columns


def _log_bulk(rows: Sequence[Reading]) -> Floats:
    found: Floats = np.array([math.log(r.caliper_um / r.grammage_gsm) for r in rows])
    return found


def gaussian_process(known: Sequence[Reading]) -> Predictor:
    """Fit scikit-learn's Gaussian process to log bulk: linear and squared-exponential kernels plus noise."""
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, DotProduct, WhiteKernel

    kernel = ConstantKernel(1.0) * RBF(1.0) + ConstantKernel(0.1) * DotProduct() + WhiteKernel(0.1)
    columns = _features(known)
    with _quiet():
        process = GaussianProcessRegressor(kernel, normalize_y=True, n_restarts_optimizer=2, random_state=0)
        process.fit(columns(known), _log_bulk(known))

    def foretell(reading: Reading) -> Predictive:
        mean, sd = process.predict(columns([reading]), return_std=True)
        return _normal(float(mean[0]) + math.log(reading.grammage_gsm), max(float(sd[0]), _LEAST_SD))

    return foretell


def gradient_boosting(known: Sequence[Reading]) -> Predictor:
    """Fit scikit-learn's gradient boosting to log bulk; its spread from source groups left out in five folds."""
    from sklearn.ensemble import GradientBoostingRegressor
    from sklearn.model_selection import GroupKFold, cross_val_predict

    columns = _features(known)
    x, y = columns(known), _log_bulk(known)
    groups = [r.source_group for r in known]

    def model() -> Any:
        return GradientBoostingRegressor(n_estimators=200, max_depth=3, learning_rate=0.05, random_state=0)

    with _quiet():
        folds = GroupKFold(min(5, len(set(groups))))
        inner = cross_val_predict(model(), x, y, groups=groups, cv=folds)
        boosted = model().fit(x, y)
    sd = max(float(np.sqrt(np.mean((y - inner) ** 2))), _LEAST_SD)
    return lambda reading: _normal(float(boosted.predict(columns([reading]))[0]) + math.log(reading.grammage_gsm), sd)


def _quiet() -> Any:
    """Return a context that keeps the libraries' advice on convergence off the screen."""
    import warnings

    return warnings.catch_warnings(action="ignore")


def baselines() -> dict[str, Method]:
    """Return all baselines by name."""
    return {
        "constant bulk per class": constant_bulk,
        "least squares per class": ols_per_class,
        "least squares pooled": ols_pooled,
        "MixedLM (statsmodels)": mixed_lm,
        "Gaussian process (scikit-learn)": gaussian_process,
        "gradient boosting (scikit-learn)": gradient_boosting,
    }
