from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import pytest

import matref
from matref.planning.schema import PLAN_TABLES
from matref.web.plan_form import fill_plan, shown_fields

if TYPE_CHECKING:
    from conftest import Site

FIELDS = {
    "book.structure": "soft-cover",
    "book.page_width_mm": "100",
    "book.page_height_mm": "150",
    "book.sections": "5",
    "paper.class": "bond_writing",
    "paper.grammage_gsm": "80",
    "cover.cloth_mm": "0.4",
    "cover.card_mm": "0.3",
}
PLAN: dict[str, Any] = {
    "book": {"structure": "soft-cover", "page_width_mm": 100, "page_height_mm": 150, "sections": 5},
    "paper": {"class": "bond_writing", "grammage_gsm": "80"},
    "cover": {"cloth_mm": "0.4", "card_mm": "0.3"},
}


def page(site: Site, **changes: str) -> str:
    answer = site.get("/-/book?" + urlencode({**FIELDS, **changes}))
    assert answer.status_code == 200
    return answer.text


def test_json_is_what_python_and_the_command_plan(site: Site) -> None:
    with matref.open(site.place) as opened:
        wanted = opened.plan(PLAN).as_json()
    assert site.get("/-/book.json?" + urlencode(FIELDS)).json() == wanted
    assert site.post("/-/book.json", json=PLAN).json() == wanted
    assert site.post("/-/book.json", json=FIELDS).json() == wanted


def test_page_shows_figures_parts_drawings_steps_and_cautions(site: Site) -> None:
    text = unescape(page(site))
    found = site.get("/-/book.json?" + urlencode(FIELDS)).json()
    shown = re.search(r'id="spine">([\d.]+) mm \(([\d.]+) to ([\d.]+)\)', text)
    assert shown
    spine = found["spine"]["spine_mm"]
    assert [float(n) for n in shown.groups()] == pytest.approx([spine["value"], spine["low"], spine["high"]], abs=0.06)
    for part in found["cover"]["parts"]:
        assert part["name"] in text
        assert part["allowance"][1:] in text
    assert text.count('<svg xmlns="http://www.w3.org/2000/svg"') >= 4
    assert found["cautions"]
    for caution in found["cautions"]:
        assert caution["text"] in text
    for support in found["rests_on"]:
        for source in support["sources"]:
            if source != "maker's own":
                assert f"/shelf/source/{source.replace('.', '~2E')}" in text


def test_sheet_of_work_is_a_pdf_on_either_paper(site: Site) -> None:
    for paper in ("A4", "letter"):
        answer = site.get("/-/book.pdf?" + urlencode({**FIELDS, "paper": paper}))
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")
    assert site.get("/-/book.pdf?" + urlencode({**FIELDS, "paper": "vellum"})).status_code == 400
    assert site.get("/-/book.pdf?book.structure=scroll").status_code == 400


def test_candidates_stand_side_by_side(site: Site) -> None:
    text = page(site, **{"beside.1.class": "newsprint", "beside.1.grammage_gsm": "49", "beside.2.thread": "0.9 mm"})
    assert "Side by side" in text
    assert "newsprint 49" in text
    assert "0.9 mm" in text
    with matref.open(site.place) as opened:
        thin = opened.plan({**PLAN, "paper": {"class": "newsprint", "grammage_gsm": "49"}})
    table = text[text.index("Side by side") :]
    assert f"{thin.sections.sections} of {thin.sections.sheets_per_section}" in table


def test_pieces_come_in_as_lines_of_a_plan_file(site: Site) -> None:
    lines = '[[stock.pieces]]\nmaterial = "cloth"\nname = "sailcloth offcut"\nsize = "400 x 260 mm"\n'
    assert "sailcloth offcut" in page(site, more=lines)
    assert 'role="alert"' in page(site, more="[[stock.pieces")
    assert 'role="alert"' in page(site, more="book = 3")


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("book.page_width_mm", "nine"),
        ("book.sections", "0"),
        ("book.structure", "scroll"),
        ("paper.grammage_gsm", "80 parrots"),
        ("cover.card_mm", "-1"),
        ("sewing.by", "machine-gun"),
        ("paper.leaves", "1.5"),
    ],
)
def test_errors_stand_beside_their_field(site: Site, name: str, text: str) -> None:
    shown = page(site, **{name: text})
    identity = "f-" + name.replace(".", "-")
    assert f'id="error-{identity}"' in shown
    refused = site.get("/-/book.json?" + urlencode({**FIELDS, name: text}))
    assert refused.status_code == 400
    assert list(refused.json()["fields"]) == [name]


def test_inches_apply_to_bare_lengths(site: Site) -> None:
    inches = {**FIELDS, "book.page_width_mm": "4", "book.page_height_mm": "6", "units": "in"}
    inches |= {"cover.cloth_mm": "0.4 mm", "cover.card_mm": "1/64"}
    found = site.get("/-/book.json?" + urlencode(inches)).json()
    assert found["text_block"]["page_width_mm"] == pytest.approx(101.6)
    assert found["text_block"]["page_height_mm"] == pytest.approx(152.4)


def test_empty_fields_are_left_out_of_the_address(site: Site) -> None:
    answer = site.get("/-/book?" + urlencode({**FIELDS, "paper.size": "", "sewing.thread": " "}))
    assert answer.status_code == 302
    assert answer.headers["location"] == "/-/book?" + urlencode(FIELDS)


def test_the_form_has_every_key_of_a_plan_file_once() -> None:
    names = [f.name for first, rest in shown_fields().values() for f in (*first, *rest)]
    assert sorted(names) == sorted(f"{table.path}.{key.name}" for table in PLAN_TABLES for key in table.keys)


def test_unknown_keys_are_refused_by_name(site: Site) -> None:
    assert "page_width" in site.get("/-/book.json?book.page_widht_mm=100").json()["error"]
    assert site.get("/-/book.json?bok.sections=5").status_code == 400
    assert fill_plan({"odd": ["1"]}, "mm").typed == {}


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "'; DROP TABLE sample; --", "{{ 7*7 }}", "\x00", "9" * 400, "1e400"]
)
def test_anything_in_any_field_gets_an_answer(site: Site, text: str) -> None:
    names = [f.name for first, rest in shown_fields().values() for f in (*first, *rest)]
    for number, name in enumerate(
        (*names, "more", "beside.1.name", "beside.1.class", "beside.9.thread", "book.odd", "paper.")
    ):
        twin = ".json" if number % 2 else ""
        answer = site.get(f"/-/book{twin}?" + urlencode({**FIELDS, name: text}))
        assert answer.status_code in (200, 302, 400), name
        assert twin or "<script" not in answer.text
