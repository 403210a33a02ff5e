"""What a plan's file tells of the finished book: every key that a plan may have, the paper as the planner reads it."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from matref.api import Workshop
from matref.errors import BadInput
from matref.planning import facts, schema
from matref.planning.document import read_document
from matref.planning.keys import Key

BOOK = {
    "structure": "flat-back-case",
    "page_width_mm": 95,
    "page_height_mm": 140,
    "sections": 8,
    "sheets_per_section": 4,
}
# What a key of the paper needs beside it to make sense.
WITH = {
    "sheets": {"size": "A4", "mass": "98 g"},
    "mass": {"size": "A4", "sheets": 20},
    "size": {"sheets": 20, "mass": "98 g"},
    "scale_resolution": {"size": "A4", "sheets": 20, "mass": "98 g"},
    "ream_mass": {"size": "A4", "ream_sheets": 500},
    "ream_sheets": {"size": "A4", "ream_mass": "2.3 kg"},
    "stack": {"stack_sheets": 100},
    "stack_sheets": {"stack": "10.5 mm"},
    "with": {"stack_sheets": 100, "stack": "10.5 mm"},
    "held": {"stack_sheets": 100, "stack": "10.5 mm"},
    "book_pages": {"book_thickness": "14 mm"},
    "book_thickness": {"book_pages": 240},
    "book_mass": {"book_pages": 240, "size": "A5"},
    "cover": {"book_pages": 240, "size": "A5", "book_mass": "310 g"},
    "leaves": {"leaf_size": "A4"},
}


def facts_of(workshop: Workshop, plan: Any) -> dict[str, Any]:
    return facts.facts_of(workshop.connection, plan)


def example(key: Key) -> Any:
    return tomllib.loads(f"value = {key.example}")["value"]


@pytest.mark.parametrize("key", schema.PAPER.keys, ids=lambda key: key.stem)
def test_every_key_of_the_paper_is_taken(shop: Workshop, key: Key) -> None:
    """With the example of the reference: what `read_document` allows, a finished book may have."""
    if key.stem == "in_block":
        return  # refused below
    if key.stem in ("sample", "pile"):
        shop.samples.add("tide tables", stack_sheets=1, stack="0.1 mm", with_="micrometer")
        shop.stock.add("paper", "A4", label="loft pile", sample="tide tables")
    plan = {
        "book": BOOK,
        "paper": {**WITH.get(key.stem, {}), key.name: example(key)},
        "sewing": {"thread": "0.5 mm"},
    }
    read_document(plan, {"A4": (210, 297), "A5": (148, 210)})
    found = facts_of(shop, plan)
    assert (found["sections"], found["sheets_per_section"], found["thread"]) == (8, 4, "0.5 mm")


def test_the_paper_is_read_as_the_planner_reads_it(workshop: Workshop) -> None:
    paper = {"size": "A4", "grammage_gsm": 70, "stack_sheets": 20, "stack_in": 0.5, "with": "vernier"}
    assert facts_of(workshop, {"paper": paper})["paper"] == {
        "grammage": "70 g/m2",
        "stack_sheets": 20,
        "stack": "0.5 in",
        "with_": "vernier",
    }
    weighed = {"size": "A4", "sheets": 20, "mass_g": "98 g", "class": ["ledger", "copier"], "edge_mm": 4}
    assert facts_of(workshop, {"paper": weighed})["paper"] == {
        "paper_class": "ledger,copier", "sheets": 20, "mass": "98 g", "size": "a4"
    }  # fmt: skip
    for name, value in (("caliper_um", 104), ("caliper_mm", 0.104), ("caliper", "104 um"), ("caliper_in", "4.1 mil")):
        (told,) = facts_of(workshop, {"paper": {name: value, "class": "ledger"}})["paper"].items()
        assert told[0] == "caliper_um"
        assert float(str(told[1]).split()[0]) == pytest.approx(float(str(value).split()[0]))


def test_a_pile_on_the_shelf_brings_its_sample(shop: Workshop) -> None:
    sample = shop.samples.add("ledger leaves", stack_sheets=1, stack="0.112 mm", with_="micrometer")
    shop.stock.add("paper", "A4", count=60, label="ledger pile", sample=sample.id)
    assert facts_of(shop, {"paper": {"pile": "ledger pile"}})["paper"] == {"sample": sample.id}
    book = shop.finished.add(
        plan={"book": BOOK, "paper": {"pile": "ledger pile"}, "sewing": {"thread": "0.5 mm"}}, fore_edge_mm="7.0 mm"
    )
    assert book.paper == {"sample": sample.id}


@pytest.mark.parametrize(
    ("book", "sewing", "expected"),
    [
        ({}, {}, {}),
        ({"pages": 81, "sheets_per_section": 4}, {}, {"sections": 6, "sheets_per_section": 4}),
        ({"structure": "pamphlet", "pages": 30}, {}, {"sections": 1, "sheets_per_section": 8, "sewing": "all-along"}),
        ({"structure": "soft-cover", "sections": 5}, {}, {"sections": 5, "sewing": "machine"}),
        ({"structure": "soft-cover"}, {"by": "hand"}, {"sewing": "all-along"}),
        ({"structure": "quarter-case"}, {"two_on": True}, {"sewing": "two-on"}),
        ({}, {"by": "machine", "thread": "0.3 mm"}, {"sewing": "machine", "thread": "0.3 mm"}),
    ],
)
def test_extent_and_sewing(
    workshop: Workshop, book: dict[str, Any], sewing: dict[str, Any], expected: dict[str, Any]
) -> None:
    assert facts_of(workshop, {"book": book, "sewing": sewing}) == expected


@pytest.mark.parametrize(
    ("wrong", "match"),
    [
        ({"book": 5}, "book is not a table"),
        ({"paper": {"in_block": True, "caliper_um": 100}}, "told by in_block"),
        ({"paper": {"thickness_um": 100}}, "no such key"),
        ({"paper": {"pile": "nowhere"}}, "no pile called"),
        ({"papers": {}}, "no such table"),
    ],
)
def test_a_plan_that_makes_no_sense_is_one_line(workshop: Workshop, wrong: dict[str, Any], match: str) -> None:
    with pytest.raises(BadInput, match=match) as caught:
        facts_of(workshop, wrong)
    assert "\n" not in str(caught.value)
