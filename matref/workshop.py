"""The one SQLite file of a user: open or create it, copy it, look what is in it, check it.

The file holds the compiled catalogue and the fitted model, which are replaced as a whole when the packaged
data changes, and the personal tables, which only `matref.migrations` ever alters. Opening a file that is up
to date imports nothing beyond the standard library.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from matref.catalogue.package import edition, read_package
from matref.database import copy_database, is_writable, one_line_errors, open_existing, open_memory, quote, sweep
from matref.errors import FileTrouble
from matref.upgrade import Fit, create, ensure_current, facts, keep_log, layout

StrPath = str | os.PathLike[str]


def default_path() -> Path:
    """Return the user's file: `MATREF_DB` where that is set, else `matref.db` in the user's data directory."""
    chosen = os.environ.get("MATREF_DB")
    if chosen:
        return Path(chosen).expanduser()
    from platformdirs import user_data_path

    return user_data_path("matref", appauthor=False) / "matref.db"


def connect(path: StrPath | None = None, *, read_only: bool = False, fit: Fit | None = None) -> sqlite3.Connection:
    """Open the workshop file (None: `default_path()`), first making it or bringing it up to date if need be.

    A missing file is created with the catalogue compiled; an older layout is upgraded, after a copy beside it;
    a catalogue of another edition is replaced. With `read_only` nothing of that happens and every write is
    refused. A file or folder that may not be written to is opened for reading, provided its layout is today's.
    `fit` None is the estimator's own. Rows come as `sqlite3.Row`; use `matref.database.transaction` to write.
    Raises FileTrouble and leaves the file as it was when it is no matref file, damaged, or of a newer matref.
    """
    place = _place(path)
    with one_line_errors(place):
        if not place.exists():
            if read_only:
                raise _missing(place)
            if path is None and not os.environ.get("MATREF_DB"):
                place.parent.mkdir(parents=True, exist_ok=True)
            create(place, fit)
        connection = open_existing(place, read_only=read_only)
        try:
            writable = not read_only and is_writable(place)
            ensure_current(connection, place, writable=writable, fit=fit)
            if writable:
                keep_log(connection)
                sweep(place.absolute().parent)
        except BaseException:
            connection.close()
            raise
        return connection


def in_memory(*, fit: Fit | None = None) -> sqlite3.Connection:
    """Return a fresh workshop that lives in memory and is gone when closed: for trials and examples."""
    connection = open_memory()
    ensure_current(connection, Path(":memory:"), writable=True, fit=fit)
    return connection


def backup(path: StrPath | None, target: StrPath) -> Path:
    """Copy the workshop file to `target`, a new name, while others may be writing to it; return the target."""
    place, copy = _existing(path), Path(target).expanduser()
    with one_line_errors(place), closing(open_existing(place, read_only=True)) as connection:
        layout(connection, place)
        copy_database(connection, copy)
    return copy


@dataclass(frozen=True, slots=True)
class Info:
    """What a workshop file is: its edition beside the packaged one, its layout, and the rows of each table.

    `edition` is of the data, `program_version` of the code: each goes its own way.
    """

    path: str
    bytes: int
    program_version: str
    edition: str
    packaged_edition: str
    data_licence: str
    compiled_at: str
    schema_version: int
    rows: dict[str, int]


@dataclass(frozen=True, slots=True)
class Check:
    """The outcome of `check`: what was found wrong, in plain lines, and the rows of each table."""

    path: str
    problems: tuple[str, ...]
    rows: dict[str, int]

    @property
    def ok(self) -> bool:
        """Whether nothing was found wrong."""
        return not self.problems


def info(path: StrPath | None = None) -> Info:
    """Return what the file at `path` (None: `default_path()`) holds, without changing it."""
    from importlib.metadata import version as installed

    place = _existing(path)
    with one_line_errors(place), closing(open_existing(place, read_only=True)) as connection:
        version = layout(connection, place)
        known = facts(connection) if version else {}
        return Info(
            path=str(place),
            bytes=place.stat().st_size,
            program_version=installed("matref"),
            edition=known.get("edition", ""),
            packaged_edition=edition(),
            data_licence=known.get("data_licence", ""),
            compiled_at=known.get("compiled_at", ""),
            schema_version=version,
            rows=_count_rows(connection),
        )


def check(path: StrPath | None = None) -> Check:
    """Look for damage: SQLite's integrity check, broken references, catalogue rows lost or added by hand."""
    place = _existing(path)
    with one_line_errors(place), closing(open_existing(place, read_only=True)) as connection:
        version = layout(connection, place)
        try:
            rows = _count_rows(connection)
            found = [" ".join(row[0].split()) for row in connection.execute("PRAGMA integrity_check")]
            problems = [line for line in found if line != "ok"]
            problems += [
                f"{child} row {row} points to a missing row of {parent}"
                for child, row, parent, _ in connection.execute("PRAGMA foreign_key_check")
            ]
            known = facts(connection) if version else {}
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            return Check(str(place), (f"damaged: {error}",), {})
    return Check(str(place), (*problems, *_lost_rows(known.get("edition", ""), rows)), rows)


def _lost_rows(file_edition: str, rows: dict[str, int]) -> list[str]:
    """Compare with the control totals of the packaged data, where that is the file's own edition."""
    package = read_package()
    if file_edition != package.edition:
        return []
    return [
        f"{table.name} has {rows.get(table.name, 0)} rows where the data has {table.row_count}"
        for table in package.tables
        if rows.get(table.name) != table.row_count
    ]


def _count_rows(connection: sqlite3.Connection) -> dict[str, int]:
    names = connection.execute(
        "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%'"
        " ORDER BY name"
    ).fetchall()
    return {name: connection.execute(f"SELECT count(*) FROM {quote(name)}").fetchone()[0] for (name,) in names}


def _place(path: StrPath | None) -> Path:
    place = Path(path).expanduser() if path is not None else default_path()
    if place.is_dir():
        raise FileTrouble(f"{place} is a folder", expected="a file", example=str(place / "matref.db"))
    return place


def _existing(path: StrPath | None) -> Path:
    place = _place(path)
    if not place.exists():
        raise _missing(place)
    return place


def _missing(place: Path) -> FileTrouble:
    return FileTrouble(f"{place} does not exist", expected="a file that matref has made")
