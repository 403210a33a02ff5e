from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from matref import database
from matref.database import copy_database, one_line_errors, open_existing, publish, run_script, transaction
from matref.errors import FileTrouble


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """A database whose name needs quoting in a URI, with one table."""
    path = tmp_path / "tide tables #1 50% ä?.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("CREATE TABLE pile (sheets INTEGER CHECK (sheets > 0)) STRICT")
    return path


def count(connection: sqlite3.Connection) -> int:
    return int(connection.execute("SELECT count(*) FROM pile").fetchone()[0])


def test_an_awkward_name_opens_the_file_itself(ledger: Path) -> None:
    with closing(open_existing(ledger)) as connection:
        assert count(connection) == 0
        assert Path(database.file_of(connection)) == ledger
    assert [p.name for p in ledger.parent.iterdir()] == [ledger.name]


def test_a_missing_file_is_not_made(tmp_path: Path) -> None:
    place = tmp_path / "none.db"
    with pytest.raises(FileTrouble, match="cannot be opened"), one_line_errors(place):
        open_existing(place)
    assert not place.exists()


def test_read_only_refuses_to_write(ledger: Path) -> None:
    with closing(open_existing(ledger, read_only=True)) as connection:
        with pytest.raises(FileTrouble, match="may only be read"), transaction(connection):
            connection.execute("INSERT INTO pile VALUES (1)")
        assert count(connection) == 0


def test_transaction_keeps_all_or_nothing_with_tables(ledger: Path) -> None:
    def fail_half_way(connection: sqlite3.Connection) -> None:
        with transaction(connection):
            connection.execute("CREATE TABLE other (x INTEGER)")
            connection.execute("INSERT INTO pile VALUES (1)")
            raise ArithmeticError

    with closing(open_existing(ledger)) as connection:
        with pytest.raises(ArithmeticError):
            fail_half_way(connection)
        assert count(connection) == 0
        assert not connection.execute("SELECT * FROM sqlite_schema WHERE name = 'other'").fetchall()
        with transaction(connection):
            connection.execute("INSERT INTO pile VALUES (1)")
    with closing(open_existing(ledger)) as connection:
        assert count(connection) == 1


def test_inner_transaction_fails_alone(ledger: Path) -> None:
    with closing(open_existing(ledger)) as connection:
        with transaction(connection):
            connection.execute("INSERT INTO pile VALUES (1)")
            with pytest.raises(sqlite3.IntegrityError), transaction(connection):
                connection.executemany("INSERT INTO pile VALUES (?)", [(2,), (-1,)])
            assert connection.in_transaction
        assert [row[0] for row in connection.execute("SELECT sheets FROM pile")] == [1]


def test_a_writer_elsewhere_is_one_line(ledger: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "WAIT_SECONDS", 0.01)
    with closing(open_existing(ledger)) as first, closing(open_existing(ledger)) as second, transaction(first):
        with pytest.raises(FileTrouble, match="in use") as caught, transaction(second):
            pass
        assert "\n" not in str(caught.value)


def test_a_wrong_statement_is_not_dressed_up_as_file_trouble(ledger: Path) -> None:
    wrong = pytest.raises(sqlite3.OperationalError, match="no such table")
    with closing(open_existing(ledger)) as connection, wrong, transaction(connection):
        connection.execute("SELECT * FROM nowhere")


def test_run_script_stays_in_the_transaction(ledger: Path) -> None:
    script = "CREATE TABLE a (x TEXT DEFAULT ';');\n\nCREATE TRIGGER t AFTER INSERT ON a\nBEGIN\n"
    script += "  INSERT INTO pile VALUES (7);\nEND;\nINSERT INTO a DEFAULT VALUES;\n"
    with closing(open_existing(ledger)) as connection:
        connection.execute("BEGIN")
        run_script(connection, script)
        assert count(connection) == 1
        connection.rollback()
        assert count(connection) == 0
        with pytest.raises(ValueError, match="unfinished"):
            run_script(connection, "CREATE TABLE b (x TEXT")


def test_copy_takes_what_only_the_log_holds_and_is_one_plain_file(ledger: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.db"
    with closing(open_existing(ledger)) as connection:
        with transaction(connection):
            connection.execute("INSERT INTO pile VALUES (5)")
        assert ledger.with_name(ledger.name + "-wal").stat().st_size > 0
        copy_database(connection, target)
    with closing(sqlite3.connect(target)) as copied:
        assert count(copied) == 1
        assert copied.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([ledger.name, "copy.db"])


def test_copy_never_writes_over_a_file(ledger: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.db"
    target.write_text("mine")
    with closing(open_existing(ledger)) as connection, pytest.raises(FileTrouble, match="exists already"):
        copy_database(connection, target)
    assert target.read_text() == "mine"


@pytest.mark.parametrize("links", [True, False])
def test_publish_is_first_come_first_served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool) -> None:
    if not links:  # as on a memory stick formatted for every system

        def refuse(*_: object) -> None:
            raise PermissionError(1, "Operation not permitted")

        monkeypatch.setattr(os, "link", refuse)
    (tmp_path / "a").write_text("first")
    (tmp_path / "b").write_text("second")
    assert publish(tmp_path / "a", tmp_path / "target")
    assert not publish(tmp_path / "b", tmp_path / "target")
    assert (tmp_path / "target").read_text() == "first"
    assert not (tmp_path / "a").exists()
