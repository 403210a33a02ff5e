from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

import matref
from matref.errors import BadInput
from matref.planning.schema import PLAN_TABLES
from matref.web.book_fields import BOOK_FIELDS, BOOK_GROUPS
from matref.web.plan_form import CANDIDATES, PlanForm, fill_plan

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from matref.api import Workshop

BOOK = {
    "book.structure": "soft-cover",
    "book.page_width_mm": "100",
    "book.page_height_mm": "150",
    "book.sections": "5",
}
KEYS = [(table, key) for table in PLAN_TABLES for key in table.keys]


@pytest.fixture
def opened(place: Path) -> Iterator[Workshop]:
    with matref.open(place) as workshop:
        yield workshop


def form(units: str = "mm", **fields: str) -> PlanForm:
    return fill_plan({name.replace("__", "."): [text] for name, text in fields.items()}, units)


def test_fields_become_the_tables_of_a_plan_file() -> None:
    filled = fill_plan({**{k: [v] for k, v in BOOK.items()}, "paper.mass_g": [" 98 g "], "sewing.thread": [""]}, "mm")
    assert filled.plan() == {
        "book": {"structure": "soft-cover", "page_width_mm": "100", "page_height_mm": "150", "sections": 5},
        "paper": {"mass_g": "98 g"},
    }


def test_names_without_their_unit_are_the_same_field() -> None:
    for table, key in KEYS:
        if key.bare:
            filled = fill_plan({f"{table.path}.{key.stem}": ["7"]}, "mm")
            assert list(filled.typed) == [f"{table.path}.{key.name}"]
            assert f"{table.path}.{key.name}" in BOOK_FIELDS


def test_only_bare_lengths_turn_to_inches() -> None:
    plan = form(
        "in",
        book__page_width_mm="4",
        book__page_height_mm="6 1/4",
        paper__size="8 1/2 x 11",
        paper__mass_g="98",
        paper__caliper_um="104",
        cover__board_mm="2.5 mm",
        book__sections="5",
    ).plan()
    assert plan["book"] == {"page_width_mm": "4 in", "page_height_mm": "6 1/4 in", "sections": 5}
    assert plan["paper"] == {"size": "8 1/2 x 11 in", "mass_g": "98", "caliper_um": "104"}
    assert plan["cover"] == {"board_mm": "2.5 mm"}


def test_several_kinds_of_paper_are_one_list() -> None:
    filled = fill_plan({"paper.class": ["copier", "", " newsprint ", "copier"]}, "mm")
    assert filled.plan() == {"paper": {"class": "copier,newsprint"}}


def test_candidates_and_further_lines_are_joined() -> None:
    lines = '[[compare]]\nname = "as the file says"\n\n[stock]\ncurrency = "EUR"\n'
    fields = {
        "more": [lines],
        "stock.use_shelf": ["no"],
        "beside.1.class": ["newsprint"],
        "beside.1.grammage_gsm": ["49"],
        "beside.2.name": ["only a name"],
        f"beside.{CANDIDATES}.thread": ["0.9 mm"],
        f"beside.{CANDIDATES + 1}.thread": ["one too many"],
    }
    plan = fill_plan(fields, "mm").plan()
    assert plan["stock"] == {"currency": "EUR", "use_shelf": "no"}
    assert plan["compare"] == [
        {"name": "as the file says"},
        {"name": "newsprint 49", "paper": {"class": "newsprint", "grammage_gsm": "49"}},
        {"name": "0.9 mm", "sewing": {"thread": "0.9 mm"}},
    ]


@pytest.mark.parametrize(
    ("fields", "begun"),
    [
        ({}, False),
        ({"paper.mass_g": "98 g", "cover.cloth_mm": "0.4"}, False),
        ({"paper.mass_g": "98 g", "book.level": "0.8"}, False),
        ({"book.sections": ""}, False),
        ({"book.sections": "5"}, True),
        ({"more": "[book]"}, True),
    ],
)
def test_a_plan_is_begun_once_something_is_said_of_the_book(fields: dict[str, str], begun: bool) -> None:
    assert fill_plan({name: [text] for name, text in fields.items()}, "mm").begun is begun


