"""Files of every layout there has been open, are upgraded in one step after a copy, and keep every personal value."""

from __future__ import annotations

import gzip
import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from command_line import Run, refused
from durability.make_fixtures import FIXTURES
from durability.soundness import PERSONAL

import matref
from matref import upgrade, workshop
from matref.migrations import MIGRATIONS
from matref.salvage import salvage

LAYOUTS = range(1, len(MIGRATIONS) + 1)


def unpack(layout: int, folder: Path) -> Path:
    place = folder / f"kept since {layout}.db"
    place.write_bytes(gzip.decompress((FIXTURES / f"layout-{layout}.db.gz").read_bytes()))
    return place


ENTERED = ("id", "label", "pile_id", "note", "measured_on", "added_at", "changed_at", "withdrawn_at", "as_typed")
"""What of a sample a person entered; the rest is read out of it anew with each edition of the rules."""


def personal(place: Path, all_columns: bool = False) -> dict[str, list[dict[str, object]]]:
    """Return every personal row by column name; numbers with all their digits."""
    with closing(sqlite3.connect(place)) as connection:
        connection.row_factory = sqlite3.Row
        there = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        return {
            table: [
                {
                    name: repr(row[name])
                    for name in row.keys()  # noqa: SIM118
                    if all_columns or table != "sample" or name in ENTERED
                }
                for row in connection.execute(f"SELECT * FROM {table} ORDER BY 1")
            ]
            for table in PERSONAL
            if table in there
        }


def layout_of(connection: sqlite3.Connection) -> list[tuple[str, str, str]]:
    """Return what the personal part is made of: every table, column, index, trigger and view."""
    return connection.execute(
        """SELECT type, name, coalesce(sql, '') FROM sqlite_schema
           WHERE tbl_name IN ('info', 'setting', 'sample', 'sample_history', 'pile_line', 'sample_total',
                              'finished_book',
                              'held_both_ways', 'stack_reading', 'stock') ORDER BY type, name"""
    ).fetchall()


def test_every_layout_has_its_file() -> None:
    """A new step of `MIGRATIONS` needs `python -m durability.make_fixtures`; the older files stay as they are."""
    assert {path.name for path in FIXTURES.iterdir()} == {f"layout-{layout}.db.gz" for layout in LAYOUTS}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_an_older_file_keeps_every_value(layout: int, tmp_path: Path, compiled: Path) -> None:
    place = unpack(layout, tmp_path)
    before, whole = personal(place), personal(place, all_columns=True)
    with matref.open(place) as shop:
        assert shop.connection.execute("PRAGMA user_version").fetchone()[0] == len(MIGRATIONS)
        with closing(sqlite3.connect(compiled)) as fresh:
            assert [tuple(row) for row in layout_of(shop.connection)] == layout_of(fresh)
        assert len(shop.samples.list(withdrawn=True)) == len(before.get("sample", []))
    after = personal(place)
    for table, lines in before.items():
        assert [{name: now[name] for name in then} for then, now in zip(lines, after[table], strict=True)] == lines
    assert workshop.check(place).ok
    copies = [p for p in tmp_path.iterdir() if p != place and p.suffix == ".db"]
    assert [p.name for p in copies] == ([f"kept since {layout}.layout-{layout}.db"] if layout < len(MIGRATIONS) else [])
    for copy in copies:
        assert personal(copy, all_columns=True) == whole
    matref.open(place).close()  # once is enough
    assert personal(place) == after


@pytest.mark.parametrize("layout", LAYOUTS)
def test_an_older_damaged_file_can_be_saved_too(layout: int, tmp_path: Path) -> None:
    place, target = unpack(layout, tmp_path), tmp_path / "saved.db"
    before = personal(place)
    saved = salvage(place, target)
    assert saved.layout == layout
    assert (saved.pages_unreadable, saved.rows_unreadable, saved.rows_from_loose_pages) == (0, 0, 0)
    after = personal(target)
    for table, lines in before.items():
        assert [{name: now[name] for name in then} for then, now in zip(lines, after[table], strict=True)] == lines


@pytest.mark.parametrize("layout", LAYOUTS[:-1])
def test_a_broken_upgrade_leaves_the_file_byte_for_byte(
    layout: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = unpack(layout, tmp_path)
    before = hashlib.sha256(place.read_bytes()).hexdigest()

    def broken(connection: sqlite3.Connection) -> None:
        connection.execute("DELETE FROM setting")
        raise ArithmeticError("half way")

    monkeypatch.setattr(upgrade, "MIGRATIONS", (*MIGRATIONS[:-1], broken))
    with pytest.raises(ArithmeticError):
        matref.open(place)
    assert hashlib.sha256(place.read_bytes()).hexdigest() == before
    monkeypatch.undo()
    matref.open(place).close()


def test_an_older_matref_refuses_a_newer_file(
    run: Run, tmp_path: Path, compiled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "newer.db"
    place.write_bytes(compiled.read_bytes())
    monkeypatch.setattr(upgrade, "MIGRATIONS", MIGRATIONS[:-1])
    for words in (("sample", "list"), ("sample", "add", "--grammage", "80"), ("check",), ("info",), ("find", "linen")):
        refused(run("--db", str(place), *words), f"newer matref (layout {len(MIGRATIONS)}", "brought up to date")
    assert place.read_bytes() == compiled.read_bytes()
