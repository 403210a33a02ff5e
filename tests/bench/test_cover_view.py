"""The cover laid flat and the other parts: folds, corners, boards, sewing where the plan has them."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from measuring import NAMES

from matref.bench.cover_view import COVERS, cover, cover_part, zones
from matref.bench.drawing import Drawing
from matref.bench.marks import Line, Polyline, Text
from matref.bench.parts_view import parts


def of(plan: dict[str, Any]) -> tuple[Drawing, float, dict[str, Any]]:
    drawing = cover(plan, "mm")
    assert drawing is not None
    assert drawing.scale is not None
    part = cover_part(plan)
    assert part is not None
    return drawing, drawing.scale, dict(part)


@pytest.mark.parametrize("name", NAMES)
def test_lines_across_the_cover_are_where_its_zones_meet(plans: dict[str, Any], name: str) -> None:
    drawing, scale, part = of(plans[name])
    width, height = part["width_mm"] * scale, part["height_mm"] * scale
    found = {
        round(mark.x1 / scale, 4)
        for mark in drawing.marks()
        if isinstance(mark, Line) and (mark.y1, mark.y2) == (0, height) and 0 < mark.x1 == mark.x2 < width
    }
    edges = [round(edge, 4) for edge in itertools.accumulate(mm for _, mm, _ in zones(part["width_chain"], "mm"))][:-1]
    skipped = 1 if part["name"] == "board covering" else 0  # page and square together are the board
    assert found <= set(edges)
    assert len(set(edges) - found) == skipped
    level = {
        mark.y1 / scale
        for mark in drawing.marks()
        if isinstance(mark, Line) and (mark.x1, mark.x2) == (0, width) and 0 < mark.y1 == mark.y2 < height
    }
    for chain in part["height_chain"]:
        if "turn-in" in chain["label"] and chain["mm"]:
            assert any(y == pytest.approx(chain["mm"]) for y in level)


@pytest.mark.parametrize("name", ["flat-back-case", "rounded-case"])
def test_corners_are_cut_clear_of_the_boards(plans: dict[str, Any], name: str) -> None:
    """The outline leaves out each corner by the plan's legs, and passes the board's corner at a distance."""
    drawing, scale, part = of(plans[name])
    (outline,) = (mark for mark in drawing.marks() if isinstance(mark, Polyline) and mark.style == "wide")
    leg = next(mark["mm"] for mark in part["marks"])
    assert len(outline.points) == 8
    (x1, y1), (x2, y2) = outline.points[-1], outline.points[0]
    assert (x2 / scale, y1 / scale) == pytest.approx((leg, leg))
    assert (x1, y2) == (0, 0)
    turn = part["width_chain"][0]["mm"]
    clear = (2 * turn - leg) / math.sqrt(2)  # from the board's corner at (turn, turn) to the line x + y = leg
    assert clear > 1.5


def test_the_back_of_a_quarter_case_keeps_its_corners_and_lies_on_the_boards(plans: dict[str, Any]) -> None:
    plan = plans["quarter-case"]
    drawing, scale, part = of(plan)
    assert part["marks"] == []
    (outline,) = (mark for mark in drawing.marks() if isinstance(mark, Polyline) and mark.style == "wide")
    assert len(outline.points) == 4
    board = next(p for p in plan["cover"]["parts"] if p["name"] == "board")
    shown = part["width_chain"][0]["mm"]
    beside = [mark for mark in drawing.marks() if isinstance(mark, Polyline) and mark.style == "double-dotted"]
    assert len(beside) == 2
    for mark in beside:
        assert mark.box.width / scale == pytest.approx(board["width_mm"] - shown)
        assert mark.box.height / scale == pytest.approx(board["height_mm"])


@pytest.mark.parametrize("name", ["pocket-logbook", "long-stitch-ledger", "pamphlet", "soft-cover"])
def test_sewing_lines_on_the_cover(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    drawing, scale, part = of(plan)
    sewn = [mark for mark in drawing.marks() if isinstance(mark, Line) and mark.style == "dashed"]
    (centre,) = {mark.x1 for mark in drawing.marks() if isinstance(mark, Line) and mark.style == "chain"}
    assert centre / scale == pytest.approx(part["width_mm"] / 2)
    assert [(mark.x1 - centre) / scale for mark in sewn] == pytest.approx(plan["stitching"]["lines_mm"])
    first, last = plan["stitching"]["seam_from_head_mm"]
    head = (part["height_mm"] - plan["text_block"]["page_height_mm"]) / 2
    assert {round(mark.y1 / scale, 6) for mark in sewn} == {round(head + first, 6)}
    assert {round(mark.y2 / scale, 6) for mark in sewn} == {round(head + last, 6)}


@pytest.mark.parametrize("name", NAMES)
def test_front_lies_left_and_the_title_says_what_it_is(plans: dict[str, Any], name: str) -> None:
    drawing, _, part = of(plans[name])
    places = {mark.text: mark.x for mark in drawing.marks() if isinstance(mark, Text)}
    if "front" in places:
        assert places["front"] < places["back"]
    assert drawing.title.lower().startswith(part["name"])
    assert "wide line: cut" in drawing.note


@pytest.mark.parametrize("name", NAMES)
def test_other_parts_do_not_overlap_and_carry_their_names(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    others = [part for part in plan["cover"]["parts"] if part["name"] not in COVERS]
    drawing = parts(plan, "mm")
    if not others:
        assert drawing is None
        return
    assert drawing is not None
    assert drawing.scale is not None
    outlines = [mark for mark in drawing.marks() if isinstance(mark, Polyline) and mark.style == "wide"]
    for part, mark in zip(others, outlines, strict=True):
        assert mark.box.width / drawing.scale == pytest.approx(part["width_mm"])
        assert mark.box.height / drawing.scale == pytest.approx(part["height_mm"])
    assert not any(a.box.overlaps(b.box) for a, b in itertools.combinations(outlines, 2))
    words = " ".join(mark.text for mark in drawing.marks() if isinstance(mark, Text))
    for part in others:
        assert part["name"] in words
    assert words.count("cut after sewing") == sum(part["cut_when"] == "after sewing" for part in others)


def test_a_plan_without_parts_has_no_drawing_of_them(plans: dict[str, Any]) -> None:
    bare = {**plans["pamphlet"], "cover": {"parts": []}}
    assert cover(bare, "mm") is None
    assert parts(bare, "mm") is None


def test_bends_join_the_spine_and_nothing_is_left_out() -> None:
    listed = [
        {"label": "page", "mm": 100.0},
        {"label": "spine allowance", "mm": 9.5},
        {"label": "two bends", "mm": 1.25},
        {"label": "overhang", "mm": 0.0},
        {"label": "page", "mm": 100.0},
    ]
    found = zones(listed, "mm")
    assert [mm for _, mm, _ in found] == [100, 10.75, 100]
    assert found[1][2] == "spine allowance 9.5 + two bends 1.3"
