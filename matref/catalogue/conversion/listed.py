"""Numbers that only a list explains (board and duck numbers), and ounces of cloth, which have two meanings."""

from __future__ import annotations

import sqlite3
from typing import Final

from matref.catalogue.conversion.question import Question, Words, aliases, matching, spell
from matref.catalogue.conversion.reading import Reading
from matref.catalogue.rows import Row, fetch, fold, said
from matref.quantities.units import MASS_G, UNIT_OF

_NOISE: Final = frozenset({"no", "number", "numbered", "naught", "of", "the", "sheet"})
_YARD_M: Final = 0.9144
_UNITS: Final = frozenset(UNIT_OF.values())


def from_board(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Read a board's trade number, 'No. 20 board' or '8x millboard': thickness where printed, else grammage."""
    found = _listed(fetch(connection, "SELECT * FROM board"), question.whole)
    return [
        reading
        for row in found
        if (reading := _thickness(row, "board") or _ranged(row, "grammage", "gsm", "g/m2", 1.0, "board"))
    ]


def from_cloth(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Read a cloth's number or ounces: 'No. 10 duck', '14 oz denim', '4 oz leather'.

    Ounces are per square yard, or per running yard of a width that a rule or the cloth's own row states; sailmakers
    and duck weavers have ounces of their own. What a source lists under that number comes as a further reading.
    """
    rows = fetch(connection, "SELECT * FROM fabric")
    found = [
        reading
        for row in _listed(rows, question.whole)
        if (reading := _ranged(row, "mass", "gsm", "g/m2", 1.0, "fabric") or _thickness(row, "fabric"))
    ]
    units = fetch(connection, "SELECT * FROM unit")
    cloth = set(question.words) - {"oz", "yd", "yd2", "running", "linear", "square", "sq"} - _NOISE
    kinds = [row for row in rows if any(cloth <= set(names) for names in aliases(row))]
    exact = matching(units, question.words)
    if question.amount is None or "oz" not in question.words or not cloth:
        return found
    if exact and exact[0]["quantity"] != "mass per area":  # ounces of leather are a thickness
        return found
    if not any(key.startswith(("mass", "width")) for row in kinds for key in row):
        return found
    ounces = [_ounces(row, question.amount) for row in _ounces_of(units, cloth) if row not in exact]
    running = _running(connection, kinds, cloth, question.amount)
    return (running + ounces if {"running", "linear", "yd"} & set(question.words) else ounces + running) + found


def _listed(rows: list[Row], whole: Words) -> list[Row]:
    """Give the rows with a name that has just these numbers and, with the row's other names, all these words."""
    typed = [word for word in whole if word not in _NOISE and word != "lb"]
    numbers = sorted(word for word in typed if _numeric(word))
    words = {word for word in typed if not _numeric(word)}
    if not numbers or not words - _UNITS:
        return []
    found = []
    for row in rows:
        names = [*aliases(row), spell(f"{row.get('board_kind', '')} {row.get('trade_number', '')}")]
        if words <= {word for name in names for word in name} and any(
            numbers == sorted(filter(_numeric, name)) for name in names
        ):
            found.append(row)
    return sorted(found, key=lambda row: "flag" in row)


def _numeric(word: str) -> bool:
    return any(letter.isdigit() for letter in word) and word not in ("yd2", "m2", "ft2")


def _ranged(row: Row, stem: str, ending: str, unit: str, scale: float, kind: str) -> Reading | None:
    """Give what a row states of a quantity: its value, or the middle of its range, with the range."""
    low, value, high = (row.get(f"{stem}{part}_{ending}") for part in ("_low", "", "_high"))
    if value is None:
        if low is None or high is None:
            return None
        value = (low + high) / 2
    scaled = [None if cell is None else cell * scale for cell in (low, high)]
    return Reading(
        f"{row['name']}: {stem}",
        value * scale,
        unit,
        False,
        row["source_id"],
        low=scaled[0],
        high=scaled[1],
        entry=f"{kind}:{row['id']}",
        note=said(row, "flag", "note"),
        more={key: row[key] for key in ("period", "as_printed") if key in row},
    )


def _thickness(row: Row, kind: str) -> Reading | None:
    return _ranged(row, "thickness", "mm", "um", 1000.0, kind)


def _ounces_of(units: list[Row], cloth: set[str]) -> list[Row]:
    """Give the ounce per square yard, then the ounces that this cloth alone is sold by."""
    own = [
        row
        for row in units
        if row["quantity"] == "mass per area" and any("oz" in names and cloth & set(names) for names in aliases(row))
    ]
    return [*matching(units, ("oz", "yd2")), *own]


def _ounces(row: Row, amount: float) -> Reading:
    return Reading(
        row["name"],
        amount * row["factor"],
        "g/m2",
        bool(row["exact"]),
        row["source_id"],
        entry=f"unit:{row['id']}",
        note=said(row, "note"),
    )


def _running(connection: sqlite3.Connection, kinds: list[Row], cloth: set[str], amount: float) -> list[Reading]:
    """Read ounces of a running yard, for each width that a rule or a row of the cloth states."""
    rules = fetch(connection, "SELECT * FROM rule WHERE topic = 'cloth' AND unit = 'mm'")
    widths: list[tuple[float, float, str, str]] = []
    for row in rules:
        ends = [row[column] for column in ("low", "value", "high") if column in row]
        if ends and cloth & set(fold(said(row, "applies_to"))):
            widths.append((min(ends), max(ends), row["source_id"], f"rule:{row['id']}"))
    for row in [] if widths else kinds:
        ends = [row[column] for column in ("width_low_mm", "width_high_mm") if column in row]
        if ends and (min(ends), max(ends)) not in [width[:2] for width in widths]:
            widths.append((min(ends), max(ends), row["source_id"], f"fabric:{row['id']}"))
    top, bottom = MASS_G["oz"]
    mass_g = amount * top / bottom
    readings = []
    for narrow, wide, source_id, entry in widths:
        heavy, light = (mass_g / (_YARD_M * side / 1000) for side in (narrow, wide))
        width = f"{narrow:g} to {wide:g}" if narrow < wide else f"{narrow:g}"
        readings.append(
            Reading(
                f"ounces in a running yard, cloth {width} mm wide",
                (heavy + light) / 2,
                "g/m2",
                False,
                source_id,
                low=light if narrow < wide else None,
                high=heavy if narrow < wide else None,
                entry=entry,
                note="measure the width, or weigh a piece",
            )
        )
    return readings
