"""Marks, dimensions and chains: where they lie and how their texts make room."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.bench.chains import Segment, chain, running, spread
from matref.bench.drawing import SCALES, Drawing, scale_for, scale_words
from matref.bench.marks import Arc, Box, Line, Text, arrow, disc, extent, hatching, rectangle
from matref.bench.typeface import text_width_mm

PLACES = st.lists(st.floats(0, 200), min_size=1, max_size=12).map(sorted)


@given(PLACES, st.floats(0.5, 20))
def test_spread_keeps_order_and_distance(wanted: list[float], width: float) -> None:
    found = spread(wanted, [width] * len(wanted))
    assert all(b - a >= width - 1e-9 for a, b in itertools.pairwise(found))


@given(PLACES, st.floats(0.5, 20))
def test_spread_is_the_nearest_of_its_kind(wanted: list[float], width: float) -> None:
    """Least squares: no shift of a whole run of texts to either side comes nearer (first-order condition)."""
    found = spread(wanted, [width] * len(wanted))

    def far(places: list[float]) -> float:
        return sum((a - b) ** 2 for a, b in zip(places, wanted, strict=True))

    for first in range(len(found)):
        for last in range(first, len(found)):
            for step in (-0.01, 0.01):
                moved = [p + step if first <= n <= last else p for n, p in enumerate(found)]
                if all(b - a >= width - 1e-9 for a, b in itertools.pairwise(moved)):
                    assert far(moved) >= far(found) - 1e-9


@given(st.floats(0.1, 5000), st.floats(0.1, 5000), st.floats(20, 300), st.floats(20, 300))
def test_the_scale_is_the_largest_of_the_standard_that_fits(w: float, h: float, room_w: float, room_h: float) -> None:
    """ISO 5455: 1, 2, 5 and their tenfolds."""
    scale = scale_for(w, h, (room_w, room_h))
    assert scale in SCALES
    assert all(round(s if s >= 1 else 1 / s) in (1, 2, 5, 10, 20, 50, 100) for s in SCALES)
    if scale > SCALES[-1]:
        assert w * scale <= room_w
        assert h * scale <= room_h
    for larger in (s for s in SCALES if s > scale):
        assert w * larger > room_w or h * larger > room_h


def test_scales_in_words() -> None:
    assert [scale_words(s) for s in (10, 1, 0.2)] == ["10:1", "1:1", "1:5"]


@given(st.floats(-50, 50), st.floats(-50, 50), st.floats(0.5, 60), st.floats(0.5, 60))
def test_hatching_stays_inside(x: float, y: float, w: float, h: float) -> None:
    box = Box(x, y, x + w, y + h)
    for line in hatching(box):
        assert line.box.left >= box.left - 1e-9
        assert line.box.right <= box.right + 1e-9
        assert line.box.top >= box.top - 1e-9
        assert line.box.bottom <= box.bottom + 1e-9
        assert abs(line.x2 - line.x1) == pytest.approx(abs(line.y2 - line.y1))


def test_a_crowded_text_stands_outside_with_a_leader() -> None:
    segments = [Segment(0, 60, 120, "board 120"), Segment(60, 64, 8, "joint 8"), Segment(64, 66, 4, "spine piece 4")]
    found = chain("x", segments, 70, 60)
    assert [d.moved is None for d in found] == [True, False, False]
    boxes = [mark.box for d in found for mark in d.marks() if isinstance(mark, Text)]
    assert not any(a.overlaps(b) for n, a in enumerate(boxes) for b in boxes[:n])
    upright = chain("y", segments, -8, 0)
    assert all(mark.upright for d in upright for mark in d.marks() if isinstance(mark, Text))


def test_a_dimension_has_extension_lines_and_strokes_at_both_ends() -> None:
    (one,) = chain("x", [Segment(10, 50, 80, "80")], -6, 0)
    lines = [mark for mark in one.marks() if isinstance(mark, Line)]
    strokes = [line for line in lines if abs(line.x2 - line.x1) == pytest.approx(abs(line.y2 - line.y1))]
    assert sorted((s.x1 + s.x2) / 2 for s in strokes) == [10, 50]
    assert all((s.y1 + s.y2) / 2 == pytest.approx(-6) for s in strokes)
    upright = sorted(line.x1 for line in lines if line.x1 == line.x2)
    assert upright == [10, 50]


def test_running_dimensions_begin_at_a_circle() -> None:
    found = running("x", 0, [(10, 20.0, "20"), (11, 22.0, "22")], 8, 4)
    (circle,) = (mark for mark in found.marks() if isinstance(mark, Arc))
    assert (circle.x, circle.y) == (0, 8)
    assert found.values_mm == (20.0, 22.0)
    texts = [mark.box for mark in found.marks() if isinstance(mark, Text)]
    assert not texts[0].overlaps(texts[1])


@given(st.floats(0, 359), st.floats(1, 360))
def test_the_box_of_an_arc_holds_it(start: float, turn: float) -> None:
    arc = Arc(3, 4, 10, start, start + turn)
    for n in range(51):
        x, y = arc.point(start + turn * n / 50)
        assert arc.box.left - 1e-9 <= x <= arc.box.right + 1e-9
        assert arc.box.top - 1e-9 <= y <= arc.box.bottom + 1e-9


def test_the_box_of_a_text() -> None:
    for anchor, left in (
        ("start", 10.0),
        ("middle", 10 - text_width_mm("tail", 3) / 2),
        ("end", 10 - text_width_mm("tail", 3)),
    ):
        text = Text(10, 20, "tail", 3, anchor)  # type: ignore[arg-type]
        assert text.box.left == pytest.approx(left)
        assert text.box.width == pytest.approx(text_width_mm("tail", 3))
    upright = Text(10, 20, "tail", 3, upright=True).box
    assert upright.height == pytest.approx(text_width_mm("tail", 3))
    assert (upright.top + upright.bottom) / 2 == pytest.approx(20)


def test_extent_and_little_things() -> None:
    assert extent([]) == Box(0, 0, 0, 0)
    drawing = Drawing("one", "One", None, (rectangle(Box(0, 0, 10, 5)), *arrow(0, 0, 3, 4)))
    assert drawing.box.width == pytest.approx(10.5)
    assert drawing.caption == "One"
    rim, text = disc(0, 0, 2, "12")
    assert rim.box.width == pytest.approx(4)
    assert isinstance(text, Text)
    assert text.width < 4
    head = arrow(0, 0, 3, 4)[1]
    assert math.dist((3, 4), head.points[0]) == 0  # type: ignore[union-attr]
