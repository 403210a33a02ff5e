"""Bringing a workshop file up to date: layout of the personal part, then the catalogue, in one transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

from matref.catalogue.package import edition
from matref.database import copy_database, open_existing, publish, run_script, transaction, workroom
from matref.errors import FileTrouble
from matref.migrations import CATALOGUE_FORMAT, MIGRATIONS

APPLICATION_ID = 0x6D617472
"""'matr' in ASCII: the mark in the file's header (PRAGMA application_id) that the file is ours."""

_UPGRADE_WAIT_MS = 60_000

Fit = Callable[[sqlite3.Connection], None]


def layout(connection: sqlite3.Connection, place: Path) -> int:
    """Return how many migrations the file has had, 0 for an empty one; refuse foreign and newer files."""
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    if mark != APPLICATION_ID:
        if mark == 0 and not connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
            return 0
        raise FileTrouble(f"{place} is not a matref file", expected="a file made by matref, or a new name")
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    if version > len(MIGRATIONS):
        raise FileTrouble(
            f"{place} was written by a newer matref (layout {version}, this one knows {len(MIGRATIONS)})",
            expected="matref brought up to date",
        )
    return version


def facts(connection: sqlite3.Connection) -> dict[str, str]:
    """Return the file's `info` table."""
    return dict(connection.execute("SELECT key, value FROM info").fetchall())


def create(place: Path, fit: Fit | None) -> None:
    """Make a complete file and give it its name in one step; where another process was quicker, keep that one."""
    with workroom(place) as room:
        part = room / "part.db"
        part.touch()
        with closing(open_existing(part)) as connection:
            ensure_current(connection, part, writable=True, fit=fit)
            keep_log(connection)
        publish(part, place)


def ensure_current(connection: sqlite3.Connection, place: Path, *, writable: bool, fit: Fit | None) -> None:
    """Upgrade the layout and replace the catalogue where they are not today's; all of it or nothing."""
    version = layout(connection, place)
    if version == len(MIGRATIONS):
        known = facts(connection)
        format_known = known.get("catalogue_format") == str(CATALOGUE_FORMAT)
        if format_known and (not writable or known.get("edition") == edition()):
            return
    if not writable:
        raise FileTrouble(
            f"{place} is laid out by an older matref", expected="a file and folder with leave to write, once"
        )
    wait_ms = connection.execute("PRAGMA busy_timeout").fetchone()[0]
    connection.execute(f"PRAGMA busy_timeout = {_UPGRADE_WAIT_MS}")
    with transaction(connection):
        _bring_up_to_date(connection, place, fit)
    connection.execute(f"PRAGMA busy_timeout = {wait_ms}")


def keep_log(connection: sqlite3.Connection) -> None:
    """Let readers and a writer work at once (write-ahead log), unless somebody is in the middle of something."""
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        with suppress(sqlite3.OperationalError):
            connection.execute("PRAGMA journal_mode = WAL")


def _bring_up_to_date(connection: sqlite3.Connection, place: Path, fit: Fit | None) -> None:
    # Another process may have done it while this one waited for its turn: look again.
    version = layout(connection, place)
    if version < len(MIGRATIONS):
        if version > 0:
            with closing(open_existing(place, read_only=True)) as before:
                copy_database(before, _name_before(place, version))
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        for migration in MIGRATIONS[version:]:
            if isinstance(migration, str):
                run_script(connection, migration)
            else:
                migration(connection)
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
    known = facts(connection)
    if (known.get("catalogue_format"), known.get("edition")) != (str(CATALOGUE_FORMAT), edition()):
        from matref.catalogue.compile import compile_into

        compile_into(connection, fit=fit)
        if version:
            from matref.samples import Samples

            Samples(connection).reread()


def _name_before(place: Path, version: int) -> Path:
    """Return a free name beside the file: matref.layout-1.db, matref.layout-1-2.db, ..."""
    number = 1
    while True:
        tail = "" if number == 1 else f"-{number}"
        name = place.with_name(f"{place.stem}.layout-{version}{tail}{place.suffix}")
        if not name.exists():
            return name
        number += 1
