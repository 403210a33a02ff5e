"""The board of a link stitch: its holes a square further from the head than the stations, a quarter inch in."""

from __future__ import annotations

from typing import Any

import pytest
from measuring import NAMES

from matref.bench.board_view import board
from matref.bench.content import sheet_of_work
from matref.bench.drawing import Dimension, Running
from matref.bench.marks import Polyline

INCH = 25.4


@pytest.mark.parametrize("name", NAMES)
def test_only_a_link_stitch_has_pierced_boards(plans: dict[str, Any], name: str) -> None:
    assert (board(plans[name], "mm") is not None) is (name == "link-stitch")
    heads = [head for head, _ in sheet_of_work(plans[name], "mm").facts]
    assert ("Holes in the boards" in heads) is (name == "link-stitch")


def test_holes_lie_where_they_are_dimensioned(plans: dict[str, Any]) -> None:
    plan = plans["link-stitch"]
    drawing = board(plan, "mm")
    assert drawing is not None
    assert drawing.scale is not None
    dots = [mark for mark in drawing.marks() if isinstance(mark, Polyline) and mark.fill == "black"]
    centres = [((dot.box.left + dot.box.right) / 2, (dot.box.top + dot.box.bottom) / 2) for dot in dots]
    part = next(part for part in plan["cover"]["parts"] if part["name"] == "board")
    square = (part["height_mm"] - plan["text_block"]["page_height_mm"]) / 2
    assert square == pytest.approx(3)
    for (x, y), station in zip(centres, plan["stitching"]["stations_mm"], strict=True):
        assert x / drawing.scale == pytest.approx(INCH / 4)
        assert y / drawing.scale == pytest.approx(station + square)
    (down,) = [d for d in drawing.dimensions if isinstance(d, Running)]
    assert down.values_mm == pytest.approx([*(s + square for s in plan["stitching"]["stations_mm"]), part["height_mm"]])
    (across,) = [d for d in drawing.dimensions if isinstance(d, Dimension)]
    assert across.value_mm == pytest.approx(INCH / 4)


def test_the_mark_stands_in_the_parts_list_too(plans: dict[str, Any]) -> None:
    part = next(part for part in plans["link-stitch"]["cover"]["parts"] if part["name"] == "board")
    assert part["marks"] == [{"label": "holes from the spine edge", "mm": pytest.approx(INCH / 4)}]
