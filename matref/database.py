"""SQLite under the workshop: opening a file, transactions, and errors in one plain line.

Nothing here knows what the tables mean.
"""

from __future__ import annotations

import os
import re
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from matref.errors import FileTrouble

WAIT_SECONDS = 10.0
"""How long a connection waits for another one that is writing."""

_WAY_BACK = "if it held samples, open a backup with --db, or save what can be read: matref check --salvage NEW.db"

_ROOM, _LOCK, _NEW_SECONDS = ".matref-", "lock", 60.0
_ROOM_NAME = re.compile(r"\.matref-[a-z0-9_]{8}")
_IN_ROOM = re.compile(r"lock|part(\.layout-\d+(-\d+)?)?\.(db|csv)(-wal|-shm|-journal)?")

_CAUSES = {
    "SQLITE_NOTADB": ("is not a matref file", f"a file made by matref, or a new name; {_WAY_BACK}"),
    "SQLITE_CORRUPT": ("is damaged or cut short", f"a whole file; {_WAY_BACK}"),
    "SQLITE_CANTOPEN": ("cannot be opened", "a readable file in a folder that may be written to"),
    "SQLITE_READONLY": (
        "may only be read",
        "a file and folder with leave to write; matref backup FILE makes a copy elsewhere",
    ),
    "SQLITE_PERM": ("cannot be opened", "a file with leave to read"),
    "SQLITE_BUSY": ("is in use by another program", "a moment's patience; try again when that one is done"),
    "SQLITE_LOCKED": ("is in use by another program", "a moment's patience; try again when that one is done"),
    "SQLITE_FULL": ("does not fit on the disk", "some free space; what was kept before is still there"),
    "SQLITE_IOERR": (
        "cannot be read or written by this disk",
        "a disk that works and has space; matref backup FILE makes a copy elsewhere",
    ),
}


@contextmanager
def one_line_errors(path: Path | str) -> Iterator[None]:
    """Turn the errors that SQLite or the system raise about the file at `path` into a FileTrouble.

    Errors that are not about the file (a wrong statement, a refused value) pass through.
    """
    try:
        yield
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", "")
        for code, (wrong, expected) in _CAUSES.items():
            if name == code or name.startswith(code + "_"):
                raise FileTrouble(f"{path} {wrong}", expected=expected) from error
        raise
    except UnicodeDecodeError as error:  # SQLite's own complaint of a damaged schema, quoting what is no text
        wrong, expected = _CAUSES["SQLITE_CORRUPT"]
        raise FileTrouble(f"{path} {wrong}", expected=expected) from error
    except OSError as error:
        raise FileTrouble(f"{error.filename or path}: {error.strerror or error}") from error


def open_existing(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """Open the file at `path`, which must exist; rows come as `sqlite3.Row`, foreign keys are enforced.

    Where the file or its folder may not be written to, it is opened for reading alone. A statement that
    writes starts a transaction by itself (BEGIN IMMEDIATE); see `transaction`.
    """
    uri = path.absolute().as_uri()
    if is_writable(path):
        connection = _open(uri + "?mode=rw")
        try:
            if read_only:
                connection.execute("PRAGMA query_only = ON")
            _touch(connection)
        except BaseException:
            connection.close()
            raise
        return connection
    connection = _open(uri + "?mode=ro")
    try:
        _touch(connection)
    except sqlite3.OperationalError:
        # A write-ahead file cannot be made here. With none left over, the main file holds everything.
        connection.close()
        left_over = path.with_name(path.name + "-wal")
        if left_over.exists() and left_over.stat().st_size:
            raise
        connection = _open(uri + "?mode=ro&immutable=1")
        _touch(connection)
    return connection


def open_memory() -> sqlite3.Connection:
    """Open a file that lives in memory, set up like any other."""
    return _open("file::memory:")


def is_writable(path: Path) -> bool:
    """Tell whether the file and its folder may be written to (SQLite needs both)."""
    return os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK)


def _open(uri: str) -> sqlite3.Connection:
    connection = sqlite3.connect(uri, uri=True, timeout=WAIT_SECONDS, isolation_level="IMMEDIATE")
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def _touch(connection: sqlite3.Connection) -> None:
    connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """Do all of the block or none of it, tables made and dropped included; inside another one, a savepoint.

    >>> connection = sqlite3.connect(":memory:", isolation_level="IMMEDIATE")
    >>> with transaction(connection):
    ...     _ = connection.execute("CREATE TABLE pile (sheets INTEGER)")
    >>> connection.execute("SELECT count(*) FROM pile").fetchone()
    (0,)
    """
    nested = connection.in_transaction
    with one_line_errors(file_of(connection)):
        connection.execute("SAVEPOINT part" if nested else "BEGIN IMMEDIATE")
        try:
            yield connection
            connection.execute("RELEASE part" if nested else "COMMIT")
        except BaseException:
            if connection.in_transaction:  # a full disk, for one, has already rolled back
                connection.execute("ROLLBACK TO part" if nested else "ROLLBACK")
            if nested and connection.in_transaction:
                connection.execute("RELEASE part")
            raise


