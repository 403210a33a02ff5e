from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest
from small_data import SmallData

from matref.catalogue.compile import compile_into
from matref.database import transaction
from matref.errors import FileTrouble
from matref.workshop import connect


def no_fit(connection: sqlite3.Connection) -> None:
    """Stand in for the estimator: these tests are about the catalogue."""


@pytest.fixture
def shop(small_data: SmallData) -> Iterator[sqlite3.Connection]:
    with closing(connect(small_data.folder.parent / "workshop.db", fit=no_fit)) as connection:
        yield connection


def search(connection: sqlite3.Connection, query: str) -> list[tuple[str, str]]:
    rows = connection.execute(
        "SELECT e.kind, e.entry_id FROM entry_fts JOIN entry AS e ON e.id = entry_fts.rowid"
        " WHERE entry_fts MATCH ? ORDER BY e.id",
        (query,),
    )
    return [tuple(row) for row in rows]


def insert_reading(connection: sqlite3.Connection, **cells: object) -> None:
    row = {
        "id": "new", "class_id": "chart_paper", "grammage_gsm": 80.0, "caliper_um": 100.0, "used_in_fit": 1,
        "source_id": "chandler-ledger", **cells,
    }  # fmt: skip
    marks = ", ".join("?" * len(row))
    with transaction(connection):
        connection.execute(f"INSERT INTO reading ({', '.join(row)}) VALUES ({marks})", [*row.values()])


@pytest.mark.parametrize(
    ("cells", "wrong"),
    [
        ({"caliper_um": 0.0}, "caliper_um is positive"),
        ({"grammage_gsm": -80.0}, "density"),
        ({"caliper_um": 49.0}, "density"),  # 1.63 g/cm3: denser than cellulose
        ({"caliper_um": 3000.0}, "density"),  # 0.027: looser than wadding
        ({"caliper_um": 900.0}, "density of 0.1 to 1.6"),  # 0.089: no paper, though a felt
        ({"class_id": "ebony"}, "FOREIGN KEY"),
        ({"source_id": "hearsay"}, "FOREIGN KEY"),
        ({"source_id": None}, "NOT NULL"),
        ({"id": "chart-80"}, "UNIQUE"),
        ({"used_in_fit": 2}, "used_in_fit is 0 or 1"),
        ({"caliper_um": "thick"}, "cannot store TEXT"),
    ],
)
def test_nonsense_is_refused(shop: sqlite3.Connection, cells: dict[str, object], wrong: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match=wrong):
        insert_reading(shop, **cells)


def test_what_looks_odd_but_exists_is_taken(shop: sqlite3.Connection) -> None:
    insert_reading(shop, id="felt", class_id="sailcloth", caliper_um=900.0)
    insert_reading(shop, id="web", caliper_um=900.0, used_in_fit=0, flag="an open web of fibres")
    with pytest.raises(sqlite3.IntegrityError, match="density"):
        shop.execute("UPDATE reading SET used_in_fit = 1 WHERE id = 'web'")


def test_every_row_is_found_by_name_synonym_description_and_without_accents(shop: sqlite3.Connection) -> None:
    assert ("material_class", "chart_paper") in search(shop, "name:chart")
    assert search(shop, "creme") == [("material_class", "chart_paper")]
    assert search(shop, "sound*") == [("material_class", "chart_paper")]
    assert search(shop, "almanac") == []
    assert ("reading", "chart-100") in search(shop, '"chart paper 100"')
    kinds = dict(shop.execute("SELECT kind, count(*) FROM entry GROUP BY kind").fetchall())
    assert kinds == {"source": 1, "material_class": 2, "reading": 3}
    words = {row[0] for row in shop.execute("SELECT term FROM entry_vocab")}
    assert {"sailcloth", "creme"} <= words


