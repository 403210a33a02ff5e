"""The answer to 'what is this paper and how thick is it': evidence in, estimates with their reasons out."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from matref.errors import BadInput
from matref.estimator.advice import Advice, RulerAnswer, Target, advise, reach, ruler_enough
from matref.estimator.assumptions import Rules
from matref.estimator.contradiction import DOUBTFUL, IMPOSSIBLE, doubts
from matref.estimator.distribution import LogNormalMixture
from matref.estimator.estimate import Estimate, check_level
from matref.estimator.evidence import Evidence, Reading, read
from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import Posterior, posterior
from matref.estimator.store import load_model

_EXTRAPOLATED = 0.10  # a pile this share outside the grammages that a class has readings for is said to be outside
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


class Support(NamedTuple):
    """One thing an answer rests on: its kind (measurement, readings, sample, rule, assumption), words, source ids."""

    kind: str
    words: str
    sources: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {"kind": self.kind, "what": self.words, "sources": list(self.sources)}


class Cause(NamedTuple):
    """A cause of the range's width: the half-width (% of the caliper) that would be left without it."""

    words: str
    half_width_without_pct: float

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {"cause": self.words, "half_width_without_pct": round(self.half_width_without_pct, 2)}


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
    target_pct: float | None = None,
    with_advice: bool = True,
) -> CaliperResult:
    """Return the estimate that `evidence` (and `extra` observations, such as those of a sample) supports.

    Raises BadInput where there is no evidence, or where it contradicts itself beyond any sheet material.
    """
    check_level(level)
    rules = Rules(connection, own_habit=True)
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
    warnings += _class_warnings(model, known)
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
        rests_on=tuple(_rests_on(connection, model, known, reading, observations, rules)),
        why=tuple(explain(likely, observations, mainly, level)),
        advice=tuple(advise(likely, observations, mainly, rules, level)) if with_advice else (),
        targets=tuple(reach(likely, observations, mainly, rules, level, target_pct)) if target_pct else (),
        ruler=ruler_enough(likely, observations, mainly, rules, level, target_pct) if target_pct else None,
        warnings=tuple(dict.fromkeys(warnings)),
        surface=_surface(model, known),
        distribution=known.caliper_um,
    )


def explain(model: Model, observations: Sequence[Observation], known: Posterior, level: float) -> list[Cause]:
    """Return what makes the caliper's range wide, largest cause first.

    Each doubt is taken away in turn and the range worked out again: the class unknown, makers differing within a
    class, and every share of every reading's uncertainty.
    """

    def half_width_pct(changed: Posterior) -> float:
        estimate = Estimate.of(changed.caliper_um, level)
        return 100 * estimate.half_width / estimate.value

    now = half_width_pct(known)
    causes: list[Cause] = []
    likeliest = next(iter(known.classes()))
    if len(known.classes()) > 1:
        named = model.only([likeliest])
        causes.append(Cause("the kind of paper is not certain", half_width_pct(posterior(named, observations))))
    calm = Model(model.classes, {family: s._replace(sd=s.sd * 1e-3) for family, s in model.scatter.items()})
    causes.append(
        Cause("papers of one kind differ between makers and makings", half_width_pct(posterior(calm, observations)))
    )
    for i, own in enumerate(observations):
        for words, share in own.shares.items():
            if share <= 0:
                continue
            sharper = replace(own, u=max(math.sqrt(max(own.u**2 - share, 0.0)), 1e-4))
            changed = [*observations[:i], sharper, *observations[i + 1 :]]
            causes.append(Cause(f"{words} ({own.words})", half_width_pct(posterior(model, changed))))
    telling = [c for c in causes if c.half_width_without_pct < 0.98 * now]
    return sorted(telling, key=lambda c: c.half_width_without_pct)


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
        for x in [p.mean_g - math.log(80.0)]
    )
    return Estimate.of(LogNormalMixture(scatterless), level)


def _class_warnings(model: Model, known: Posterior) -> list[str]:
    found = []
    grammage = known.grammage_gsm.quantile(0.5)
    for class_id, share in list(known.classes().items())[:3]:
        material = model.classes[class_id]
        if share < 0.3:
            continue
        if material.readings == 0 and not material.own_samples:
            found.append(
                f"nobody has published grammage and caliper together for {material.name}: the answer follows the "
                f"common line of all {material.family}s, and its range is wide"
            )
        elif material.gsm_low is not None and material.gsm_high is not None:
            low, high = material.gsm_low * (1 - _EXTRAPOLATED), material.gsm_high * (1 + _EXTRAPOLATED)
            if not low <= grammage <= high:
                found.append(
                    f"{grammage:.0f} g/m² is outside the {material.gsm_low:.0f} to {material.gsm_high:.0f} g/m² that "
                    f"the readings for {material.name} cover: the line is carried on beyond them"
                )
        if material.sources == 1:
            found.append(f"all published readings for {material.name} come from one source")
    return found


def _rests_on(
    connection: sqlite3.Connection,
    model: Model,
    known: Posterior,
    reading: Reading,
    observations: Sequence[Observation],
    rules: Rules,
) -> list[Support]:
    found = [Support("measurement", o.words) for o in observations]
    found += [Support("statement", note) for note in reading.notes]
    if reading.class_ids:
        found.append(Support("statement", f"class named: {', '.join(reading.class_ids)}"))
    for class_id, share in list(known.classes().items())[:3]:
        material = model.classes[class_id]
        if share < 0.05:
            continue
        sources = _sources(connection, class_id)
        if material.readings:
            found.append(Support("readings", f"{material.readings} published readings of {material.name}", sources))
        else:
            found.append(Support("readings", f"the common line of all {material.family}s", sources))
        if material.own_samples:
            found.append(Support("samples", f"{material.own_samples} samples of your own of {material.name}"))
    if not reading.class_ids:
        found.append(
            Support("assumption", "what turns up in a salvage pile, as shares per class", ("common-practice",))
        )
    if rules.habit and rules.habit.piles:
        found.append(Support("samples", rules.habit.words))
    for rule in list(rules.used.values()):
        found.append(Support("rule", rule.rule_id, (rule.source_id,)))
    return found


def _sources(connection: sqlite3.Connection, class_id: str) -> tuple[str, ...]:
    rows = connection.execute(
        """SELECT source_id, count(*) AS n FROM reading WHERE class_id = ? AND used_in_fit = 1
           GROUP BY source_id ORDER BY n DESC, source_id""",
        (class_id,),
    )
    return tuple(row[0] for row in rows)


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
