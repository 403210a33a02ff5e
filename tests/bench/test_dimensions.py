"""Every dimension of every drawing: drawn to scale, equal to the plan's JSON, written as it can be cut."""

from __future__ import annotations

import itertools
import re
from typing import Any

import pytest
from measuring import NAMES, measured, numbers

from matref.bench import drawings
from matref.bench.drawing import SCALES, Dimension, Running
from matref.bench.marks import Text
from matref.quantities import parse_length

FIGURE = re.compile(r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)(?= \+ |$)")
EXPECTED = {"section", "block", "stations"}


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", NAMES)
def test_what_is_drawn_is_what_is_written(plans: dict[str, Any], name: str, units: str) -> None:
    """Length on paper over scale is the value; the figures beside it add up to it, to a tenth of a mm or 1/64 inch."""
    found = drawings(plans[name], units)
    assert {drawing.name for drawing in found} >= EXPECTED
    for drawing in found:
        assert drawing.scale in SCALES
        for _, drawn, value, text in measured(drawing):
            assert drawn == pytest.approx(value, abs=1e-6), (drawing.name, text)
            figures = FIGURE.findall(text)
            assert figures, text
            written = sum(parse_length(f"{figure} {units}", allow_zero=True).value for figure in figures)
            close = 0.051 * len(figures) if units == "mm" else 0.4 * len(figures)
            assert written == pytest.approx(value, abs=close), (drawing.name, text, value)


@pytest.mark.parametrize("name", NAMES)
def test_every_value_is_the_plans(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    told = sorted(numbers(plan))
    leaf_mm = plan["text_block"]["leaf_um"]["value"] / 1000
    told.append(2 * plan["sections"]["sheets_per_section"] * leaf_mm)  # a closed section of paper
    told += [abs(line) for line in plan["stitching"]["lines_mm"]]
    for part in plan["cover"]["parts"]:  # the bends lie in one zone with the spine
        chain = [entry["mm"] for entry in part["width_chain"]]
        told += [a + b for a, b in itertools.pairwise(chain)]
    for drawing in drawings(plan):
        for _, _, value, text in measured(drawing):
            assert any(abs(value - number) < 1e-9 for number in told), (drawing.name, text, value)


@pytest.mark.parametrize("name", NAMES)
def test_the_cover_shows_its_whole_chains(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    drawing = next(drawing for drawing in drawings(plan) if drawing.name == "cover")
    names = ("cloth", "cloth back", "limp cover", "cover", "board covering")
    part = next(part for part in plan["cover"]["parts"] if part["name"] in names)
    for axis, chain, total in (("x", "width_chain", "width_mm"), ("y", "height_chain", "height_mm")):
        shown = [d for d in drawing.dimensions if isinstance(d, Dimension) and d.axis == axis]
        assert shown[0].value_mm == part[total]
        assert sum(d.value_mm for d in shown[1:]) == pytest.approx(part[total] if len(shown) > 1 else 0)
        words = " ".join(d.text for d in shown[1:])
        lengths = [entry for entry in part[chain] if entry["mm"]]
        for entry in lengths if len(lengths) > 1 else ():
            assert entry["label"] in words


@pytest.mark.parametrize("name", NAMES)
def test_every_part_is_drawn_with_both_sides(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    wanted = [side for part in plan["cover"]["parts"] for side in (part["width_mm"], part["height_mm"])]
    shown = [
        piece.value_mm
        for drawing in drawings(plan)
        if drawing.name in ("cover", "parts")
        for piece in drawing.dimensions
        if isinstance(piece, Dimension)
    ]
    for side in wanted:
        assert side in shown
        shown.remove(side)


@pytest.mark.parametrize("name", NAMES)
def test_stations_and_lines(plans: dict[str, Any], name: str) -> None:
    """Running dimensions name every station from the head and every line from the centre, in order."""
    stitching = plans[name]["stitching"]
    by_name = {drawing.name: drawing for drawing in drawings(plans[name])}
    (fold,) = (d for d in by_name["stations"].dimensions if isinstance(d, Running))
    height = plans[name]["text_block"]["page_height_mm"]
    assert list(fold.values_mm) == [*(stitching["stations_mm"] or stitching["seam_from_head_mm"]), height]
    if not stitching["lines_mm"]:
        assert "lines" not in by_name
        return
    spine = by_name["lines"]
    (across,) = (d for d in spine.dimensions if isinstance(d, Running))
    assert spine.scale is not None
    assert [place / spine.scale for place, _, _ in across.stops] == pytest.approx(stitching["lines_mm"])
    discs = [mark for mark in spine.marks() if getattr(mark, "bold", False)]
    numbers_shown = [int(mark.text) for mark in discs if isinstance(mark, Text)]
    assert [line for _, line in sorted(zip(numbers_shown, stitching["lines_mm"], strict=True))] == stitching["order"]
