"""The answer to 'what is this paper and how thick is it': evidence in, estimates with their reasons out."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from matref.errors import BadInput
from matref.estimator.advice import Advice, RulerAnswer, Target, advise, reach, ruler_enough
from matref.estimator.assumptions import Rules
from matref.estimator.causes import Cause, explain
from matref.estimator.contradiction import DOUBTFUL, IMPOSSIBLE, doubts
from matref.estimator.distribution import LogNormalMixture
from matref.estimator.estimate import Estimate, check_level
from matref.estimator.evidence import Evidence, read
from matref.estimator.far_off import FarOff
from matref.estimator.line import log_ratio
from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import Posterior, posterior
from matref.estimator.store import load_model
from matref.estimator.support import Support, rests_on, thin

_SHOWN_CLASSES = 6
_LIKELY = 0.02  # what-if questions (why so wide, what to measure next) look at classes at least this probable


class ClassShare(NamedTuple):
    """How probable it is that the pile is of one class."""

    class_id: str
    name: str
    probability: float

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {"class": self.class_id, "name": self.name, "probability": round(self.probability, 4)}


@dataclass(frozen=True, slots=True)
class CaliperResult:
    """Caliper (µm), bulk (cm³/g) and grammage (g/m²) of this pile, with everything that a person may ask about them.

    `class_mean_caliper_um` is the mean of the class at this grammage, told apart from this pile; it is given where one
    class was named. `distribution` is the caliper's, for the book.
    """

    caliper_um: Estimate
    bulk_cm3_g: Estimate
    grammage_gsm: Estimate
    class_mean_caliper_um: Estimate | None
    level: float
    classes: tuple[ClassShare, ...]
    rests_on: tuple[Support, ...]
    why: tuple[Cause, ...]
    advice: tuple[Advice, ...]
    targets: tuple[Target, ...]
    ruler: RulerAnswer | None
    warnings: tuple[str, ...]
    surface: str
    distribution: LogNormalMixture

    def as_json(self) -> dict[str, Any]:
        """Return the answer as plain values; keys carry units."""
        mean = self.class_mean_caliper_um
        return {
            "caliper_um": self.caliper_um.as_json(),
            "bulk_cm3_g": self.bulk_cm3_g.as_json(),
            "grammage_gsm": self.grammage_gsm.as_json(),
            "class_mean_caliper_um": mean.as_json() if mean else None,
            "level": self.level,
            "classes": [c.as_json() for c in self.classes],
            "rests_on": [s.as_json() for s in self.rests_on],
            "why": [c.as_json() for c in self.why],
            "advice": [a.as_json() for a in self.advice],
            "targets": [t.as_json() for t in self.targets],
            "ruler": self.ruler.as_json() if self.ruler else None,
            "warnings": list(self.warnings),
        }


def caliper(
    connection: sqlite3.Connection,
    evidence: Evidence,
    *,
    level: float = 0.9,
    extra: Sequence[Observation] = (),
    rules: Rules | None = None,
    target_pct: float | None = None,
    with_advice: bool = True,
) -> CaliperResult:
    """Return the estimate that `evidence` (and `extra` observations, such as those of a sample) supports.

    `rules`: those that `extra` was read by, so that the answer rests on them too; None for fresh ones. Raises BadInput
    where there is no evidence, or where it contradicts itself beyond any sheet material.
    """
    check_level(level)
    rules = rules or Rules(connection, own_habit=True)
    reading = read(evidence, connection, rules)
    observations = [*reading.observations, *extra]
    if not observations and not reading.class_ids:
        raise BadInput(
            "nothing is known of the paper",
            expected="at least one of a class, a grammage, a weighing or a thickness",
            example='matref caliper --size A4 --sheets 20 --mass "98 g"',
        )
    model = model_for(connection, reading.class_ids, {o.pile for o in extra if o.pile})
    known, warnings = judge(model, observations, class_named=bool(reading.class_ids))
    likely = model.only([c for c, share in known.classes().items() if share >= _LIKELY])
    mainly = posterior(likely, observations)
    warnings = [*FarOff(connection).doubts(reading), *warnings, *thin(connection, model, known)]
    return CaliperResult(
        caliper_um=Estimate.of(known.caliper_um, level),
        bulk_cm3_g=Estimate.of(known.bulk_cm3_g, level),
        grammage_gsm=Estimate.of(known.grammage_gsm, level),
        class_mean_caliper_um=_class_mean(model, known, level),
        level=level,
        classes=tuple(
            ClassShare(c, model.classes[c].name, p)
            for c, p in list(known.classes().items())[:_SHOWN_CLASSES]
            if p >= 0.005
        ),
        rests_on=tuple(rests_on(connection, model, known, reading, observations, rules)),
        why=tuple(explain(likely, observations, mainly, level)),
        advice=tuple(advise(likely, observations, mainly, rules, level)) if with_advice else (),
        targets=tuple(reach(likely, observations, mainly, rules, level, target_pct)) if target_pct else (),
        ruler=ruler_enough(likely, observations, mainly, rules, level, target_pct) if target_pct else None,
        warnings=tuple(dict.fromkeys(warnings)),
        surface=_surface(model, known),
        distribution=known.caliper_um,
    )


def model_for(connection: sqlite3.Connection, class_ids: Sequence[str], apart_from: Iterable[str] = ()) -> Model:
    """Return the model of the classes named (none: all paper and board); NotFound for a class that there is not.

    `apart_from`: piles that are being asked about, whose samples must not speak twice.
    """
    model = load_model(connection, apart_from=apart_from)
    if not class_ids:
        return model
    if any(c not in model.classes for c in class_ids):
        cloth = load_model(connection, "cloth", apart_from)
        if all(c in cloth.classes for c in class_ids):
            return cloth.only(list(class_ids))
    return model.only(list(class_ids))


def judge(model: Model, observations: Sequence[Observation], *, class_named: bool) -> tuple[Posterior, list[str]]:
    """Return what the observations say of a pile, and a line for each that is doubtful.

    Raises BadInput where they contradict each other, or the class, beyond any sheet material.
    """
    found = doubts(model, observations, class_named=class_named)
    if any(d.probability < IMPOSSIBLE for d in found):
        raise BadInput(found[0].text, expected="measurements of one and the same pile: count again and check the units")
    known = posterior(model, observations)
    _refuse_impossible_density(known)
    return known, [d.text for d in found if d.probability < DOUBTFUL]


def _class_mean(model: Model, known: Posterior, level: float) -> Estimate | None:
    if len(model.classes) != 1:
        return None
    (material,) = model.classes.values()
    scatterless = tuple(
        (p.weight, material.line.mean(x), math.sqrt(material.line.variance(x) + material.line.slope**2 * p.var_g))
        for p in known.parts
        for x in [p.mean_g + log_ratio(1.0)]
    )
    return Estimate.of(LogNormalMixture(scatterless), level)


def _surface(model: Model, known: Posterior) -> str:
    """Return hard, soft or mixed: the surface that the likely classes agree on."""
    shares: dict[str, float] = {}
    for class_id, share in known.classes().items():
        surface = model.classes[class_id].surface
        shares[surface] = shares.get(surface, 0.0) + share
    top = max(shares, key=lambda s: shares[s])
    return top if shares[top] >= 0.9 else "mixed"


def _refuse_impossible_density(known: Posterior) -> None:
    bulk = known.bulk_cm3_g.quantile(0.5)
    if not 0.6 <= bulk <= 33.0:
        raise BadInput(
            f"these measurements would make a density of {1 / bulk:.2g} g/cm³, which no sheet material has",
            expected="measurements of one and the same pile: count again and check the units",
        )
