"""Every table of a workshop file is described somewhere, column by column, with the unit that its name says."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest

from matref.catalogue.package import data_folder, read_package
from matref.catalogue.views import VIEWS
from matref.own_tables import OwnTable, own_tables
from matref.workshop import in_memory

OWN = own_tables()
SEARCH = {"codebook", "entry", "entry_vocab"}
"""What search and the code-book itself are made of; the rest of the index is SQLite's own (entry_fts_…)."""
UNITS = {"mm": "mm", "um": "um", "g": "g", "gsm": "g/m2"}


@pytest.fixture(scope="module")
def file() -> Iterator[sqlite3.Connection]:
    with closing(in_memory()) as connection:
        yield connection


def test_no_table_or_view_is_left_undescribed(file: sqlite3.Connection) -> None:
    names = {
        name
        for (name,) in file.execute("SELECT name FROM sqlite_schema WHERE type IN ('table', 'view')")
        if not name.startswith(("sqlite_", "entry_fts"))
    }
    described = {table.name for table in (*read_package().tables, *VIEWS, *OWN)}
    assert names == described | SEARCH


@pytest.mark.parametrize("table", OWN, ids=lambda table: table.name)
def test_every_column_is_described_in_the_order_of_the_file(file: sqlite3.Connection, table: OwnTable) -> None:
    columns = file.execute(f'PRAGMA table_info("{table.name}")').fetchall()
    assert [column.name for column in table.columns] == [column["name"] for column in columns]
    assert table.meaning.endswith(".")
    for column in table.columns:
        assert len(column.meaning) > 8, column
        assert column.meaning.endswith("."), column
        suffix = column.name.rpartition("_")[2]
        if suffix in UNITS and "_" in column.name:
            assert column.unit == UNITS[suffix], column


@pytest.mark.parametrize("table", OWN, ids=lambda table: table.name)
def test_the_codebook_in_the_file_says_the_same(file: sqlite3.Connection, table: OwnTable) -> None:
    rows = file.execute(
        "SELECT column_name, type, unit, description FROM codebook WHERE table_name = ? ORDER BY position",
        (table.name,),
    ).fetchall()
    assert [tuple(row) for row in rows] == [(c.name, c.type, c.unit, c.meaning) for c in table.columns]


@pytest.mark.parametrize("table", OWN, ids=lambda table: table.name)
def test_the_dictionary_lists_it(table: OwnTable) -> None:
    text = (data_folder() / "DICTIONARY.md").read_text(encoding="utf-8").split("\n## Your own tables\n")[1]
    section = text.split(f"\n### {table.name}\n")[1].split("\n### ")[0].split("\n## ")[0]
    rows = [line.strip("| ").split(" | ") for line in section.splitlines() if line.startswith("| `")]
    assert [row[0].strip("`") for row in rows] == [column.name for column in table.columns]
    assert [row[2].strip() for row in rows] == [column.unit for column in table.columns]
    if not table.personal:
        assert f"\n### {table.name}\n" in text.split("\n## The fitted model\n")[1]


def test_what_is_never_empty_is_refused_when_left_out(file: sqlite3.Connection) -> None:
    """SQLite itself is the judge: a row cannot be written without a required column, and can without the others."""
    stock = next(table for table in OWN if table.name == "stock")
    whole = {
        "id": "loft", "material": "paper", "width_mm": 210.0, "height_mm": 297.0, "count": 60, "grain": "long",
        "added_at": "2024-01-01",
    }  # fmt: skip
    assert {column.name for column in stock.columns if column.required} == set(whole)
    for left_out in (None, *whole):
        row = {name: value for name, value in whole.items() if name != left_out}
        marks = ", ".join("?" * len(row))
        statement = f"INSERT INTO stock ({', '.join(row)}) VALUES ({marks})"
        file.execute("SAVEPOINT trial")
        if left_out is None:
            file.execute(statement, tuple(row.values()))
        else:
            with pytest.raises(sqlite3.IntegrityError, match=left_out):
                file.execute(statement, tuple(row.values()))
        file.execute("ROLLBACK TO trial")
