"""What a form can offer: names to choose from, and what the rules of practice take where nothing is filled in."""

from __future__ import annotations

from collections.abc import Mapping

from matref.api import Workshop
from matref.book.practice import Practice
from matref.estimator.assumptions import Rule, Rules
from matref.planning.schema import ALLOWANCES, PLAN_TABLES

Offers = Mapping[str, list[tuple[str, str]]]
"""Name of a list to its values, each with the words that people read."""

_MOST_PICKED = 200
_MM_PER_INCH = 25.4
_FINE = 3  # significant digits of a usual figure in inches


def offers(workshop: Workshop) -> Offers:
    """Return every list: threads, needles, cloths, boards by their names, samples and piles by their ids.

    An entry that stands for a range of products says too little of a cloth or a board, so it is not offered.
    """
    return {
        "threads": _names(workshop, "SELECT name FROM thread"),
        "needles": _names(workshop, "SELECT name FROM needle WHERE kind = 'size' AND (blade_mm OR for_use = 'hand')"),
        "cloths": _names(
            workshop,
            """SELECT name FROM material_class WHERE family = 'cloth'
               UNION SELECT name FROM fabric WHERE mass_low_gsm IS NULL AND thickness_low_mm IS NULL
               UNION SELECT name FROM interfacing WHERE mass_low_gsm IS NULL AND thickness_low_mm IS NULL""",
        ),
        "boards": _names(
            workshop,
            """SELECT name FROM material_class WHERE family <> 'cloth'
               UNION SELECT name FROM board WHERE thickness_mm IS NOT NULL""",
        ),
        "samples": _samples(workshop),
        "piles": [(pile.id, _said(pile.name, f"{pile.count} leaves")) for pile in workshop.stock.list("paper")],
    }


def usual(workshop: Workshop, units: str) -> dict[str, str]:
    """Return field of a plan to what the rules of practice take without it; `units`: the visitor's, mm or in."""
    rules, rule_ids = Rules(workshop.connection), Practice.rule_ids()
    found = {}
    for table in PLAN_TABLES:
        for key in table.keys:
            if key.stem in ALLOWANCES and key.kind in ("length", "number", "count"):
                rule = rules[rule_ids[ALLOWANCES[key.stem][0]]]
                found[f"{table.path}.{key.name}"] = _figures(rule, units)
    return found


def _figures(rule: Rule, units: str) -> str:
    ends = [end for end in (rule.low, rule.high) if end is not None]
    figures = [rule.value] if rule.value is not None else ends
    if rule.unit == "mm" and units == "in":
        return " to ".join(f"{figure / _MM_PER_INCH:.{_FINE}g}" for figure in figures)
    return " to ".join(f"{figure:g}" for figure in figures)


def _names(workshop: Workshop, query: str) -> list[tuple[str, str]]:
    rows = workshop.connection.execute(f"SELECT DISTINCT name FROM ({query}) ORDER BY lower(name)").fetchall()
    return [(name, "") for (name,) in rows]


def _samples(workshop: Workshop) -> list[tuple[str, str]]:
    rows = workshop.connection.execute(
        """SELECT s.id, s.label, c.name, s.caliper_um, s.grammage_gsm
           FROM sample AS s LEFT JOIN material_class AS c ON c.id = s.class_id
           WHERE s.withdrawn_at IS NULL ORDER BY s.added_at DESC, s.rowid DESC LIMIT ?""",
        (_MOST_PICKED,),
    )
    return [
        (
            sample_id,
            _said(
                label or sample_id,
                class_name,
                caliper and f"{caliper:.3g} µm",
                grammage and f"{grammage:.3g} g/m²",
            ),
        )
        for sample_id, label, class_name, caliper, grammage in rows
    ]


def _said(*words: str | None) -> str:
    return ", ".join(word for word in words if word)
