"""SVG and PDF show the same marks at the same places: one drawing through both, measured."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

import numpy as np
import pytest
from measuring import Rendered, centres

from matref.bench.marks import DASHES, WIDTHS, Arc, Box, Line, Polyline, Style, Text, disc, rectangle
from matref.bench.page import Page
from matref.bench.pdf import pdf_bytes
from matref.bench.svg import clean, element

PER_MM = 40.0


def printed(*marks: Any) -> Any:
    """Pixels of a page of 100 x 60 mm with some marks whose origin lies at (10, 5)."""
    page = Page(100, 60)
    page.add(10, 5, marks)
    return Rendered(pdf_bytes([page], "a test")).dark(0, 0, 60, PER_MM)


@pytest.mark.parametrize("style", ["wide", "narrow"])
def test_a_line_is_where_and_as_wide_as_it_says(style: Style) -> None:
    dark = printed(Line(20, 10, 20, 40, style), Line(30, 20, 70, 20, style))
    row = dark[round(25 * PER_MM)]
    assert centres(row)[0] / PER_MM == pytest.approx(30, abs=0.03)
    column = dark[:, round(60 * PER_MM)]
    assert centres(column)[0] / PER_MM == pytest.approx(25, abs=0.03)
    assert column.sum() / PER_MM == pytest.approx(WIDTHS[style], abs=0.05)


@pytest.mark.parametrize("style", ["dashed", "chain", "double-dotted"])
def test_dashes_have_their_lengths(style: Style) -> None:
    dark = printed(Line(0, 20, 80, 20, style))[round(25 * PER_MM), round(10 * PER_MM) : round(90 * PER_MM)]
    edges = np.flatnonzero(np.diff(np.concatenate(([False], dark, [False])).astype(int))) / PER_MM
    lengths = np.diff(edges)
    whole = np.resize(DASHES[style], len(lengths))
    assert lengths[:-1] == pytest.approx(whole[:-1], abs=0.06)


def test_an_arc_runs_clockwise_from_the_right() -> None:
    """A quarter from 0 to 90 degrees lies below and to the right of its centre."""
    dark = printed(Arc(30, 20, 10, 0, 90))
    rows, columns = np.nonzero(dark)
    assert columns.min() / PER_MM == pytest.approx(40, abs=0.15)
    assert columns.max() / PER_MM == pytest.approx(50, abs=0.15)
    assert rows.min() / PER_MM == pytest.approx(25, abs=0.15)
    assert rows.max() / PER_MM == pytest.approx(35, abs=0.15)
    far = np.hypot(columns / PER_MM - 40, rows / PER_MM - 25)
    assert far == pytest.approx(np.full(len(far), 10.0), abs=0.15)
    path = ET.fromstring(element(Arc(30, 20, 10, 0, 90)))
    assert path.attrib["d"] == "M40 20A10 10 0 0 1 30 30"  # sweep 1 is clockwise on the page (SVG 2, 9.3.8)
    assert ET.fromstring(element(Arc(30, 20, 10, 0, 360))).tag == "circle"
    assert " 1 1 " in element(Arc(0, 0, 5, 0, 270))


def test_white_hides_and_black_fills() -> None:
    box = Box(10, 10, 30, 30)
    over = Polyline(rectangle(box).points, "narrow", closed=True, fill="white")
    dark = printed(*(Line(0, y, 60, y, "wide") for y in range(5, 40, 5)), over)
    assert not dark[round(25 * PER_MM), round(21 * PER_MM) : round(39 * PER_MM)].any()
    assert dark[round(25 * PER_MM), round(45 * PER_MM)]
    full = printed(*disc(20, 20, 5, fill="black"))
    assert full.sum() / PER_MM**2 == pytest.approx(np.pi * (5 + WIDTHS["narrow"] / 2) ** 2, rel=0.02)
    assert 'fill="white"' in element(over)


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_the_ink_of_a_text_lies_in_its_box(anchor: Any, upright: bool) -> None:
    text = Text(40, 30, "HEAD 100", 4, anchor, upright=upright)
    rows, columns = np.nonzero(printed(text))
    box = text.box
    assert columns.min() / PER_MM >= 10 + box.left - 0.05
    assert columns.max() / PER_MM <= 10 + box.right + 0.05
    assert rows.min() / PER_MM >= 5 + box.top - 0.08
    assert rows.max() / PER_MM <= 5 + box.bottom + 0.05
    long = (rows.max() - rows.min() if upright else columns.max() - columns.min()) / PER_MM
    assert long == pytest.approx(text.width, abs=1.0)
    found = ET.fromstring(element(text))
    assert found.attrib.get("text-anchor", "start") == anchor
    assert ("rotate(-90" in found.attrib.get("transform", "")) == upright


def test_a_polyline_as_svg() -> None:
    open_one = ET.fromstring(element(Polyline(((0, 0), (1, 2), (3, 4)))))
    assert (open_one.tag, open_one.attrib["points"]) == ("polyline", "0,0 1,2 3,4")
    assert ET.fromstring(element(rectangle(Box(0, 0, 1, 1)))).tag == "polygon"


def test_text_that_xml_forbids_is_left_out() -> None:
    assert clean("a\x00b\x08c\x7fd\ud800e\ufffff") == "abcdef"
    assert clean("tab\there <&>") == "tab\there &lt;&amp;&gt;"
