"""Reading rows of the compiled catalogue as plain dictionaries, and the folding of words that search uses.

Every function takes a `sqlite3.Connection` and leaves its settings alone. Cells that say nothing (NULL or
empty text) are left out, so that a printed entry holds only what its source states.
"""

from __future__ import annotations

import re
import sqlite3
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any, Final, TypeAlias

Row: TypeAlias = dict[str, Any]

KINDS: Final = (
    "material_class",
    "board",
    "fabric",
    "interfacing",
    "thread",
    "needle",
    "sheet_size",
    "basis_size",
    "term",
    "unit",
    "count_system",
    "fibre",
    "rule",
    "caution",
    "reading",
    "source",
)
"""The tables that hold entries, in the order in which equally good finds are listed."""

_BATCH: Final = 500


def fetch(connection: sqlite3.Connection, sql: str, values: Sequence[object] = ()) -> list[Row]:
    """Run one query and give its rows as dictionaries without empty cells."""
    cursor = connection.cursor()
    cursor.row_factory = None
    cursor.execute(sql, values)
    names = [column[0] for column in cursor.description]
    return [
        {name: cell for name, cell in zip(names, row, strict=True) if cell is not None and cell != ""} for row in cursor
    ]


def fetch_ids(connection: sqlite3.Connection, kind: str, ids: Iterable[str]) -> dict[str, Row]:
    """Give the rows of one of `KINDS` that have these ids, by id."""
    found: dict[str, Row] = {}
    wanted = list(ids)
    for start in range(0, len(wanted), _BATCH):
        batch = wanted[start : start + _BATCH]
        marks = ", ".join("?" * len(batch))
        for row in fetch(connection, f'SELECT * FROM "{kind}" WHERE id IN ({marks})', batch):
            found[row["id"]] = row
    return found


def brief_source(source: Row) -> Row:
    """Give what a result needs to name its source: id, title, and year if known."""
    return {key: source[key] for key in ("id", "title", "year") if key in source}


def brief_sources(connection: sqlite3.Connection, ids: Iterable[str]) -> dict[str, Row]:
    """Give the brief form of several sources, by id."""
    return {key: brief_source(row) for key, row in fetch_ids(connection, "source", sorted(set(ids))).items()}


def split_list(text: str) -> list[str]:
    """Split a cell that lists names: 'card; cardstock' gives both.

    >>> split_list("card; cardstock ;")
    ['card', 'cardstock']
    """
    return [part.strip() for part in text.split(";") if part.strip()]


def said(row: Row, *columns: str) -> str:
    """Give the text of the first of these columns that says anything.

    >>> said({"note": "half an A4"}, "flag", "note"), said({}, "flag")
    ('half an A4', '')
    """
    return next((str(row[column]) for column in columns if column in row), "")


def names_of(row: Row) -> list[str]:
    """Give the name of a row, then its synonyms."""
    return [said(row, "name", "term", "id"), *split_list(said(row, "synonyms"))]


def said_once(*phrases: str) -> str:
    """Join phrases by commas, without those whose words have all been said already.

    >>> said_once("Medium", "British traditional", "traditional, before metric sizes")
    'Medium, British traditional, before metric sizes'
    >>> said_once("JIS B5", "JIS P 0138", "current")
    'JIS B5, JIS P 0138, current'
    """
    kept: list[str] = []
    words: set[str] = set()
    for phrase in (part.strip() for text in phrases for part in text.split(",")):
        if not words.issuperset(said_now := fold(phrase)):
            kept.append(phrase)
            words.update(said_now)
    return ", ".join(kept)


_WORD: Final = re.compile(r"[^\W_]+")


@lru_cache(maxsize=8192)
def fold(text: str) -> tuple[str, ...]:
    """Give the words of a text in lower case and without accents, as the full-text index sees them.

    >>> fold("Crème-laid, 18/3 (g/m²)")
    ('creme', 'laid', '18', '3', 'g', 'm2')
    """
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return tuple(_WORD.findall("".join(c for c in decomposed if not unicodedata.combining(c))))
