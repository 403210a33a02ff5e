"""Saving what can be read: the personal rows of a damaged workshop file, put into a new one. The old one is only read.

SQLite keeps no checksum of its pages: a row is taken if it can be read and makes sense, so look through what was saved.
"""

from __future__ import annotations

import json
import math
import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from matref.database import one_line_errors, open_existing, publish, quote, run_script, taken, transaction, workroom
from matref.errors import FileTrouble
from matref.migrations import MIGRATIONS
from matref.pages import Cells, Pages, Unreadable
from matref.samples.draft import EVIDENCE, stored_observations
from matref.upgrade import APPLICATION_ID, Fit, ensure_current, keep_log

_DERIVED = ("info", "pile_line", "sample_total", "held_both_ways")
"""Tables of the personal layout that are worked out anew."""

_TELLING = 5  # a row of fewer columns does not tell which table it is of
_BLOCK = 4096
_LAYOUT_AT, _MARK_AT = 60, 68  # SQLite file format 1.3: user_version, application_id


@dataclass(frozen=True, slots=True)
class Salvage:
    """What was saved: rows by table; how many of them lay on loose pages; what could not be read.

    `rows_garbled`: rows among them whose words have gaps, shown as U+FFFD. `rows_unreadable`: rows that were found but
    make no sense. `pages_unreadable`: pages of the personal tables that are missing or damaged, with some dozens of
    rows each.
    """

    path: str
    saved_to: str
    layout: int
    rows: dict[str, int]
    rows_from_loose_pages: int
    rows_garbled: int
    rows_unreadable: int
    pages_unreadable: int

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return asdict(self)


def salvage(path: str | os.PathLike[str], target: str | os.PathLike[str], *, fit: Fit | None = None) -> Salvage:
    """Copy the personal rows that can be read in the file at `path` into a new workshop file, `target`.

    Rows of an older layout are upgraded like any other file's. FileTrouble where `target` exists, where the file is of
    a newer matref, or where nothing personal can be read in it; then nothing is made.
    """
    place, new = Path(path).expanduser(), Path(target).expanduser()
    if new.exists():
        raise taken(new)
    with one_line_errors(place):
        log = place.with_name(place.name + "-wal")
        pages = Pages(_bytes(place), _bytes(log) if log.exists() else b"")
    layout = _layout(pages, place)
    with one_line_errors(new), workroom(new) as room:
        part = room / "part.db"
        part.touch()
        with closing(open_existing(part)) as connection:
            with transaction(connection):
                lay_out(connection, layout)
                taker = _Taker(connection, pages)
                taker.take()
                senseless = _drop_senseless(connection) if "sample" in taker.rows else 0
            if sum(taker.rows.values()) == senseless:
                raise FileTrouble(
                    f"no samples, books or stock can be read in {place}", expected="a file that holds some; a backup"
                )
            ensure_current(connection, part, writable=True, fit=fit)  # which works out anew what is derived
            keep_log(connection)
        if not publish(part, new):
            raise taken(new)
    return Salvage(
        path=str(place),
        saved_to=str(new),
        layout=layout,
        rows={name: count - senseless * (name == "sample") for name, count in taker.rows.items()},
        rows_from_loose_pages=taker.loose,
        rows_garbled=taker.garbled,
        rows_unreadable=taker.refused + taker.torn + senseless,
        pages_unreadable=taker.lost,
    )


def lay_out(connection: sqlite3.Connection, layout: int) -> None:
    """Make the personal tables as the first `layout` migrations leave them, inside the caller's transaction."""
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    for migration in MIGRATIONS[:layout]:
        if isinstance(migration, str):
            run_script(connection, migration)
        else:
            migration(connection)
    connection.execute(f"PRAGMA user_version = {layout}")


