"""The packaged data as a whole: valid against its description, sealed, and all of it in the compiled file."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from matref.catalogue.package import data_folder, fingerprint, read_package
from matref.catalogue.views import VIEWS
from matref.own_tables import own_tables
from matref.workshop import check, connect, info

PACKAGE = read_package()
TABLES = {
    "source", "material_class", "reading", "board", "fabric", "interfacing", "fibre", "count_system", "thread",
    "needle", "sheet_size", "basis_size", "unit", "rule", "caution", "term", "usual_range",
}  # fmt: skip


def no_fit(connection: sqlite3.Connection) -> None:
    """Stand in for the estimator: these tests are about the catalogue."""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("compiled") / "workshop.db"
    connect(place, fit=no_fit).close()
    return place


@pytest.fixture
def catalogue(place: Path) -> Iterator[sqlite3.Connection]:
    with closing(connect(place, fit=no_fit)) as connection:
        yield connection


def test_every_table_is_there() -> None:
    assert {table.name for table in PACKAGE.tables} == TABLES
    files = {path.name for path in data_folder().glob("*.csv")}
    assert files == {table.path.name for table in PACKAGE.tables}


@pytest.mark.parametrize("table", PACKAGE.tables, ids=lambda table: table.name)
def test_every_table_is_sealed(table) -> None:  # type: ignore[no-untyped-def]
    assert fingerprint(table.path) == (table.bytes, table.hash), "run python -m matref.catalogue.seal"
    assert sum(1 for _ in table.rows()) == table.row_count


@pytest.mark.filterwarnings("default")
def test_the_package_is_valid_against_its_description() -> None:
    """The reference implementation of the Data Package standard reads every cell, key and hash."""
    from frictionless import validate

    report = validate(str(data_folder() / "datapackage.json"))
    assert report.valid, report.flatten(["name", "rowNumber", "fieldName", "message"])[:10]


def test_control_totals_equal_the_compiled_rows(place: Path) -> None:
    rows = info(place).rows
    assert {name: rows[name] for name in TABLES} == {table.name: table.row_count for table in PACKAGE.tables}
    assert min(table.row_count for table in PACKAGE.tables) > 5
    assert check(place).problems == ()


def test_cells_come_back_as_they_stand_in_the_files(catalogue: sqlite3.Connection) -> None:
    for table in PACKAGE.tables:
        stored = catalogue.execute(f"SELECT * FROM {table.name} ORDER BY rowid").fetchall()
        assert [dict(row) for row in stored] == list(table.rows())


def test_every_row_is_in_the_search(catalogue: sqlite3.Connection) -> None:
    kinds = dict(catalogue.execute("SELECT kind, count(*) FROM entry GROUP BY kind").fetchall())
    assert kinds == {table.name: table.row_count for table in PACKAGE.tables if table.name != "usual_range"}
    assert catalogue.execute("SELECT count(*) FROM entry WHERE trim(name) = ''").fetchone()[0] == 0


def test_every_row_names_a_source(catalogue: sqlite3.Connection) -> None:
    for name in sorted(TABLES - {"source"}):
        sql = f"SELECT count(*) FROM {name} WHERE source_id NOT IN (SELECT id FROM source)"
        assert catalogue.execute(sql).fetchone()[0] == 0
    used = " UNION ".join(f"SELECT source_id FROM {name}" for name in sorted(TABLES - {"source"}))
    idle = {row[0] for row in catalogue.execute(f"SELECT id FROM source WHERE id NOT IN ({used})")}
    assert idle <= {"common-practice", "from-memory", "own-derivation"}


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.name)
def test_views_list_every_row_of_their_table(catalogue: sqlite3.Connection, view) -> None:  # type: ignore[no-untyped-def]
    table = view.tables[0]
    condition = " WHERE family = 'paper'" if view.name == "papers" else ""
    expected = catalogue.execute(f"SELECT count(*) FROM {table}{condition}").fetchone()[0]
    assert catalogue.execute(f'SELECT count(*) FROM "{view.name}"').fetchone()[0] == expected > 0
    headings = [column[0] for column in catalogue.execute(f'SELECT * FROM "{view.name}"').description]
    assert headings == [column.heading for column in view.columns]


def test_codebook_describes_every_column(catalogue: sqlite3.Connection) -> None:
    for table in PACKAGE.tables:
        assert all(field.description and field.title for field in table.fields), table.name
    described = catalogue.execute("SELECT table_name, count(*) FROM codebook GROUP BY table_name").fetchall()
    expected = {table.name: len(table.fields) for table in PACKAGE.tables}
    expected |= {view.name: len(view.columns) for view in VIEWS}
    assert dict(described) == expected | {table.name: len(table.columns) for table in own_tables()}
    computed = catalogue.execute("SELECT column_name, description FROM codebook WHERE origin = 'computed'").fetchall()
    assert {row["column_name"] for row in computed} == {
        "bulk (cm³/g)", "readings", "grammage from (g/m²)", "grammage to (g/m²)", "bulk from (cm³/g)",
        "bulk to (cm³/g)",
    }  # fmt: skip
    assert all(row["description"] for row in computed)


def test_doubtful_readings_say_why(catalogue: sqlite3.Connection) -> None:
    silent = "SELECT count(*) FROM reading WHERE used_in_fit = 0 AND coalesce(flag, '') = ''"
    assert catalogue.execute(silent).fetchone()[0] == 0
    assert catalogue.execute("SELECT count(*) FROM reading WHERE used_in_fit = 1").fetchone()[0] > 300
