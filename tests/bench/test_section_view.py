"""Section and block in cross-section, measured on the marks against the plan's figures."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from measuring import NAMES

from matref.bench.drawing import Drawing
from matref.bench.marks import Arc, Line, Polyline
from matref.bench.section_view import block, section
from matref.book.rounding import arc_ratio


def scale_of(drawing: Drawing) -> float:
    assert drawing.scale is not None
    return drawing.scale


@pytest.mark.parametrize("name", NAMES)
def test_sheets_lie_one_in_the_other(plans: dict[str, Any], name: str) -> None:
    """One half-circle for each sheet, a leaf apart, the outermost half the closed section."""
    plan = plans[name]
    drawing = section(plan, "mm")
    sheets, leaf = plan["sections"]["sheets_per_section"], plan["text_block"]["leaf_um"]["value"] / 1000
    radii = [mark.radius / scale_of(drawing) for mark in drawing.marks() if isinstance(mark, Arc)]
    assert radii == pytest.approx([(sheets - n) * leaf for n in range(sheets)])
    centres = {(mark.x, mark.y) for mark in drawing.marks() if isinstance(mark, Arc)}
    assert len(centres) == 1


@pytest.mark.parametrize("name", NAMES)
def test_the_innermost_sheet_stands_out_by_the_creep(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    drawing = section(plan, "mm")
    creep = plan["creep"]["creep_mm"]["value"]
    leaf = plan["text_block"]["leaf_um"]["value"] / 1000
    thick = leaf * scale_of(drawing)
    ends = [
        mark
        for mark in drawing.marks()
        if isinstance(mark, Line) and mark.x1 == mark.x2 and abs(abs(mark.y1 - mark.y2) - thick) < 1e-9
    ]
    reach = sorted({round(mark.x1 / scale_of(drawing), 6) for mark in ends})
    assert len(ends) == 2 * plan["sections"]["sheets_per_section"]
    assert reach[-1] - reach[0] == pytest.approx(creep, abs=1e-5)
    outer = max(ends, key=lambda mark: max(abs(mark.y1), abs(mark.y2)))
    assert outer.x1 / scale_of(drawing) == pytest.approx(reach[0], abs=1e-5)  # the outermost is the shortest
    (cut,) = (mark.x1 for mark in drawing.marks() if isinstance(mark, Line) and mark.style == "chain")
    assert reach[-1] - cut / scale_of(drawing) == pytest.approx(plan["creep"]["fore_edge_trim_mm"], abs=1e-5)


@pytest.mark.parametrize("name", NAMES)
def test_the_block_has_all_its_sections_front_to_back(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    drawing = block(plan, "mm")
    number, scale = plan["sections"]["count"], scale_of(drawing)
    outlines = [
        mark
        for mark in drawing.marks()
        if isinstance(mark, Polyline) and len(mark.points) == 4 and mark.style == "narrow"
    ]
    assert len(outlines) == number
    tops = [mark.points[1][1] for mark in outlines]
    assert tops == sorted(tops)
    edge = outlines[-1].points[2][1] - outlines[0].points[1][1]
    assert edge / scale == pytest.approx(plan["spine"]["fore_edge_mm"]["value"])
    back = outlines[-1].points[3][1] - outlines[0].points[0][1]
    if plan["text_block"]["structure"] != "rounded-case":
        assert back / scale == pytest.approx(plan["spine"]["spine_mm"]["value"])


def test_a_round_back_has_the_length_that_the_plan_gives(plans: dict[str, Any]) -> None:
    """The folds lie on an arc over the block: their chord is inside the fore-edge's thickness, the arc the plan's."""
    plan = plans["rounded-case"]
    drawing = block(plan, "mm")
    scale = scale_of(drawing)
    edge, arc = plan["spine"]["fore_edge_mm"]["value"], plan["spine"]["arc_mm"]["value"]
    folds = [(mark.x - mark.radius, mark.y) for mark in drawing.marks() if isinstance(mark, Arc)]
    first, middle, last = folds[0], folds[len(folds) // 2], folds[-1]
    assert first[0] == pytest.approx(last[0])
    assert middle[0] < first[0]
    assert last[1] - first[1] < edge * scale
    walked = sum(math.dist(a, b) for a, b in itertools.pairwise(folds)) / scale
    number = len(folds)
    assert walked == pytest.approx(arc * (number - 1) / number, rel=0.01)
    low, high = 0.0, 180.0
    for _ in range(60):
        angle = (low + high) / 2
        low, high = (angle, high) if arc_ratio(angle) < arc / edge else (low, angle)
    assert 0 < angle < 180


@pytest.mark.parametrize("name", ["pocket-logbook", "long-stitch-ledger", "pamphlet"])
def test_threads_reach_the_cover_at_the_sewing_lines(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    drawing = block(plan, "mm")
    threads = [mark for mark in drawing.marks() if isinstance(mark, Line) and mark.style == "dashed"]
    assert [mark.y2 / scale_of(drawing) for mark in threads] == pytest.approx(plan["stitching"]["lines_mm"])
    assert len({mark.x2 for mark in threads}) == 1
    (cover,) = (mark for mark in drawing.marks() if isinstance(mark, Polyline) and mark.style == "wide")
    assert min(x for x, _ in cover.points) == threads[0].x2


def test_one_sheet_in_a_section_does_not_creep(plans: dict[str, Any]) -> None:
    plan = plans["soft-cover"]
    one = {**plan, "sections": {**plan["sections"], "sheets_per_section": 1}}
    nothing = {"value": 0.0, "low": 0.0, "high": 0.0}
    one["creep"] = {**plan["creep"], "creep_mm": nothing}
    drawing = section(one, "mm")
    assert not any("creep" in dimension.text for dimension in drawing.dimensions)  # type: ignore[union-attr]
    assert drawing.note.startswith("1 sheet,")
