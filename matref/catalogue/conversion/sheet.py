"""Names of sheet sizes, with their period, and the folds of a sheet: folio, quarto, octavo and on."""

from __future__ import annotations

import sqlite3
from typing import Final

from matref.catalogue.conversion.question import Question, matching
from matref.catalogue.conversion.reading import Reading
from matref.catalogue.rows import Row, fetch, said, said_once

_NOISE: Final = frozenset({"paper", "sheet", "size"})
_LEAST_SHEET_MM: Final = 350.0
"""The longer side of every traditional full sheet is above this; what is shorter has been cut already."""
_FOLDS: Final = {
    "folio": 1,
    "quarto": 2,
    "4to": 2,
    "octavo": 3,
    "8vo": 3,
    "sextodecimo": 4,
    "16mo": 4,
    "32mo": 5,
    "64mo": 6,
}


def from_sheet(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Read a name such as 'foolscap', 'A5' or 'crown octavo': width and height in mm, one reading for each source.

    A folded size is listed where a source prints it, and worked out from every sheet of the name: each fold halves
    the longer side. What is worked out is untrimmed.
    """
    words = question.whole
    rows = fetch(connection, "SELECT * FROM sheet_size")
    found = matching(rows, words) or matching(rows, tuple(word for word in words if word not in _NOISE))
    readings = [_reading(row) for row in found]
    for word in words:
        if word in _FOLDS:
            parent = tuple(other for other in words if other != word and other not in _NOISE)
            readings += [
                _folded(row, word, _FOLDS[word])
                for row in matching(rows, parent)
                if max(row["width_mm"], row["height_mm"]) > _LEAST_SHEET_MM
            ]
    return readings


def fold_size(width_mm: float, height_mm: float, folds: int) -> tuple[float, float]:
    """Give width and height, in mm and upright, of a sheet folded so many times across its longer side.

    Crown, 15 × 20 in, folded to octavo:

    >>> fold_size(381.0, 508.0, 3)
    (127.0, 190.5)
    """
    short, long = sorted((width_mm, height_mm))
    for _ in range(folds):
        short, long = sorted((short, long / 2))
    return short, long


def _reading(row: Row) -> Reading:
    return _sized(row, (row["width_mm"], row["height_mm"]), _described(row), said(row, "flag", "note"))


def _folded(row: Row, word: str, folds: int) -> Reading:
    size = fold_size(row["width_mm"], row["height_mm"], folds)
    note = f"worked out: the sheet halved {folds} times across its longer side, untrimmed"
    return _sized(row, size, f"{word} of {_described(row)}", note.replace("halved 1 times", "halved once"))


def _sized(row: Row, size: tuple[float, float], meaning: str, note: str) -> Reading:
    more = {"width_mm": size[0], "height_mm": size[1]}
    more.update({key: row[key] for key in ("system", "period", "as_printed") if key in row})
    return Reading(
        meaning, size, "mm", "flag" not in row, row["source_id"], entry=f"sheet_size:{row['id']}", note=note, more=more
    )


def _described(row: Row) -> str:
    return said_once(*(str(row[key]) for key in ("name", "system", "period") if key in row))
