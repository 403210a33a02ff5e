"""The workshop file as Datasette sees it: read-only, whatever its name, without the personal columns."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from datasette.database import Database

from matref.database import is_writable
from matref.errors import FileTrouble


class WorkshopDatabase(Database):  # type: ignore[misc]
    """A Datasette database over a workshop file. It is never written through this door."""

    def connect(self, write: bool = False) -> sqlite3.Connection:
        """Open another connection, for reading alone."""
        if write:
            raise FileTrouble("Datasette does not write to the workshop file", expected="the pages of matref")
        connection = reader(self.path)
        self._all_file_connections.append(connection)
        return connection

    async def execute(self, *query: Any, **options: Any) -> Any:
        """Run a query. A hidden column that Datasette had to quote (it quotes SQL's own words) keeps its name.

        SQLite names what an authorizer hides after the expression, `[plan]`, and Datasette then knows no such column.
        """
        found = await super().execute(*query, **options)
        found.description = tuple((_unquoted(column[0]), *column[1:]) for column in found.description or ())
        return found


def _unquoted(name: str) -> str:
    """Return a name without the brackets that quote it.

    >>> _unquoted("[plan]"), _unquoted("label"), _unquoted("[1] + [2]")
    ('plan', 'label', '[1] + [2]')
    """
    inner = name[1:-1]
    return inner if name == f"[{inner}]" and inner.isidentifier() else name


def reader(path: str) -> sqlite3.Connection:
    """Open a workshop file for reading alone, from whatever thread."""
    place = Path(path)
    # In a folder without leave to write, SQLite cannot make the files that a write-ahead log needs.
    mode = "mode=ro" if is_writable(place) else "mode=ro&immutable=1"
    connection = sqlite3.connect(f"{place.absolute().as_uri()}?{mode}", uri=True, check_same_thread=False)
    connection.execute("PRAGMA query_only = ON")
    return connection
