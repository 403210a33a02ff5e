"""From evidence to what is known of a pile: a mixture over classes, each part in closed form.

Within a class and one component of the scatter, (log grammage, log caliper) is normal, and every observation is
linear: the posterior is exact (two-dimensional Bayesian linear update). Classes and components are weighed by how
well each explains the evidence. Observations enter as sums, so their order does not matter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from matref.estimator.distribution import LogNormalMixture
from matref.estimator.line import REFERENCE_GSM
from matref.estimator.model import MaterialClass, Model
from matref.estimator.observation import Observation

_NEGLIGIBLE = math.log(1e-6)  # parts lighter than this share of the heaviest are left out
_REFERENCE_G = math.log(REFERENCE_GSM)
_REFERENCE_C = math.log(100.0)  # departures from an ordinary sheet: small numbers, nothing lost to cancellation
_ABOUT_SCATTER = 0.1  # how far, about, a product lies from its line; only places the doubt about the line

_Normal = tuple[float, float, float, float, float]  # means of log grammage and log caliper; var, cov, var


class Part(NamedTuple):
    """One normal component: weight, class, and mean and covariance of (log grammage, log caliper)."""

    weight: float
    class_id: str
    mean_g: float
    mean_c: float
    var_g: float
    cov: float
    var_c: float


class Posterior(NamedTuple):
    """What is known of the pile: parts (weights sum to 1) and the log of how well the model explains the evidence."""

    parts: tuple[Part, ...]
    log_evidence: float

    @property
    def caliper_um(self) -> LogNormalMixture:
        """Caliper of a single sheet, µm."""
        return _mixture((p.weight, p.mean_c, p.var_c) for p in self.parts)

    @property
    def grammage_gsm(self) -> LogNormalMixture:
        """Grammage, g/m²."""
        return _mixture((p.weight, p.mean_g, p.var_g) for p in self.parts)

    @property
    def bulk_cm3_g(self) -> LogNormalMixture:
        """Bulk, cm³/g: caliper in µm over grammage in g/m² (ISO 534)."""
        return _mixture((p.weight, p.mean_c - p.mean_g, max(p.var_c - 2 * p.cov + p.var_g, 1e-14)) for p in self.parts)

    def classes(self) -> dict[str, float]:
        """Return the probability of each class, largest first."""
        shares: dict[str, float] = {}
        for p in self.parts:
            shares[p.class_id] = shares.get(p.class_id, 0.0) + p.weight
        return dict(sorted(shares.items(), key=lambda item: -item[1]))


def _mixture(parts: Iterable[tuple[float, float, float]]) -> LogNormalMixture:
    """Return the mixture of (weight, mean, variance), like parts of like classes made one."""
    merged: dict[tuple[float, float], float] = {}
    for weight, mean, variance in parts:
        key = (mean, variance)
        merged[key] = merged.get(key, 0.0) + weight
    return LogNormalMixture(tuple((w, mean, math.sqrt(variance)) for (mean, variance), w in merged.items()))


def posterior(model: Model, observations: Sequence[Observation]) -> Posterior:
    """Return what `observations` say of a pile that is of one of the model's classes."""
    evidence = _Evidence.of(observations)
    found: list[tuple[float, str, _Normal]] = []
    # Classes without readings share the common line: each such case is worked out once.
    done: dict[tuple[object, ...], list[tuple[float, _Normal]]] = {}
    for material in model.classes.values():
        key = (material.family, material.line, material.log_grammage_mean, material.log_grammage_sd)
        if key not in done:
            scatter = model.scatter[material.family]
            x = _rough_x(material, observations)
            updated = [_update(material, (factor * scatter.sd) ** 2, x, evidence) for _, factor in scatter.nodes]
            done[key] = [(math.log(share) + u[0], u[1]) for (share, _), u in zip(scatter.nodes, updated, strict=True)]
        log_weight = math.log(material.weight)
        found += [(w + log_weight, material.class_id, normal) for w, normal in done[key]]
    top = max(w for w, _, _ in found)
    kept = [(math.exp(w - top), class_id, normal) for w, class_id, normal in found if w - top > _NEGLIGIBLE]
    total = math.fsum(w for w, _, _ in kept)
    prior = math.fsum(m.weight for m in model.classes.values())
    parts = tuple(Part(w / total, class_id, *normal) for w, class_id, normal in kept)
    return Posterior(parts, top + math.log(total) - math.log(prior))