def file_of(connection: sqlite3.Connection) -> str:
    """Return the path of the connection's main file ('' for one in memory)."""
    return str(connection.execute("PRAGMA database_list").fetchone()[2])


def run_script(connection: sqlite3.Connection, script: str) -> None:
    """Run statements one by one inside the current transaction (`executescript` would end it)."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""
    if statement.strip():
        raise ValueError(f"unfinished statement: {statement.strip()}")


def copy_database(source: sqlite3.Connection, target: Path) -> None:
    """Copy the connection's file as of one moment, while others may write; the copy appears whole or not at all.

    The copy is a single file without write-ahead log, so that it opens on read-only media too. An existing
    `target` is never written over.
    """
    if target.exists():
        raise taken(target)
    with one_line_errors(target), workroom(target) as room:
        part = room / "part.db"
        with closing(sqlite3.connect(part)) as sink:
            source.backup(sink)
            sink.execute("PRAGMA journal_mode = DELETE")
        if not publish(part, target):
            raise taken(target)


def taken(target: Path) -> FileTrouble:
    """Return the error for a name that another file has."""
    return FileTrouble(f"{target} exists already", expected="a new name; nothing is written over")


@contextmanager
def workroom(target: Path) -> Iterator[Path]:
    """Give a folder beside `target` to build it in, and clear it away whatever happens.

    A process that is killed cannot clear away: its room goes when the next room is made there (`sweep`).
    """
    from tempfile import TemporaryDirectory

    folder = target.absolute().parent
    try:
        sweep(folder)
        room = TemporaryDirectory(dir=folder, prefix=_ROOM, ignore_cleanup_errors=True)
    except OSError as error:
        wrong = f"{target} cannot be made: {error.strerror or error}"
        raise FileTrouble(wrong, expected="an existing folder with leave to write") from error
    with room as name, closing(_occupy(Path(name) / _LOCK, "rwc")):
        yield Path(name)


def sweep(folder: Path) -> None:
    """Clear away the rooms in `folder` that killed processes have left: nobody holds their lock, and they are not new.

    Nothing but files that a room has is ever deleted.
    """
    try:
        with os.scandir(folder) as entries:
            rooms = [Path(entry) for entry in entries if _ROOM_NAME.fullmatch(entry.name)]
    except OSError:
        return
    for room in rooms:
        with suppress(OSError, sqlite3.OperationalError):
            if time.time() - room.stat().st_mtime < _NEW_SECONDS:
                continue  # it may be about to be locked
            files = list(room.iterdir())
            if all(_IN_ROOM.fullmatch(file.name) for file in files):
                if (room / _LOCK).exists():
                    _occupy(room / _LOCK, "rw").close()
                for file in files:
                    file.unlink(missing_ok=True)
                room.rmdir()


def _occupy(lock: Path, mode: str) -> sqlite3.Connection:
    """Hold a lock that every system knows and that ends with the process; OperationalError where it is held."""
    connection = sqlite3.connect(f"{lock.as_uri()}?mode={mode}", uri=True, timeout=0, isolation_level=None)
    try:
        connection.execute("PRAGMA journal_mode = MEMORY")
        connection.execute("BEGIN EXCLUSIVE")
    except BaseException:
        connection.close()
        raise
    return connection


def quote(name: str) -> str:
    """Return a name quoted for SQL.

    >>> print(quote("bulk (cm³/g)"))
    "bulk (cm³/g)"
    """
    return '"' + name.replace('"', '""') + '"'


def publish(temporary: Path, target: Path) -> bool:
    """Give a finished file its name in one step, never over another file; False where the name is taken."""
    try:
        os.link(temporary, target)
    except FileExistsError:
        return False
    except OSError:
        if not _publish_without_links(temporary, target):
            return False
    else:
        temporary.unlink()
    _keep_name(target)
    return True


def _publish_without_links(temporary: Path, target: Path) -> bool:
    # Memory sticks often know no hard links: claim the name with an empty file, then replace that.
    try:
        target.open("xb").close()
    except FileExistsError:
        return False
    os.replace(temporary, target)
    return True


def _keep_name(target: Path) -> None:
    """Have the disk keep the new name too, so that a power cut does not take it back."""
    with suppress(OSError):  # Windows opens no folders, and keeps names by itself
        folder = os.open(target.absolute().parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
