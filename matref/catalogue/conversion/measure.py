"""Lengths, thicknesses and other measures by the table of units; inches both ways; pages per inch."""

from __future__ import annotations

import sqlite3
from typing import Final

from matref.catalogue.conversion.question import Question, aliases, matching
from matref.catalogue.conversion.reading import Reading
from matref.catalogue.rows import Row, fetch, said
from matref.errors import BadInput
from matref.quantities import parse_length, parse_size

MM_PER_INCH: Final = 25.4
UM_PER_POINT: Final = 25.4
_METRIC: Final = frozenset({"mm", "cm", "m", "um"})
_IMPERIAL: Final = frozenset({"in", "ft", "yd"})
_DERIVED: Final = "own-derivation"
_LEAVES: Final = {
    ("ppi",): 2,
    ("in", "pages"): 2,
    ("in", "sheets"): 1,
    ("in", "leaves"): 1,
    ("an", "in", "pages"): 2,
    ("pages", "to", "in"): 2,
}


def from_length(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Turn inches, feet and yards into mm, and metric lengths into inches; sizes such as 8 1/2 x 11 in likewise."""
    words = {word for word in question.words if not word.isdigit()} - {"x", "by"}
    if not words or not words <= _METRIC | _IMPERIAL:
        return []
    metric = words <= _METRIC
    (unit,) = matching(fetch(connection, "SELECT * FROM unit"), ("in",))[:1] or [{}]
    try:
        length = parse_length(question.typed).value
    except BadInput:
        return _from_size(question, metric, unit)
    entry, source = f"unit:{unit.get('id', '')}", unit.get("source_id", _DERIVED)
    if not metric:
        return [Reading("length", length, "mm", True, source, entry=entry)]
    readings = [Reading("length", length / MM_PER_INCH, "in", True, source, entry=entry)]
    if length <= 10:
        points = length * 1000 / UM_PER_POINT
        readings.append(Reading("thickness in points or mils, 0.001 in", points, "pt", True, source, entry=entry))
    return readings


def _from_size(question: Question, metric: bool, unit: Row) -> list[Reading]:
    try:
        size = parse_size(question.typed)
    except BadInput:
        return []
    scale, to = (MM_PER_INCH, "in") if metric else (1.0, "mm")
    value = (size.width_mm / scale, size.height_mm / scale)
    return [Reading("size", value, to, True, unit.get("source_id", _DERIVED))]


def from_pages_per_inch(connection: sqlite3.Connection, question: Question) -> list[Reading]:  # noqa: ARG001
    """Turn pages or sheets per inch into caliper: 25 400 µm · pages a leaf / number, so 500 ppi is 101.6 µm."""
    pages = _LEAVES.get(tuple(sorted(question.words)))
    if pages is None or question.amount is None:
        return []
    counted = "two pages to a leaf" if pages == 2 else "leaves"
    caliper = 1000 * MM_PER_INCH * pages / question.amount
    return [_thickness(f"caliper from the count in an inch of pressed leaves, {counted}", caliper, True, _DERIVED)]


def from_unit(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Convert by the table of units; a unit's name alone is one of it.

    A bare mass such as '4 oz' also brings the trade units that are spoken of as so many ounces.
    """
    amount = question.amount
    if amount is None and not any(letter.isdigit() for letter in question.text):
        amount = 1.0  # 'quire' alone: what one is
    if amount is None or not question.words:
        return []
    rows = fetch(connection, "SELECT * FROM unit")
    if set(question.words) <= _METRIC | _IMPERIAL:  # lengths are answered by `from_length`
        return []
    singular = tuple(word.removesuffix("s") if len(word) > 3 else word for word in question.words)
    found = (matching(rows, question.words) or matching(rows, singular)) or [
        row
        for word in question.words
        for row in matching(rows, (word,))
        if row["quantity"] == "thickness"  # '24 pt chipboard'
    ]
    if found and found[0]["quantity"] == "mass":
        ids = {row["id"] for row in found}
        found += [row for row in rows if row["id"] not in ids and _goes_by(row, question.words)]
    return [_by_unit(row, amount) for row in found]


def _goes_by(row: Row, words: tuple[str, ...]) -> bool:
    """Tell whether a unit of thickness or of mass per area is spoken of as so many ounces (or pounds)."""
    return row["quantity"] in ("thickness", "mass per area") and any(set(words) < set(names) for names in aliases(row))


def _by_unit(row: Row, amount: float) -> Reading:
    value, exact, entry = amount * row["factor"], bool(row["exact"]), f"unit:{row['id']}"
    note = said(row, "note")
    if row["si_unit"] == "um":
        return _thickness(row["name"], value, exact, row["source_id"], entry, note)
    return Reading(row["name"], value, row["si_unit"], exact, row["source_id"], entry=entry, note=note)


def _thickness(meaning: str, um: float, exact: bool, source_id: str, entry: str = "", note: str = "") -> Reading:
    more = {"thickness_mm": um / 1000, "thickness_in": um / 1000 / MM_PER_INCH}
    return Reading(meaning, um, "um", exact, source_id, entry=entry, note=note, more=more)
