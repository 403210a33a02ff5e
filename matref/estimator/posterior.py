"""From evidence to what is known of a pile: a mixture over classes, each part in closed form.

Within a class and one component of the scatter, (log grammage, log caliper) is normal, and every observation is
linear: the posterior is exact (two-dimensional Bayesian linear update). Classes and components are weighed by how
well each explains the evidence. Observations enter as sums, so their order does not matter.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from matref.estimator.distribution import LogNormalMixture
from matref.estimator.line import REFERENCE_GSM
from matref.estimator.model import MaterialClass, Model
from matref.estimator.observation import Observation

_NEGLIGIBLE = 1e-6  # parts lighter than this share of the heaviest are left out


@dataclass(frozen=True, slots=True)
class Part:
    """One normal component: weight, class, and mean and covariance of (log grammage, log caliper)."""

    weight: float
    class_id: str
    mean_g: float
    mean_c: float
    var_g: float
    cov: float
    var_c: float


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is known of the pile: parts (weights sum to 1) and the log of how well the model explains the evidence."""

    parts: tuple[Part, ...]
    log_evidence: float

    @property
    def caliper_um(self) -> LogNormalMixture:
        """Caliper of a single sheet, µm."""
        return LogNormalMixture(tuple((p.weight, p.mean_c, math.sqrt(p.var_c)) for p in self.parts))

    @property
    def grammage_gsm(self) -> LogNormalMixture:
        """Grammage, g/m²."""
        return LogNormalMixture(tuple((p.weight, p.mean_g, math.sqrt(p.var_g)) for p in self.parts))

    @property
    def bulk_cm3_g(self) -> LogNormalMixture:
        """Bulk, cm³/g: caliper in µm over grammage in g/m² (ISO 534)."""
        return LogNormalMixture(
            tuple(
                (p.weight, p.mean_c - p.mean_g, math.sqrt(max(p.var_c - 2 * p.cov + p.var_g, 1e-14)))
                for p in self.parts
            )
        )

    def classes(self) -> dict[str, float]:
        """Return the probability of each class, largest first."""
        shares: dict[str, float] = {}
        for p in self.parts:
            shares[p.class_id] = shares.get(p.class_id, 0.0) + p.weight
        return dict(sorted(shares.items(), key=lambda item: -item[1]))


def posterior(model: Model, observations: Sequence[Observation]) -> Posterior:
    """Return what `observations` say of a pile that is of one of the model's classes."""
    found: list[tuple[float, Part]] = []
    information = _information(observations)
    for material in model.classes.values():
        scatter = model.scatter[material.family]
        centre = _rough_x(material, observations)
        for share, factor in scatter.nodes:
            log_weight, part = _update(material, (factor * scatter.sd) ** 2, centre, observations, information)
            found.append((log_weight + math.log(material.weight * share), part))
    top = max(w for w, _ in found)
    kept = [(math.exp(w - top), part) for w, part in found if w - top > math.log(_NEGLIGIBLE)]
    total = sum(w for w, _ in kept)
    parts = tuple(Part(w / total, p.class_id, p.mean_g, p.mean_c, p.var_g, p.cov, p.var_c) for w, p in kept)
    prior = sum(m.weight for m in model.classes.values())
    return Posterior(parts, top + math.log(total) - math.log(prior))


def _information(observations: Sequence[Observation]) -> tuple[float, float, float, float, float]:
    """Return the summed information matrix (gg, gc, cc) and vector (g, c), summed exactly whatever the order."""

    def total(value: Callable[[Observation], float]) -> float:
        return math.fsum(value(o) / (o.u * o.u) for o in observations)

    return (
        total(lambda o: o.grammage_part * o.grammage_part),
        total(lambda o: o.grammage_part * o.caliper_part),
        total(lambda o: o.caliper_part * o.caliper_part),
        total(lambda o: o.grammage_part * o.value),
        total(lambda o: o.caliper_part * o.value),
    )


def _rough_x(material: MaterialClass, observations: Sequence[Observation]) -> float:
    """Return about where on the class line the pile lies; only the doubt about the line is evaluated there."""
    weight = 1 / material.log_grammage_sd**2
    total = weight * material.log_grammage_mean
    line = material.line
    for o in observations:
        if o.grammage_part and not o.caliper_part:
            total += o.value / o.u**2
            weight += 1 / o.u**2
        elif o.caliper_part and not o.grammage_part:
            along = (o.value - line.intercept) / line.slope + math.log(REFERENCE_GSM)
            share = line.slope**2 / (o.u**2 + 0.1**2)
            total += along * share
            weight += share
    return total / weight - math.log(REFERENCE_GSM)


def _update(
    material: MaterialClass,
    scatter_variance: float,
    centre: float,
    observations: Sequence[Observation],
    information: tuple[float, float, float, float, float],
) -> tuple[float, Part]:
    """Return the log marginal likelihood of the evidence and the normal posterior for one class and component."""
    line = material.line
    mean_g = material.log_grammage_mean
    mean_c = line.mean(mean_g - math.log(REFERENCE_GSM))
    var_g = material.log_grammage_sd**2
    cov = line.slope * var_g
    var_c = line.slope**2 * var_g + line.variance(centre) + scatter_variance
    det = var_g * var_c - cov * cov
    p_gg, p_gc, p_cc = var_c / det, -cov / det, var_g / det
    i_gg, i_gc, i_cc, i_g, i_c = information
    # Work with departures from the prior mean: smaller numbers, nothing lost to cancellation.
    r_g = i_g - i_gg * mean_g - i_gc * mean_c
    r_c = i_c - i_gc * mean_g - i_cc * mean_c
    q_gg, q_gc, q_cc = p_gg + i_gg, p_gc + i_gc, p_cc + i_cc
    q_det = q_gg * q_cc - q_gc * q_gc
    shift_g = (q_cc * r_g - q_gc * r_c) / q_det
    shift_c = (q_gg * r_c - q_gc * r_g) / q_det
    misfit = math.fsum(
        ((o.value - o.grammage_part * mean_g - o.caliper_part * mean_c) / o.u) ** 2 for o in observations
    )
    log_likelihood = -0.5 * (
        misfit
        - (shift_g * r_g + shift_c * r_c)
        + math.log(q_det * det)
        + math.fsum(2 * math.log(o.u) for o in observations)
        + len(observations) * math.log(2 * math.pi)
    )
    part = Part(
        1.0,
        material.class_id,
        mean_g + shift_g,
        mean_c + shift_c,
        q_cc / q_det,
        -q_gc / q_det,
        q_gg / q_det,
    )
    return log_likelihood, part
