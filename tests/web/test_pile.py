from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import pytest

import matref
from matref.errors import BadInput
from matref.web.fields import FIELDS, SAMPLE_FORM, field_name, fill, in_words

if TYPE_CHECKING:
    from conftest import Site

WEIGHED = {"size": "A4", "sheets": "20", "mass": "98 g"}
STACKED = {**WEIGHED, "stack_sheets": "100", "stack": "10.5 mm"}


def page(site: Site, fields: dict[str, str]) -> str:
    return site.get("/-/pile?" + urlencode(fields)).text


def answer(site: Site, fields: dict[str, str]) -> dict[str, Any]:
    found = site.get("/-/pile.json?" + urlencode(fields))
    assert found.status_code == 200, found.text
    body: dict[str, Any] = found.json()
    return body


def beside(text: str, name: str) -> str:
    found = re.search(rf'id="error-{name}">([^<]*)<', text)
    return found[1] if found else ""


@pytest.mark.parametrize(
    "fields",
    [
        WEIGHED,
        STACKED,
        {"class": "copier", "grammage": "80"},
        {"class": "copier,newsprint", "grammage": "20 lb bond", "level": "0.8"},
        {"stack_sheets": "1", "stack": "0.104 mm", "with": "micrometer"},
        {"book_pages": "240", "book_thickness": "14 mm", "cover": "off"},
    ],
)
def test_json_is_what_python_and_the_command_answer(site: Site, fields: dict[str, str]) -> None:
    given = {{"class": "paper_class", "with": "with_"}.get(k, k): v for k, v in fields.items() if k != "level"}
    with matref.open(site.place) as opened:
        wanted = opened.caliper(level=float(fields.get("level", 0.9)), **given).as_json()  # type: ignore[arg-type]
    assert answer(site, fields) == wanted
    assert site.post("/-/pile.json", json=fields, headers={"cookie": ""}).json() == wanted


def test_page_shows_number_range_classes_cause_advice_and_sources(site: Site) -> None:
    text = page(site, STACKED)
    found = answer(site, STACKED)
    number = re.search(r'id="caliper">(\d+) µm \((\d+) to (\d+)\)', text)
    assert number
    shown = tuple(int(n) for n in number.groups())
    wanted = (found["caliper_um"]["value"], found["caliper_um"]["low"], found["caliper_um"]["high"])
    assert shown == pytest.approx(wanted, abs=0.51)
    for share in found["classes"]:
        assert f'/-/class/{share["class"]}"' in text
    assert found["advice"][0]["measure"][1:] in text
    assert found["why"][0]["cause"][1:] in text
    for support in found["rests_on"]:
        for source in support["sources"]:
            assert f"/shelf/source/{source.replace('.', '~2E')}" in text
    assert text.count('<svg class="picture"') == 1


def test_the_address_is_the_answer_and_input_is_kept(site: Site) -> None:
    text = page(site, STACKED)
    for name, value in STACKED.items():
        assert re.search(rf'name="{name}" value="{re.escape(value)}"', text)
    link = re.search(r'href="(/-/pile\?[^"]+)">Link to this answer', text)
    assert link
    assert "10.5" in link[1]


@pytest.mark.parametrize(
    ("typed", "mm"),
    [("10,5 mm", "10.5"), ("1.05 cm", "10.5"), ("3/8 in", "9.525"), ("0.375 in", "9.525"), ("10.5", "10.5")],
)
def test_people_s_spellings(site: Site, typed: str, mm: str) -> None:
    found = answer(site, {"stack_sheets": "100", "stack": typed})
    wanted = answer(site, {"stack_sheets": "100", "stack": f"{mm} mm"})
    # The written step differs (an eighth of an inch, a millimetre), so only the middle is compared.
    assert found["caliper_um"]["value"] == pytest.approx(wanted["caliper_um"]["value"], rel=0.03)


def test_pounds_are_read_as_basis_weight(site: Site) -> None:
    # GNU units, database: 20 lb bond, 500 sheets of 17 x 22 in, is 75.19 g/m2.
    found = answer(site, {"class": "bond_writing", "grammage": "20 lb bond"})
    assert found["grammage_gsm"]["value"] == pytest.approx(75.19, rel=0.01)


