"""What an answer rests on, and where that is thin."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import Any, NamedTuple

from matref.estimator.assumptions import Rules
from matref.estimator.evidence import Reading
from matref.estimator.model import MaterialClass, Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import Posterior

_EXTRAPOLATED = 0.10  # a pile this share outside the grammages that a class has readings for is said to be outside


class Support(NamedTuple):
    """One thing an answer rests on: its kind (measurement, readings, sample, rule, assumption), words, source ids."""

    kind: str
    words: str
    sources: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {"kind": self.kind, "what": self.words, "sources": list(self.sources)}


def rests_on(
    connection: sqlite3.Connection,
    model: Model,
    known: Posterior,
    reading: Reading,
    observations: Sequence[Observation],
    rules: Rules,
) -> list[Support]:
    """Return everything that an answer rests on: what was measured and said, readings or usual ranges, rules."""
    found = [Support("measurement", o.words) for o in observations]
    found += [Support("statement", note) for note in reading.notes]
    if reading.class_ids:
        found.append(Support("statement", f"class named: {', '.join(reading.class_ids)}"))
    for class_id, share in list(known.classes().items())[:3]:
        material = model.classes[class_id]
        if share < 0.05:
            continue
        found.append(_of_class(connection, material))
        if material.own_samples:
            found.append(Support("samples", f"{material.own_samples} samples of your own of {material.name}"))
    if not reading.class_ids:
        found.append(
            Support("assumption", "what turns up in a salvage pile, as shares per class", ("common-practice",))
        )
    if rules.habit and rules.habit.piles:
        found.append(Support("samples", rules.habit.words))
    for rule in rules.used.values():
        found.append(Support("rule", rule.rule_id, (rule.source_id,)))
    return list(dict.fromkeys(found))


def _of_class(connection: sqlite3.Connection, material: MaterialClass) -> Support:
    if material.readings:
        words = f"{material.readings} published readings of {material.name}"
        return Support("readings", words, _sources(connection, material.class_id))
    usual = connection.execute(
        "SELECT low, high, source_id FROM usual_range WHERE class_id = ? AND quantity = 'bulk'", (material.class_id,)
    ).fetchone()
    if usual:
        low, high, source_id = usual
        return Support("assumption", f"usual bulk of {material.name}, {low:g} to {high:g} cm³/g", (source_id,))
    return Support("readings", f"the common line of all {material.family}s")


def _sources(connection: sqlite3.Connection, class_id: str) -> tuple[str, ...]:
    rows = connection.execute(
        """SELECT source_id, count(*) AS n FROM reading WHERE class_id = ? AND used_in_fit = 1
           GROUP BY source_id ORDER BY n DESC, source_id""",
        (class_id,),
    )
    return tuple(row[0] for row in rows)


def thin(connection: sqlite3.Connection, model: Model, known: Posterior) -> list[str]:
    """Return a line for each likely class of which little is published."""
    found = []
    grammage = known.grammage_gsm.quantile(0.5)
    for class_id, share in list(known.classes().items())[:3]:
        material = model.classes[class_id]
        if share < 0.3:
            continue
        if material.readings == 0 and not material.own_samples:
            found.append(
                f"{_unused(connection, material)}: the answer follows what is usual of its kind, and its range is wide"
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


def _unused(connection: sqlite3.Connection, material: MaterialClass) -> str:
    doubtful = connection.execute("SELECT count(*) FROM reading WHERE class_id = ?", (material.class_id,)).fetchone()[0]
    if doubtful:
        return f"what is published of grammage and caliper for {material.name} is too doubtful to be used"
    return f"nobody has published grammage and caliper together for {material.name}"