def test_codebook_explains_every_column_of_tables_and_views(shop: sqlite3.Connection) -> None:
    described = {tuple(row) for row in shop.execute("SELECT table_name, column_name FROM codebook")}
    for name in ("source", "material_class", "reading", "readings", "papers"):
        columns = [row["name"] for row in shop.execute("SELECT name FROM pragma_table_info(?)", (name,))]
        assert {(name, column) for column in columns} <= described
    bulk = shop.execute("SELECT * FROM codebook WHERE column_name = 'bulk (cm³/g)'").fetchone()
    assert (bulk["origin"], bulk["unit"]) == ("computed", "cm³/g")
    stored = shop.execute(
        "SELECT unit, origin FROM codebook WHERE table_name = 'reading' AND column_name = 'grammage_gsm'"
    ).fetchone()
    assert tuple(stored) == ("g/m2", "stored")


def test_views_show_names_units_and_computed_bulk(shop: sqlite3.Connection) -> None:
    row = dict(shop.execute("SELECT * FROM readings").fetchone())
    assert row["class"] == "chart paper"
    assert row["bulk (cm³/g)"] == 1.25  # 100 um over 80 g/m2, ISO 534: thickness over grammage
    assert row["source"] == "A ship chandler's invented ledger"
    papers = [dict(row) for row in shop.execute("SELECT * FROM papers")]
    assert [paper["name"] for paper in papers] == ["chart paper"]
    assert (papers[0]["readings"], papers[0]["grammage to (g/m²)"]) == (3, 120.0)


def test_a_table_dropped_from_the_data_goes(shop: sqlite3.Connection, small_data: SmallData) -> None:
    descriptor = small_data.descriptor()
    descriptor["resources"] = descriptor["resources"][:2]
    small_data.describe(descriptor)
    with transaction(shop):
        compile_into(shop, fit=no_fit)
    names = {row[0] for row in shop.execute("SELECT name FROM sqlite_schema")}
    assert names.isdisjoint({"reading", "readings", "papers", "reading_density_insert"})
    assert {"source", "material_class", "setting", "info"} <= names
    listed = json.loads(shop.execute("SELECT value FROM info WHERE key = 'catalogue_objects'").fetchone()[0])
    assert {name for _, name in listed} <= names


def test_what_a_user_made_stays(shop: sqlite3.Connection) -> None:
    shop.execute("CREATE TABLE my_piles (class_id TEXT, sheets INTEGER)")
    shop.execute("INSERT INTO my_piles VALUES ('chart_paper', 40)")
    shop.execute("CREATE VIEW my_view AS SELECT name FROM my_piles JOIN material_class ON id = class_id")
    shop.commit()
    with transaction(shop):
        compile_into(shop, fit=no_fit)
    assert [tuple(row) for row in shop.execute("SELECT * FROM my_view")] == [("chart paper",)]


@pytest.mark.parametrize(
    ("table", "cells", "wrong"),
    [
        ("reading", {"id": "bad", "caliper_um": "10"}, "data file reading.csv, row bad: CHECK .*density"),
        ("reading", {"id": "bad", "source_id": "hearsay"}, "data table reading: source_id 'hearsay' is not in source"),
        ("reading", {"id": "chart-80"}, "data file reading.csv, row chart-80: UNIQUE"),
        ("material_class", {"id": "x", "name": "x", "family": "wood"}, "row x: CHECK .*family"),
    ],
)  # fmt: skip
def test_bad_data_is_named_and_the_catalogue_stays(
    shop: sqlite3.Connection, small_data: SmallData, table: str, cells: dict[str, str], wrong: str
) -> None:
    whole = {"class_id": "chart_paper", "grammage_gsm": "80", "caliper_um": "100"} if table == "reading" else {}
    small_data.add(table, **{"source_id": "chandler-ledger", **whole, **cells})
    with pytest.raises(FileTrouble, match=wrong), transaction(shop):
        compile_into(shop, fit=no_fit)
    assert shop.execute("SELECT count(*) FROM reading").fetchone()[0] == 3
    assert search(shop, "creme") == [("material_class", "chart_paper")]


def test_data_that_was_not_sealed_is_refused(shop: sqlite3.Connection, small_data: SmallData) -> None:
    small_data.write("source", [{"id": "other", "title": "Other"}])
    with pytest.raises(FileTrouble, match="differs"), transaction(shop):
        compile_into(shop, fit=no_fit)
