from __future__ import annotations

import csv
import re
from html import unescape
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import pytest

import matref
from matref.catalogue.package import data_folder
from matref.planning.schema import PLAN_TABLES
from matref.web.book_fields import BOOK_FIELDS, BOOK_GROUPS
from matref.web.plan_form import fill_plan

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
    assert f'id="error-{name.replace(".", "-")}"' in shown
    refused = site.get("/-/book.json?" + urlencode({**FIELDS, name: text}))
    assert refused.status_code == 400
    assert list(refused.json()["fields"]) == [name]


@pytest.mark.parametrize(
    ("fields", "name", "labels"),
    [
        ({"paper.stack_sheets": "100"}, "paper.stack_mm", ("Sheets in the stack", "Thickness of the stack")),
        ({"paper.mass_g": "98", "paper.size": "A4"}, "paper.sheets", ("Sheets weighed", "Their mass")),
        ({"paper.leaves": "60"}, "paper.leaves", ("Size of a leaf",)),
        ({"paper.sample": "nobody"}, "paper.sample", ()),
        ({"paper.pile": "nobody"}, "paper.pile", ()),
        ({"book.pages": "80"}, "book.sections", ("How many sections", "Or how many pages")),
        ({"cover.cloth": "moonlight", "cover.cloth_mm": ""}, "cover.cloth", ("Cloth, how thick",)),
    ],
)
def test_errors_speak_in_labels_and_never_in_keys(
    site: Site, fields: dict[str, str], name: str, labels: tuple[str, ...]
) -> None:
    asked = {k: v for k, v in {**FIELDS, **fields}.items() if v}
    text = site.get("/-/book?" + urlencode(asked)).text
    found = re.search(rf'id="error-{name.replace(".", "-")}">([^<]*)<', text)
    assert found, re.findall(r'id="error-[^"]*', text)
    said = unescape(found[1])
    assert not re.search(r"[a-z]_[a-z]|--", said), said
    for label in labels:
        assert f"“{label}”" in said
    told = site.get("/-/book.json?" + urlencode(asked)).json()["error"]
    assert "“" not in told, "a program reads the planner's own words"


def test_what_is_asked_is_worded_for_people() -> None:
    for entry in BOOK_FIELDS.values():
        for words in (entry.label, entry.hint, *(said for _, said in entry.choices)):
            assert not re.search(r"[a-z]_[a-z]|\bid\b|\bkey\b", words), entry.name
        assert len(entry.label) <= 40, entry.label
        assert entry.hint == "" or entry.hint.endswith("."), entry.hint
        assert entry.choices or entry.example or entry.kind in ("class", "pick") or not entry.wanted
    labels = [entry.label for entry in BOOK_FIELDS.values()]
    assert len(labels) == len(set(labels)), "one label, one field"


def test_units_follow_the_visitor(site: Site) -> None:
    for units in ("mm", "in"):
        text = site.get(f"/-/book?units={units}").text
        assert f'Page width <span class="unit">{units}</span>' in text
        assert 'Thickness of one sheet <span class="unit">µm</span>' in text
    # The start in inches is a book of inches, not of 100 inches.
    assert 'name="book.page_width_mm" value="4"' in text


def test_allowances_show_what_the_rules_take(site: Site) -> None:
    with (data_folder() / "rule.csv").open(encoding="utf-8", newline="") as file:
        rules = {row["id"]: row for row in csv.DictReader(file)}
    text = unescape(site.get("/-/book?units=mm").text)
    for name, rule in (("cover.square_mm", "square.common"), ("cover.turn_in_mm", "turn_in.common")):
        usual = float(rules[rule]["value"])
        assert re.search(rf'name="{name}"[^>]*placeholder="usually {usual:g}"', text), name
    inches = unescape(site.get("/-/book?units=in").text)
    square = float(rules["square.common"]["value"])
    assert f'placeholder="usually {square / 25.4:.3g}"' in inches


def test_the_paper_of_a_pile_comes_along_to_the_book(site: Site) -> None:
    weighed = {"size": "A4", "sheets": "20", "mass": "98 g", "stack_sheets": "100", "stack": "10.5 mm"}
    pile = unescape(site.get("/-/pile?" + urlencode({**weighed, "class": "copier,newsprint", "level": "0.8"})).text)
    link = re.search(r'href="(/-/book\?[^"]+)">Plan a book with this paper', pile)
    assert link
    form = site.get(link[1])
    assert form.status_code == 200
    assert "The paper is taken over" in form.text
    assert 'id="spine"' not in form.text, "nothing is planned before somebody says what book it is to be"
    for name, value in (("paper.mass_g", "98 g"), ("paper.stack_mm", "10.5 mm"), ("paper.size", "A4")):
        assert re.search(rf'name="{re.escape(name)}" value="{re.escape(value)}"', form.text)
    assert form.text.count('value="copier" selected') == 1
    assert form.text.count('value="newsprint" selected') == 1
    book = {k: v for k, v in FIELDS.items() if not k.startswith("paper.")}
    planned = site.get(link[1].replace("/-/book?", "/-/book.json?") + "&" + urlencode(book)).json()
    with matref.open(site.place) as opened:
        paper = {**weighed, "class": "copier,newsprint"}
        assert planned == opened.plan({**PLAN, "paper": paper}).as_json()


def test_a_sample_and_a_pile_on_the_shelf_can_be_chosen(site: Site) -> None:
    with matref.open(site.place) as opened:
        sample = opened.samples.add("tide tables", paper_class="copier", size="A4", sheets=20, mass="98 g")
        opened.stock.add("paper", "A4", count=60, grain="long", label="loft pile", sample=sample.id)
        cloth = opened.stock.add("cloth", "600 x 450 mm", label="sailcloth offcut")
    text = unescape(site.get("/-/book").text)
    assert re.search(rf'<option value="{sample.id}">tide tables, Copier paper, 78.6 g/m²', text)
    assert "loft pile, 60 leaves" in text
    assert cloth.id not in text, "a remnant of cloth is no paper"
    page_of_it = site.get(f"/-/samples/{sample.id}").text
    link = re.search(r'href="(/-/book\?paper.sample=[^"]+)"', page_of_it)
    assert link
    assert f'value="{sample.id}" selected' in site.get(link[1]).text
    planned = site.get("/-/book.json?" + urlencode({**FIELDS, "paper.sample": sample.id})).json()
    assert "tide tables" in planned["text_block"]["paper"]


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
    names = [f.name for group in BOOK_GROUPS for part in (group, *group.folds) for f in part.fields]
    assert sorted(names) == sorted(f"{table.path}.{key.name}" for table in PLAN_TABLES for key in table.keys)


def test_unknown_keys_are_refused_by_name(site: Site) -> None:
    assert "page_width" in site.get("/-/book.json?book.page_widht_mm=100").json()["error"]
    assert site.get("/-/book.json?bok.sections=5").status_code == 400
    assert fill_plan({"odd": ["1"]}, "mm").typed == {}


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "'; DROP TABLE sample; --", "{{ 7*7 }}", "\x00", "9" * 400, "1e400"]
)
def test_anything_in_any_field_gets_an_answer(site: Site, text: str) -> None:
    names = list(BOOK_FIELDS)
    for number, name in enumerate(
        (*names, "more", "beside.1.name", "beside.1.class", "beside.9.thread", "book.odd", "paper.")
    ):
        twin = ".json" if number % 2 else ""
        answer = site.get(f"/-/book{twin}?" + urlencode({**FIELDS, name: text}))
        assert answer.status_code in (200, 302, 400), name
        assert twin or "<script" not in answer.text
