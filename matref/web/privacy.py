"""What of the personal tables Datasette may read: notes, prices and plans stay hidden unless asked for.

SQLite asks the connection's authorizer for every column a statement reads; a hidden column then reads as NULL in
tables, SQL, facets, JSON and CSV alike.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable

from matref.database import quote

_HIDDEN_WORDS = ("note", "price", "plan")
_ATTACH = 24  # SQLITE_ATTACH of sqlite3.h, which the standard library does not name
Authorizer = Callable[[int, str | None, str | None, str | None, str | None], int]


def personal_tables(connection: sqlite3.Connection) -> list[str]:
    """Return the tables that hold what the user recorded: every table that the catalogue did not bring."""
    row = connection.execute("SELECT value FROM info WHERE key = 'catalogue_objects'").fetchone()
    catalogue = {name for _, name in json.loads(row[0])} if row else set()
    shadows = ("entry_fts", "entry_vocab", "model_", "sqlite_", "info", "pile_line", "sample_total")
    return [
        name
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name"
        ).fetchall()
        if name not in catalogue and not name.startswith(shadows)
    ]


def hidden_columns(connection: sqlite3.Connection) -> set[tuple[str, str]]:
    """Return the (table, column) pairs that hold notes or prices."""
    return {
        (table, column[1])
        for table in personal_tables(connection)
        for column in connection.execute(f"PRAGMA table_info({quote(table)})").fetchall()
        if any(word in column[1] for word in _HIDDEN_WORDS)
    }


def authorizer(hidden: set[tuple[str, str]]) -> Authorizer:
    """Return a callback for `set_authorizer` that hides these columns and attaches no other file."""

    def decide(action: int, table: str | None, column: str | None, _database: str | None, _inner: str | None) -> int:
        if action == sqlite3.SQLITE_READ and (table, column) in hidden:
            return sqlite3.SQLITE_IGNORE
        return sqlite3.SQLITE_DENY if action == _ATTACH else sqlite3.SQLITE_OK

    return decide
