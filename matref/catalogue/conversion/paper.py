"""Weights of paper: pounds of a grade to g/m² and back, and other mass per area."""

from __future__ import annotations

import sqlite3
from typing import Final

from matref.catalogue.conversion.question import Question, matching
from matref.catalogue.conversion.reading import Reading
from matref.catalogue.rows import Row, fetch, said
from matref.errors import BadInput
from matref.quantities import parse_grammage

_PAPER_WORDS: Final = frozenset({"paper", "stock", "weight", "basis"})
_GRAMMAGE: Final = frozenset({("gsm",), ("g", "m2"), ("g",), ("gm2",), ("g", "m", "2")})
_REAM: Final = 500


def from_pounds(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Read a basis weight such as '20 lb bond'; without a grade, '20 lb', every current grade is a reading."""
    if question.amount is None or "lb" not in question.words:
        return []
    rows = fetch(connection, "SELECT * FROM basis_size")
    grade = tuple(word for word in question.words if word != "lb")
    found = matching(rows, grade)
    if not found:
        grade = tuple(word for word in grade if word not in _PAPER_WORDS)
        found = matching(rows, grade) if grade else _current(rows)
    return [_basis(row, question.amount * row["gsm_per_lb"], "g/m2") for row in found]


def to_pounds(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Turn g/m² into pounds of each current grade and ounces per square yard; other mass per area into g/m²."""
    if question.amount is None or not question.words:
        return []
    units = fetch(connection, "SELECT * FROM unit")
    if question.words not in _GRAMMAGE:
        return _per_area(units, question)
    grades = _current(fetch(connection, "SELECT * FROM basis_size"))
    return [_basis(row, question.amount / row["gsm_per_lb"], f"lb {row['name']}") for row in grades] + [
        Reading(
            unit["name"],
            question.amount / unit["factor"],
            "oz/yd2",
            bool(unit["exact"]),
            unit["source_id"],
            entry=f"unit:{unit['id']}",
        )
        for unit in matching(units, ("oz", "yd2"))
    ]


def _current(rows: list[Row]) -> list[Row]:
    """Give the grades sold by the ream of 500 where and when the first row, the most usual one, is."""
    return [row for row in rows if row.get("period") == rows[0].get("period") and row.get("sheets") == _REAM]


def _basis(row: Row, value: float, unit: str) -> Reading:
    ream = "a stated area"
    if "width_in" in row and "sheets" in row:
        ream = f"{row['sheets']:g} sheets of {row['width_in']:g} × {row['height_in']:g} in"
    return Reading(
        f"basis weight of {row['name']}, pounds in {ream}",
        value,
        unit,
        True,
        row["source_id"],
        entry=f"basis_size:{row['id']}",
        note=said(row, "note"),
        more={"period": row["period"]} if "period" in row else {},
    )


def _per_area(units: list[Row], question: Question) -> list[Reading]:
    """Read mass per area in a spelling that the table of units does not list: '4 oz per square yard'."""
    if matching(units, question.words):
        return []
    try:
        quantity = parse_grammage(question.typed)
    except BadInput:
        return []
    return [
        Reading("mass per area", quantity.value, "g/m2", True, unit["source_id"], entry=f"unit:{unit['id']}")
        for unit in matching(units, question.words[:1])[:1]
    ]