@pytest.mark.parametrize(("table", "key"), KEYS, ids=lambda part: getattr(part, "path", getattr(part, "name", "")))
def test_nonsense_is_told_beside_the_very_field(opened: Workshop, table: Any, key: Any) -> None:
    if key.kind == "text":
        pytest.skip("any text is a name")
    name = f"{table.path}.{key.name}"
    fields = {**BOOK, "paper.class": "bond_writing", "paper.grammage_gsm": "80", name: "seventeen lions"}
    if name in ("book.pages", "book.use"):
        del fields["book.sections"]
    if key.kind == "grammage" and key.stem not in ("cloth", "interfacing", "card"):
        fields["book.structure"] = "quarter-case"  # a weight is read where the structure has that material
    filled = fill_plan({n: [t] for n, t in fields.items()}, "mm")
    with pytest.raises(BadInput) as caught:
        opened.plan(filled.plan())
    filled.blame(caught.value)
    assert list(filled.errors) == [name], (str(caught.value), filled.general)
    assert not filled.errors[name].startswith((table.path, key.name)), "the field says already which it is"


@pytest.mark.parametrize(("table", "key"), KEYS, ids=lambda part: getattr(part, "path", getattr(part, "name", "")))
def test_the_example_in_an_empty_box_is_one_that_the_planner_reads(table: Any, key: Any) -> None:
    entry = BOOK_FIELDS[f"{table.path}.{key.name}"]
    for text in filter(None, (entry.example, entry.usual, *(value for value, _ in entry.choices))):
        sizes = {"A4": (210.0, 297.0)}
        assert key.read(key.name, text, "plan", sizes) is not None


def test_what_follows_when_nothing_is_chosen_is_what_the_planner_does(opened: Workshop) -> None:
    base = {n: [t] for n, t in {**BOOK, "paper.class": "bond_writing", "paper.grammage_gsm": "80"}.items()}
    opened.stock.add("cloth", "600 x 450 mm", label="sailcloth offcut")
    left_empty = opened.plan(fill_plan(base, "mm").plan()).as_json()
    for name, entry in BOOK_FIELDS.items():
        if entry.usual and name not in ("paper.in_block", "paper.with", "paper.cover", "paper.grain"):
            said = opened.plan(fill_plan({**base, name: [entry.usual]}, "mm").plan()).as_json()
            assert said == left_empty, name


def test_every_choice_of_the_schema_can_be_chosen() -> None:
    for table, key in KEYS:
        if key.kind in ("choice", "flag"):
            entry = BOOK_FIELDS[f"{table.path}.{key.name}"]
            offered = {value or entry.usual for value, _ in entry.choices} - {""}
            wanted = set(key.choices) if key.kind == "choice" else {"yes", "no"}
            assert offered <= wanted, entry.name
            missing = wanted - offered
            # What a sentence says without a choice ("not known", "as such a book usually is") may stand for one.
            assert not missing or (entry.choices and entry.choices[0][0] == ""), (entry.name, missing)


def test_folds_hold_what_is_seldom_needed() -> None:
    seen = [entry.name for group in BOOK_GROUPS for entry in group.fields]
    assert len(seen) < len(BOOK_FIELDS) / 3
    for wanted in (name for name, entry in BOOK_FIELDS.items() if entry.wanted):
        assert wanted in seen


def test_lines_of_a_plan_file_are_read_or_refused_in_one_line() -> None:
    for text in ("[[[", "book = ", "a" * 20_001, "[book]\nsections = 5\n[book]"):
        with pytest.raises(BadInput) as caught:
            fill_plan({"more": [text]}, "mm").plan()
        assert "\n" not in str(caught.value)
    with pytest.raises(BadInput, match="book is no table"):
        fill_plan({"more": ["book = 3"], "book.sections": ["5"]}, "mm").plan()


def test_unknown_fields_are_refused_only_where_a_program_asks() -> None:
    assert fill_plan({"odd": ["1"], "_size": ["1"]}, "mm").typed == {}
    with pytest.raises(BadInput, match="odd"):
        fill_plan({"odd": ["1"]}, "mm", strict=True)
    assert fill_plan({"_size": ["1"], "units": ["in"]}, "mm", strict=True).typed == {}
    with pytest.raises(BadInput, match=r"cover\.turn_in"):
        fill_plan({"cover.turnin_mm": ["17"]}, "mm", strict=True).plan()