class _Taker:
    """Takes rows out of the pages, table by table, into tables of the same layout."""

    def __init__(self, connection: sqlite3.Connection, pages: Pages) -> None:
        self._connection = connection
        self._pages = pages
        self.rows: dict[str, int] = {}
        self.loose = self.garbled = self.refused = self.lost = self.torn = 0

    def take(self) -> None:
        """Take the rows that the tables lead to, and those of pages that have come loose."""
        roots, pages = self._roots(), self._pages
        tables = self._tables()
        found = {table: list(pages.rows(roots[table])) for table in tables if table in roots}
        self.lost, self.torn = len(pages.lost), pages.torn
        for other in set(roots) - set(tables):  # so that pages of the catalogue are not taken for loose ones
            for _ in pages.rows(roots[other]):
                pass
        loose = [row for row in pages.loose() if len(row) >= _TELLING]
        for table in tables:
            columns = len(self._columns(table))
            held = found.get(table, [])
            self.rows[table] = self._insert(table, held)
            self.refused += len(held) - self.rows[table]
            more = self._insert(table, [row for row in loose if len(row) == columns])
            self.rows[table] += more
            self.loose += more

    def _insert(self, table: str, rows: Sequence[Cells]) -> int:
        """Insert the rows that the table accepts and return how many they are."""
        marks = ", ".join("?" * len(self._columns(table)))
        accepted = 0
        for row in rows:
            # No text of ours holds a NUL: there the page behind it was wiped out.
            whole = tuple(v.replace("\0", "\ufffd") if isinstance(v, str) else v for v in row)
            with suppress(sqlite3.IntegrityError, sqlite3.ProgrammingError):
                self._connection.execute(f"INSERT INTO {quote(table)} VALUES ({marks})", whole)
                accepted += 1
                self.garbled += whole != row
        return accepted

    def _tables(self) -> list[str]:
        """The personal tables, those that others refer to first."""
        rows = self._connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY rowid")
        return [name for (name,) in rows if name not in _DERIVED and not name.startswith("sqlite_")]

    def _columns(self, table: str) -> list[str]:
        return [row[1] for row in self._connection.execute(f"PRAGMA table_info({quote(table)})")]

    def _roots(self) -> dict[str, int]:
        """The first page of each table, as far as the file's own list of them can be read."""
        found = (row for row in self._pages.rows(1) if len(row) == 5 and row[0] == "table")
        return {str(row[1]): row[3] for row in found if isinstance(row[3], int)}


def _layout(pages: Pages, place: Path) -> int:
    """Return which layout the file has; today's where its header does not tell."""
    try:
        layout, mark = pages.header_number(_LAYOUT_AT), pages.header_number(_MARK_AT)
    except Unreadable:
        return len(MIGRATIONS)
    if mark == APPLICATION_ID and len(MIGRATIONS) < layout < 1000:
        raise FileTrouble(f"{place} was written by a newer matref", expected="matref brought up to date")
    return layout if mark == APPLICATION_ID and 0 < layout <= len(MIGRATIONS) else len(MIGRATIONS)


def _drop_senseless(connection: sqlite3.Connection) -> int:
    """Take out samples whose evidence was garbled; return how many."""
    lines = connection.execute("SELECT id, as_typed, observations FROM sample").fetchall()
    garbled = [row["id"] for row in lines if not _makes_sense(row["as_typed"], row["observations"])]
    for name in garbled:
        connection.execute("DELETE FROM sample_history WHERE sample_id = ?", (name,))
        connection.execute("DELETE FROM sample WHERE id = ?", (name,))
    return len(garbled)


def _makes_sense(as_typed: str, observed: str) -> bool:
    try:
        typed, observations = json.loads(as_typed), stored_observations(observed)
        return (
            isinstance(typed, dict)
            and all(name in EVIDENCE and isinstance(text, str) for name, text in typed.items())
            and all(math.isfinite(o.value) and 0 < o.u < math.inf for o in observations)
        )
    except (ValueError, TypeError):
        return False


def _bytes(place: Path) -> bytes:
    """Return a file's content; where the disk cannot read a part of it, zeros."""
    try:
        return place.read_bytes()
    except OSError:
        return b"".join(_blocks(place))


def _blocks(place: Path) -> Iterator[bytes]:
    with place.open("rb", buffering=0) as file:
        for start in range(0, os.fstat(file.fileno()).st_size, _BLOCK):
            try:
                file.seek(start)
                yield file.read(_BLOCK).ljust(_BLOCK, b"\0")
            except OSError:
                yield bytes(_BLOCK)
