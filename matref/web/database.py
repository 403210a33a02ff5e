"""The workshop file as Datasette sees it: read-only, whatever its name, without the personal columns."""

from __future__ import annotations

import sqlite3
from pathlib import Path

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


def reader(path: str) -> sqlite3.Connection:
    """Open a workshop file for reading alone, from whatever thread."""
    place = Path(path)
    # In a folder without leave to write, SQLite cannot make the files that a write-ahead log needs.
    mode = "mode=ro" if is_writable(place) else "mode=ro&immutable=1"
    connection = sqlite3.connect(f"{place.absolute().as_uri()}?{mode}", uri=True, check_same_thread=False)
    connection.execute("PRAGMA query_only = ON")
    return connection