class _Evidence(NamedTuple):
    """All observations as one: information matrix and vector about the reference point, and constants.

    Sums are exactly rounded, so the order of the evidence cannot matter.
    """

    gg: float
    gc: float
    cc: float
    g: float
    c: float
    square: float
    constant: float

    @classmethod
    def of(cls, observations: Sequence[Observation]) -> _Evidence:
        gg, gc, cc, g, c, square, constant = [], [], [], [], [], [], []
        for o in observations:
            w = 1 / (o.u * o.u)
            value = o.value - o.grammage_part * _REFERENCE_G - o.caliper_part * _REFERENCE_C
            gg.append(w * o.grammage_part * o.grammage_part)
            gc.append(w * o.grammage_part * o.caliper_part)
            cc.append(w * o.caliper_part * o.caliper_part)
            g.append(w * o.grammage_part * value)
            c.append(w * o.caliper_part * value)
            square.append(w * value * value)
            constant.append(-math.log(o.u) - 0.5 * math.log(2 * math.pi))
        return cls(*(math.fsum(column) for column in (gg, gc, cc, g, c, square, constant)))


def _rough_x(material: MaterialClass, observations: Sequence[Observation]) -> float:
    """Return about where on the class line the pile lies; only the doubt about the line is evaluated there."""
    weight = 1 / material.log_grammage_sd**2
    weights, values = [weight], [weight * material.log_grammage_mean]
    line = material.line
    for o in observations:
        if o.grammage_part and not o.caliper_part:
            weight = 1 / o.u**2
            value = o.value
        elif o.caliper_part and not o.grammage_part:
            weight = line.slope**2 / (o.u**2 + _ABOUT_SCATTER**2)
            value = (o.value - line.intercept) / line.slope + _REFERENCE_G
        else:
            continue
        weights.append(weight)
        values.append(weight * value)
    return math.fsum(values) / math.fsum(weights) - _REFERENCE_G


def _update(material: MaterialClass, scatter_variance: float, x: float, e: _Evidence) -> tuple[float, _Normal]:
    """Return the log marginal likelihood of the evidence and the normal posterior for one class and component."""
    line = material.line
    var_g = material.log_grammage_sd**2
    cov = line.slope * var_g
    own = line.variance(x) + scatter_variance
    var_c = line.slope * cov + own
    det = var_g * own
    p_gg, p_gc, p_cc = var_c / det, -cov / det, var_g / det
    mean_g = material.log_grammage_mean - _REFERENCE_G
    mean_c = line.mean(mean_g) - _REFERENCE_C
    r_g = e.g - e.gg * mean_g - e.gc * mean_c
    r_c = e.c - e.gc * mean_g - e.cc * mean_c
    misfit = e.square - mean_g * (e.g + r_g) - mean_c * (e.c + r_c)
    q_gg, q_gc, q_cc = p_gg + e.gg, p_gc + e.gc, p_cc + e.cc
    q_det = q_gg * q_cc - q_gc * q_gc
    shift_g = (q_cc * r_g - q_gc * r_c) / q_det
    shift_c = (q_gg * r_c - q_gc * r_g) / q_det
    log_likelihood = e.constant - 0.5 * (misfit - shift_g * r_g - shift_c * r_c + math.log(q_det * det))
    return log_likelihood, (
        _REFERENCE_G + mean_g + shift_g,
        _REFERENCE_C + mean_c + shift_c,
        q_cc / q_det,
        -q_gc / q_det,
        q_gg / q_det,
    )
