"""What the sheet says: order of cutting, cautions at their step, sums that add up, inches where wanted."""

from __future__ import annotations

import re
from typing import Any

import pytest
from measuring import NAMES

from matref.bench.content import sheet_of_work
from matref.bench.lengths import in_units, plain, ranged, units_of
from matref.errors import BadInput


@pytest.mark.parametrize("name", NAMES)
def test_parts_that_wait_for_the_back_come_last(plans: dict[str, Any], name: str) -> None:
    sheet = sheet_of_work(plans[name], "mm")
    waits = [part.when != "now" for part in sheet.parts]
    assert waits == sorted(waits)
    assert len(waits) == len(plans[name]["cover"]["parts"])


@pytest.mark.parametrize("name", NAMES)
def test_cautions_stand_where_their_work_first_occurs(plans: dict[str, Any], name: str) -> None:
    plan, sheet = plans[name], sheet_of_work(plans[name], "mm")
    first: dict[str, int] = {}
    for step in sheet.steps:
        rows = [row["text"] for row in plan["cautions"] if row["step"] == step.kind and step.kind]
        if step.kind in first:
            assert step.cautions == ()
            assert step.see == first[step.kind]
        else:
            assert list(step.cautions) == rows
            if rows:
                first[step.kind] = step.number
    told = [text for step in sheet.steps for text in step.cautions] + list(sheet.general)
    assert sorted(told) == sorted(row["text"] for row in plan["cautions"])


@pytest.mark.parametrize("name", NAMES)
def test_the_sums_of_the_cutting_list_add_up(plans: dict[str, Any], name: str) -> None:
    """Read the printed sum back: it gives the printed size, to the tenths that rounding may cost."""
    for part in sheet_of_work(plans[name], "mm").parts:
        if " by " not in part.made_of:
            continue  # the cover, whose chains are drawn
        across, _, along = part.made_of.split(". ")[0].partition(" by ")
        width, height = (float(side) for side in re.findall(r"[\d.]+", part.size)[:2])
        for text, side in ((across, width), (along, height)):
            terms = re.findall(r"(−?) ?(\d+(?:\.\d+)?) [a-z]", text)
            total = sum(-float(number) if minus else float(number) for minus, number in terms)
            assert total == pytest.approx(side, abs=0.05 * (len(terms) + 1)), part


def test_a_plan_may_come_as_an_object_or_as_its_json(plans: dict[str, Any]) -> None:
    class Planned:
        def as_json(self) -> Any:
            return plans["pamphlet"]

    assert plain(Planned()) == plain(plans["pamphlet"])
    with pytest.raises(BadInput, match="no plan"):
        plain(["pamphlet"])


def test_sentences_turn_to_inches() -> None:
    assert in_units("measure 169.05 mm, on 600 x 450 mm", "mm") == "measure 169.05 mm, on 600 x 450 mm"
    assert in_units("a sheet of 254 x 127 mm", "in") == "a sheet of 10 x 5 in"
    assert in_units("1.42 mm of the machine's 2.5 mm", "in") == "0.056 in of the machine's 3/32 in"
    assert in_units("5 commands", "in") == "5 commands"


def test_ranges() -> None:
    assert ranged({"value": 6.4, "low": 6.0, "high": 6.7}, "mm", "in") == "0.252 in (0.236 to 0.264)"
    assert ranged({"value": 25.4, "low": 22.0, "high": 29.0}, "mm", "in") == "1.00 in (0.87 to 1.14)"
    with pytest.raises(BadInput, match="mm or in"):
        units_of("cubits")
