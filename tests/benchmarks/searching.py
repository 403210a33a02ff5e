"""`find` against a plain full-text query and a plain scan of the same text, also with a hundred times the entries."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

from table import Row, say
from timed import compare

import matref
from matref.catalogue.entries import FILL_INDEX

WORDS = (
    "copier",
    "linen thread",
    "foolscap",
    "greyboard",
    "swell",
    "denim",
    "needle",
    "newsprint",
    "kettle",
    "grey card",
)
ENTRIES = 100_000
_FULL_TEXT = """SELECT entry.kind, entry.entry_id, entry.name FROM entry_fts JOIN entry ON entry.id = entry_fts.rowid
    WHERE entry_fts MATCH ? ORDER BY entry_fts.rank LIMIT 20"""
_SCAN = "SELECT kind, entry_id, name FROM entry WHERE {} LIMIT 20"
_HOLDS = "name || ' ' || synonyms || ' ' || body LIKE '%' || ? || '%'"


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    with matref.open(":memory:") as workshop:
        connection = workshop.connection
        yield from _at(workshop, turns=9)
        say("  multiplying the readings")
        _multiply(connection)
        yield from _at(workshop, turns=3)


def _at(workshop: matref.Workshop, turns: int) -> Iterator[Row]:
    connection = workshop.connection
    entries = connection.execute("SELECT count(*) FROM entry").fetchone()[0]
    what = f"find, {len(WORDS)} questions, {entries:,} entries"

    def ours() -> None:
        for words in WORDS:
            workshop.find(words)

    def full_text() -> None:
        for words in WORDS:
            connection.execute(_FULL_TEXT, (words,)).fetchall()

    def scan() -> None:
        for words in WORDS:
            typed = words.split()
            connection.execute(_SCAN.format(" AND ".join([_HOLDS] * len(typed))), typed).fetchall()

    yield compare(what, ours, "plain full-text query, best 20 by rank", full_text, turns=turns)
    yield compare(what, ours, "plain scan with LIKE, first 20", scan, turns=turns)


def _multiply(connection: sqlite3.Connection) -> None:
    """Copy the readings, which are the commonest entries, until there are ENTRIES of all kinds."""
    there, readings = (
        connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("entry", "reading")
    )
    names = [row[1] for row in connection.execute("PRAGMA table_info(reading)")]
    values = ", ".join("id || '-' || n.i" if name == "id" else f"reading.{name}" for name in names)
    copies = f"WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {ENTRIES // readings})"
    most = ENTRIES - there
    connection.execute(f"{copies} INSERT INTO reading SELECT {values} FROM n CROSS JOIN reading LIMIT {most}")
    connection.execute(
        f"""{copies} INSERT INTO entry (kind, entry_id, name, synonyms, body)
            SELECT kind, entry_id || '-' || n.i, name, synonyms, body
            FROM n CROSS JOIN entry WHERE kind = 'reading' LIMIT {most}"""
    )
    connection.execute(FILL_INDEX)
    connection.commit()
