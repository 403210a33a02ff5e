from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

import matref
from matref import workshop
from matref.catalogue.package import read_package
from matref.catalogue.views import VIEWS
from matref.web.shelf import ROUTE, metadata, symbol

if TYPE_CHECKING:
    from conftest import Site

PAGES = (
    "/",
    "/shelf",
    "/shelf/source",
    "/shelf/reading/jcp-o-63-75-95",
    "/shelf/material_class/copier",
    "/-/class/copier",
    "/-/pile",
    "/-/pile?size=A4&sheets=20&mass=98+g",
    "/-/samples",
    "/-/samples/new",
    "/-/samples/import",
    "/-/stock",
    "/-/stock/new",
    "/-/finished",
    "/-/finished/new",
    "/-/book",
    "/-/functions",
    "/-/find?q=linen",
    "/-/unlock",
    "/shelf?sql=select+1",
    *(f"/shelf/{view.name}" for view in VIEWS),
)


@pytest.mark.parametrize("page", PAGES)
def test_page_answers_and_asks_for_nothing_outside(site: Site, page: str) -> None:
    answer = site.get(page)
    assert answer.status_code == 200
    loaded = re.findall(r'<(?:link|script|img|iframe)[^>]*?(?:src|href)="([^"]+)"', answer.text)
    assert loaded
    assert [url for url in loaded if not url.startswith("/")] == []
    assert "<script" not in answer.text
    assert not re.search(r'\s(?:style|on\w+)="', answer.text), "the content policy forbids inline styles and scripts"
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    for url in loaded:
        assert site.get(url).status_code == 200


def test_every_listed_table_opens_and_so_does_its_first_row(site: Site) -> None:
    with matref.open(site.place) as opened:
        opened.samples.add("tide tables", grammage=80)
        opened.stock.add("cloth", "600 x 450 mm", label="sailcloth offcut")
        opened.finished.add(
            label="first tide log", sheets_per_section=4, sections=8, thread="0.5 mm", caliper_um=104, spine_mm=9
        )
    tables = re.findall(r'<a href="(/shelf/[a-z_]+)">', site.get("/shelf").text)
    assert len(tables) > 20
    for table in dict.fromkeys(tables):
        page = site.get(table)
        assert page.status_code == 200, table
        row = re.search(rf'href="({table}/[^"]+)"', page.text)
        if row:
            assert site.get(row[1]).status_code == 200, row[1]


@pytest.mark.parametrize(("table", "place"), [("sample", "samples"), ("stock", "stock"), ("finished_book", "finished")])
def test_personal_tables_lead_to_the_page_that_changes_them(site: Site, table: str, place: str) -> None:
    with matref.open(site.place) as opened:
        opened.samples.add("harbour", grammage=80)
        opened.stock.add("cloth", "600 x 450 mm", label="harbour")
        opened.finished.add(
            label="harbour", sheets_per_section=4, sections=8, thread="0.5 mm", caliper_um=104, spine_mm=9
        )
    listed = site.get(f"/shelf/{table}")
    assert f'href="/-/{place}"' in listed.text.split("<main")[1]
    row = re.search(rf'href="(/shelf/{table}/[^"]+)"', listed.text)
    assert row
    link = re.search(rf'href="(/-/{place}/[a-z0-9]+)"', site.get(row[1]).text)
    assert link
    assert "harbour" in site.get(link[1]).text


def test_every_table_of_the_data_is_described_from_the_codebook(site: Site) -> None:
    tables = site.get("/-/metadata.json").json()["databases"][ROUTE]["tables"]
    for table in read_package().tables:
        shown = tables[table.name]
        assert (shown["title"], shown["description"]) == (table.title, table.description)
        assert set(shown["columns"]) == {field.name for field in table.fields}
        for field in table.fields:
            if symbol(field.unit):
                assert symbol(field.unit) in shown["headings"][field.name]
                assert symbol(field.unit) in shown["columns"][field.name]


def test_headings_carry_units_and_rows_link_to_their_source(site: Site) -> None:
    page = site.get("/shelf/reading?_size=5").text
    assert "Grammage (g/m²)" in page
    assert "Caliper (µm)" in page
    assert re.search(r'href="/shelf/source/[^"]+">', page)
    view = site.get("/shelf/readings?_size=5").text
    link = re.search(r'href="(/shelf/source\?title=[^"]+)"', view)
    assert link
    assert "1 row" in site.get(link[1]).text


def test_licence_and_edition_are_shown(site: Site) -> None:
    with workshop.connect(site.place, read_only=True) as connection:
        edition = connection.execute("SELECT value FROM info WHERE key = 'edition'").fetchone()[0]
        described = metadata(connection)
    connection.close()
    assert described["license"] == "CC0 1.0 Universal"
    for page in ("/", "/shelf"):
        assert edition in site.get(page).text
    assert "CC0 1.0 Universal" in site.get("/shelf").text


def test_facets_and_order_work_on_every_view(site: Site) -> None:
    for view in VIEWS:
        found = site.get(f"/shelf/{view.name}.json?_size=max").json()
        described = site.get("/-/metadata.json").json()["databases"][ROUTE]["tables"][view.name]
        assert set(described.get("facets", [])) == set(found["facet_results"]), view.name
        column = found["columns"].index(described["sort"])
        values = [row[column] for row in found["rows"] if row[column] is not None]
        assert values == sorted(values), view.name


def test_class_page_tells_how_to_recognise_it_by_id_or_name(site: Site) -> None:
    by_id, by_name = site.get("/-/class/newsprint"), site.get("/-/class/Newsprint")
    assert by_id.text == by_name.text
    assert "How to recognise it" in by_id.text
    assert '<svg class="picture"' in by_id.text
    assert "no class called" in site.get("/-/class/seaweed").text
    assert site.get("/-/class/seaweed").status_code == 404


def test_backstage_tables_are_not_listed(site: Site) -> None:
    page = site.get("/shelf").text
    assert "pile_line" not in page
    assert "entry_fts" not in page
    assert "stack_reading" not in page


def test_search_finds_and_explains_an_empty_search(site: Site) -> None:
    assert "/-/class/copier" in site.get("/-/find?q=copier").text
    assert site.get("/-/find.json?q=copier").json()[0]["id"] == "copier"
    assert "0 entries" in site.get("/-/find?q=zzzzqqq").text


def test_workbenches_of_datasette_are_closed(site: Site) -> None:
    for page in ("/-/databases", "/-/databases.json", "/-/threads", "/-/patterns", "/-/messages", "/-/allow-debug"):
        assert site.get(page).status_code == 404
    assert str(site.place) not in site.get("/-/metadata.json").text


def test_a_datasette_that_others_start_gets_the_functions_and_nothing_else(site: Site) -> None:
    import asyncio

    from datasette.app import Datasette

    plain = Datasette([str(site.place)] if "?" not in str(site.place) else [], memory=True)

    async def look() -> tuple[int, str | None]:
        answer = await plain.client.get("/-/pile")
        return answer.status_code, answer.headers.get("content-security-policy")

    assert asyncio.run(look()) == (404, None)