def test_inches_are_remembered_and_apply_to_bare_lengths(site: Site) -> None:
    fields = {"stack_sheets": "100", "stack": "7/16", "units": "in"}
    inches = page(site, fields)
    assert "thousandths of an inch" in inches
    assert site.client.cookies.get("matref_units") == "in"
    assert "thousandths" in page(site, {"stack_sheets": "100", "stack": "7/16"})
    in_mm = answer(site, {"stack_sheets": "100", "stack": "7/16 in", "units": "mm"})
    assert answer(site, fields) == in_mm
    assert answer(site, {"size": "8 1/2 x 11", "sheets": "20", "mass": "98 g"}) == answer(
        site, {"size": "8 1/2 x 11 in", "sheets": "20", "mass": "98 g", "units": "mm"}
    )


@pytest.mark.parametrize(
    ("fields", "name", "words"),
    [
        ({**WEIGHED, "mass": "98 lions"}, "mass", "lions"),
        ({**WEIGHED, "size": "A44"}, "size", "A44"),
        ({**WEIGHED, "sheets": "-3"}, "sheets", "negative"),
        ({"mass": "98 g"}, "size", "Sheet size"),
        ({"stack": "10 mm"}, "stack_sheets", "Sheets in the stack"),
        ({"stack_sheets": "0", "stack": "10 mm"}, "stack_sheets", "0"),
        ({"class": "seaweed", "grammage": "80"}, "class", "seaweed"),
        ({"grammage": "80 parrots"}, "grammage", "parrots"),
        ({"class": "copier", "grammage": "80", "level": "2"}, "level", "level"),
        ({"with": "gauge", "stack": "1 mm", "stack_sheets": "9"}, "with", "gauge"),
        ({"sample": "no such pile"}, "sample", "no such pile"),
        ({"size": "A4"}, "sheets", "nothing"),
    ],
)
def test_errors_stand_beside_the_field_and_nothing_typed_is_lost(
    site: Site, fields: dict[str, str], name: str, words: str
) -> None:
    text = page(site, fields)
    assert words in beside(text, name)
    assert "--" not in beside(text, name), "names of a command's options mean nothing on a page"
    assert 'role="alert"' in text
    assert 'aria-invalid="true"' in text
    for key, value in fields.items():
        assert value in text, key
    refused = site.get("/-/pile.json?" + urlencode(fields))
    assert refused.status_code == 400
    assert refused.json()["fields"][name]


def test_contradictions_are_told_at_the_top(site: Site) -> None:
    text = page(site, {"class": "tissue", "stack_sheets": "10", "stack": "20 mm"})
    assert 'role="alert"' in text
    assert "measurement" in text


def test_json_refuses_fields_that_nobody_knows(site: Site) -> None:
    refused = site.get("/-/pile.json?gramage=80")
    assert refused.status_code == 400
    assert "grammage" in refused.json()["error"]
    assert site.get("/-/pile.json").status_code == 400


def test_own_samples_are_in_the_picture(site: Site) -> None:
    fields = {"class": "copier", "grammage": "80"}
    assert page(site, fields).count('class="own"') == 0
    with matref.open(site.place) as opened:
        opened.samples.add(
            "ours", paper_class="copier", grammage=80, stack_sheets=8, stack="0.85 mm", with_="micrometer"
        )
    assert page(site, fields).count('class="own"') == 1


def test_fields_cover_all_evidence() -> None:
    from matref.estimator.evidence import Evidence

    assert {field_name(name) for name in Evidence.__dataclass_fields__} <= set(FIELDS)
    assert set(SAMPLE_FORM) & {"level", "sample"} == set()


def test_filling_takes_aliases_and_several_classes() -> None:
    filled = fill({"paper_class": [" copier ", "", "newsprint", "copier"], "with_": ["ruler"], "odd": ["x"]}, "mm")
    assert filled.typed == {"class": "copier,newsprint", "with": "ruler"}
    assert filled.evidence() == {"paper_class": "copier,newsprint", "with_": "ruler"}


def test_words_for_people_keep_what_was_expected() -> None:
    error = BadInput("a scale resolution without a mass", expected="--mass", example='--mass "98 g"')
    assert in_words(error) == "a scale resolution without a mass; fill in “Their mass”"
