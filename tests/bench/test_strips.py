"""Strips at true size: whole, tiled without a gap, and joined at the same crosses."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from measuring import NAMES

from matref.bench.compose import strip_pages
from matref.bench.marks import Arc, Line, Text
from matref.bench.page import PAPERS
from matref.bench.strips import OVERLAP_MM, Strip, Tick, check_bar, strips, tiles


def long_strip(mm: float) -> Strip:
    return Strip("cover-across", "Cover", mm, (Tick(0, "0"), Tick(mm, "end")), ("front", "back"))


def extents(strip: Strip, room: float) -> list[tuple[float, float]]:
    """From where to where each tile reaches on the strip: its name tells where it begins, its outline how far."""
    found: list[tuple[float, float]] = []
    for tile in tiles(strip, room):
        outline = next(tile.marks()).box
        start = found[-1][1] - OVERLAP_MM if found else 0.0
        found.append((start, start + outline.width))
    return found


@given(st.floats(5, 3000), st.floats(120, 280))
def test_tiles_cover_the_strip_and_overlap(mm: float, room: float) -> None:
    found = extents(long_strip(mm), room)
    assert found[0][0] == 0
    assert found[-1][1] == pytest.approx(mm)
    assert all(end - start <= room for start, end in found)


def test_crosses_of_neighbours_lie_on_each_other() -> None:
    strip = long_strip(600)
    places = []
    for (start, _), tile in zip(extents(strip, 250), tiles(strip, 250), strict=True):
        places.append([start + mark.x for mark in tile.marks() if isinstance(mark, Arc)])
    assert [len(one) for one in places] == [1, 2, 1]
    assert places[0][-1] == pytest.approx(places[1][0])
    assert places[1][-1] == pytest.approx(places[2][0])
    assert [tile.title for tile in tiles(strip, 250)] == [f"Cover ({n} of 3)" for n in (1, 2, 3)]


@pytest.mark.parametrize("name", NAMES)
def test_ticks_are_the_plans(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    spine, *boards, across, along = strips(plan, "mm")
    assert [strip.name for strip in boards] == (["board-holes"] if name == "link-stitch" else [])
    stitching = plan["stitching"]
    wanted = stitching["stations_mm"] or stitching["seam_from_head_mm"]
    assert [tick.at_mm for tick in spine.ticks] == [*wanted, plan["text_block"]["page_height_mm"]]
    assert [line for line, _ in spine.lines] == (stitching["lines_mm"] or [0.0])
    part = next(p for p in plan["cover"]["parts"] if p["name"] == across.note.split(",")[0])
    for strip, chain, total in ((across, "width_chain", "width_mm"), (along, "height_chain", "height_mm")):
        assert strip.length_mm == part[total]
        edges = [sum(entry["mm"] for entry in part[chain][:n]) for n in range(len(part[chain]) + 1)]
        for tick in strip.ticks:
            half = tick.text.startswith("centre")
            assert half or any(abs(tick.at_mm - edge) < 1e-6 for edge in edges), tick


def test_holes_of_a_board_are_pricked_at_true_size(plans: dict[str, Any]) -> None:
    """The template is as high as the board, its line as far from the lower edge as the holes from the spine edge."""
    plan = plans["link-stitch"]
    strip = next(strip for strip in strips(plan, "mm") if strip.name == "board-holes")
    board = next(part for part in plan["cover"]["parts"] if part["name"] == "board")
    square = (board["height_mm"] - plan["text_block"]["page_height_mm"]) / 2
    assert [tick.at_mm for tick in strip.ticks[:-1]] == [mm + square for mm in plan["stitching"]["stations_mm"]]
    assert strip.length_mm == strip.ticks[-1].at_mm == board["height_mm"]
    ((line, _),) = strip.lines
    assert strip.height_mm / 2 - line == pytest.approx(25.4 / 4)  # a quarter of an inch in
    assert strip.crosses
    (tile,) = tiles(strip, 277)
    crosses = [m for m in tile.marks() if isinstance(m, Line) and m.x1 == m.x2 and abs(m.y2 - m.y1 - 3.0) < 1e-9]
    assert [mark.x1 for mark in crosses] == pytest.approx(plan["stitching"]["board_stations_mm"])


@pytest.mark.parametrize("paper", PAPERS)
def test_long_strips_go_over_pages_each_with_its_bar(paper: str) -> None:
    width, height = PAPERS[paper]
    pages = strip_pages([long_strip(2000), long_strip(150)], (width, height), "mm")
    assert len(pages) > 1
    for page in pages:
        assert (page.width, page.height) == (height, width)
        words = [mark.text for _, _, marks in page.groups for mark in marks if isinstance(mark, Text)]
        assert "True size" in words
        assert any(word.startswith("Print at 100 %") for word in words)
        for x, y, marks in page.groups:
            for mark in marks:
                assert x + mark.box.left > 8
                assert x + mark.box.right < page.width - 8
                assert y + mark.box.bottom < page.height - 12


def test_the_bar_says_inches_too_where_those_are_wanted() -> None:
    words = [mark.text for mark in check_bar("in").marks() if isinstance(mark, Text)]
    assert "100 mm = 3 15/16 in" in words
