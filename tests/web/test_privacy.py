from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import matref
from matref import workshop
from matref.web.privacy import hidden_columns, personal_tables

if TYPE_CHECKING:
    from conftest import Site

NOTE = "found behind the compass locker"


@pytest.fixture
def noted(place: Path) -> str:
    with matref.open(place) as opened:
        return opened.samples.add("chart paper", NOTE, size="A4", sheets=20, mass="98 g", paper_class="copier").id


def paths(sample_id: str) -> list[str]:
    return [
        "/",
        "/shelf/sample",
        "/shelf/sample.json",
        "/shelf/sample.csv",
        "/shelf/sample.json?_shape=objects&_facet=note",
        "/shelf/sample?note__contains=compass",
        f"/shelf/sample/{sample_id}",
        f"/shelf/sample/{sample_id}.json",
        "/shelf.json?sql=select+note+from+sample",
        "/shelf.json?sql=select+*+from+sample+where+note+like+'%25compass%25'",
        "/shelf.json?sql=with+x+as+(select+note+as+n+from+sample)+select+upper(n)+from+x",
        "/shelf.json?sql=select+json_group_array(note)+from+sample",
        "/shelf/sample_history.json",
        "/-/samples/export.csv",
    ]


def test_notes_stay_hidden_in_every_table_query_and_export(site: Site, noted: str) -> None:
    for path in paths(noted):
        assert NOTE not in site.get(path).text, path
    assert site.get("/shelf/sample.json?note__contains=compass&_shape=array").json() == []
    assert site.get("/shelf/sample.json?_shape=array").json()[0]["label"] == "chart paper"


def test_notes_are_shown_to_who_asks_at_the_start_or_may_write(
    visit: Callable[..., Site], site: Site, remote: Site, noted: str
) -> None:
    asked = visit(notes=True)
    assert NOTE in asked.get("/shelf/sample.json").text
    assert NOTE in site.get(f"/-/samples/{noted}").text
    assert NOTE in site.get("/-/samples/export.csv?notes=1").text
    for path in (f"/-/samples/{noted}", f"/-/samples/{noted}.json", "/-/samples.json", "/-/samples/export.csv?notes=1"):
        assert remote.get(path).status_code == 200
        assert NOTE not in remote.get(path).text


def test_prices_are_hidden_too(site: Site, place: Path) -> None:
    with matref.open(place) as opened:
        opened.stock.add("cloth", "600 x 450 mm", price=12.75, note=NOTE)
    row = site.get("/shelf/stock.json?_shape=array").json()[0]
    assert row["price"] is None
    assert row["note"] is None
    assert row["material"] == "cloth"


def test_plans_of_finished_books_are_hidden_and_their_column_keeps_its_name(
    visit: Callable[..., Site], site: Site, place: Path
) -> None:
    # "plan" is a word of SQL's own, which Datasette quotes; what the authorizer hides, SQLite names after the quotes.
    with matref.open(place) as opened:
        opened.finished.add(
            label="first tide log",
            note=NOTE,
            sheets_per_section=4,
            sections=8,
            thread="0.5 mm",
            caliper_um=104,
            spine_mm=9,
            plan={"book": {"title": "kept at home"}},
        )
    for path in ("/shelf/finished_book", "/shelf/finished_book.json?_shape=array", "/shelf/finished_book.csv"):
        seen = site.get(path)
        assert seen.status_code == 200
        assert "first tide log" in seen.text
        assert NOTE not in seen.text
        assert "kept at home" not in seen.text
    (row,) = site.get("/shelf/finished_book.json?_shape=array").json()
    assert row["plan"] is None
    assert "kept at home" in visit(notes=True).get("/shelf/finished_book.json").text


def test_which_tables_are_personal_follows_from_the_file(place: Path) -> None:
    with closing(workshop.connect(place)) as connection:
        tables = personal_tables(connection)
        hidden = hidden_columns(connection)
    assert {"sample", "stock", "finished_book"} <= set(tables)
    assert not {"reading", "term", "source", "codebook"} & set(tables)
    assert {("sample", "note"), ("stock", "price"), ("stock", "note"), ("finished_book", "note")} <= hidden
    assert not any(table == "material_class" for table, _ in hidden)


def test_the_file_itself_cannot_be_taken(site: Site, remote: Site) -> None:
    for visitor in (site, remote):
        assert visitor.get("/shelf.db").status_code == 403


@pytest.mark.parametrize(
    "sql",
    [
        "insert into sample (id) values ('aaaa')",
        "delete from reading",
        "drop table reading",
        "pragma writable_schema = 1",
        "attach database '/etc/hostname' as other",
        "vacuum into '/tmp/matref-copy.db'",
        "select load_extension('x')",
        "select 1; delete from reading",
        "with x as (select 1) delete from reading",
        "select * from nowhere",
        "select",
    ],
)
def test_sql_only_reads(site: Site, sql: str) -> None:
    before = site.get("/shelf.json?sql=select+count(*)+from+reading&_shape=array").json()
    for path in ("/shelf", "/shelf.json"):
        assert site.get(path, params={"sql": sql}).status_code == 400, path
    table = site.get("/shelf.csv", params={"sql": sql})
    assert table.status_code == 400 or len(table.text.splitlines()) <= 1
    assert site.get("/shelf.json?sql=select+count(*)+from+reading&_shape=array").json() == before


def test_sql_is_stopped_after_its_time(site: Site) -> None:
    endless = "with recursive n(i) as (select 1 union all select i + 1 from n) select count(*) from n"
    answer = site.get("/shelf", params={"sql": endless})
    assert answer.status_code == 400
    assert "took too long" in answer.text
    assert "<script" not in answer.text
