from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pint
import pytest

import matref
from matref.book.practice import Practice
from matref.catalogue.package import data_folder
from matref.planning.schema import ALLOWANCES
from matref.web.book_fields import BOOK_FIELDS
from matref.web.offers import offers, usual

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from matref.api import Workshop


@pytest.fixture
def opened(place: Path) -> Iterator[Workshop]:
    with matref.open(place) as workshop:
        yield workshop


def column(table: str, name: str) -> list[dict[str, str]]:
    with (data_folder() / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row[name]]


def test_every_thread_and_needle_of_the_data_is_offered_by_its_name(opened: Workshop) -> None:
    found = offers(opened)
    assert [name for name, _ in found["threads"]] == sorted(
        {row["name"] for row in column("thread", "name")}, key=str.lower
    )
    stated = {row["name"] for row in column("needle", "blade_mm") if row["kind"] == "size"}
    assert stated <= {name for name, _ in found["needles"]} <= {row["name"] for row in column("needle", "name")}


@pytest.mark.parametrize(("field", "material"), [("cover.cloth", "cloths"), ("cover.board", "boards")])
def test_what_is_offered_is_what_the_planner_knows(opened: Workshop, field: str, material: str) -> None:
    role = field.partition(".")[2]
    assert BOOK_FIELDS[field].offers == material
    names = [name for name, _ in offers(opened)[material]]
    assert len(names) > 30
    for name in names[:: max(1, len(names) // 12)]:
        plan = {
            "book": {"structure": "flat-back-case", "page_width_mm": 100, "page_height_mm": 150, "sections": 5},
            "cover": {role: name},
        }
        made = opened.plan(plan).as_json()["cover"]["materials"]
        assert next(one for one in made if one["role"] == role)["id"], name


def test_samples_are_told_by_what_is_known_of_them(opened: Workshop) -> None:
    named = opened.samples.add("tide tables", paper_class="copier", size="A4", sheets=20, mass="98 g")
    bare = opened.samples.add(stack_sheets=1, stack="0.104 mm", with_="micrometer")
    gone = opened.samples.add("gone", grammage=80)
    opened.samples.remove(gone.id)
    assert offers(opened)["samples"] == [
        (bare.id, f"{bare.id}, 104 µm"),
        (named.id, "tide tables, Copier paper, 78.6 g/m²"),
    ]


def test_only_paper_is_a_pile_to_make_a_book_of(opened: Workshop) -> None:
    paper = opened.stock.add("paper", "A4", count=60, label="loft pile")
    opened.stock.add("cloth", "600 x 450 mm")
    assert offers(opened)["piles"] == [(paper.id, "loft pile, 60 leaves")]


def test_usual_figures_are_those_of_the_rule_table(opened: Workshop) -> None:
    rules = {row["id"]: row for row in column("rule", "id")}
    ids = Practice.rule_ids()
    found = usual(opened, "mm")
    for name, shown in found.items():
        stem = BOOK_FIELDS[name].name.partition(".")[2].removesuffix("_mm")
        rule = rules[ids[ALLOWANCES[stem][0]]]
        wanted = [rule["value"]] if rule["value"] else [end for end in (rule["low"], rule["high"]) if end]
        assert [float(part) for part in shown.split(" to ")] == pytest.approx([float(end) for end in wanted], rel=1e-5)
    assert len(found) >= len(ALLOWANCES) - 1


def test_usual_lengths_turn_to_inches_and_nothing_else_does(opened: Workshop) -> None:
    in_mm, in_inches = usual(opened, "mm"), usual(opened, "in")
    inch = pint.UnitRegistry()("1 inch").to("mm").magnitude
    assert set(in_mm) == set(in_inches)
    for name, shown in in_mm.items():
        first, other = float(shown.split(" ")[0]), float(in_inches[name].split(" ")[0])
        if BOOK_FIELDS[name].kind == "length":
            assert other * inch == pytest.approx(first, rel=0.01)
        else:
            assert other == first
