"""The printed sheet, rendered by pdfium and measured: true size, nothing overlapping, fonts inside."""

from __future__ import annotations

import io
import itertools
from typing import Any

import numpy as np
import pytest
from measuring import NAMES, Rendered, centres

from matref.bench import sheet_of_work_pdf
from matref.bench.page import PAPERS
from matref.errors import BadInput

PER_MM = 40.0
BAR_MM = (9.0, 13.7)
"""Where the ticks of the check bar lie on a page."""


def printed(plan: object, paper: str = "A4", units: str = "mm") -> Rendered:
    stream = io.BytesIO()
    sheet_of_work_pdf(plan, stream, paper, units)
    return Rendered(stream.getvalue())


def true_size_pages(pdf: Rendered) -> list[int]:
    return [number for number, (width, height) in enumerate(pdf.sizes_mm()) if width > height]


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("name", NAMES)
def test_the_bar_measures_100_mm(plans: dict[str, Any], name: str, paper: str) -> None:
    pdf = printed(plans[name], paper)
    pages = true_size_pages(pdf)
    assert pages
    for number in pages:
        dark = pdf.dark(number, *BAR_MM, PER_MM)[:, round(33 * PER_MM) : round(140 * PER_MM)]  # beside the words
        rows = [centres(row) for row in dark]
        ticks = [row for row in rows if len(row) == 11]
        assert len(ticks) > 0.5 * PER_MM  # ticks every 10 mm, at least a millimetre high
        for row in ticks:
            assert (row[-1] - row[0]) / PER_MM == pytest.approx(100, abs=0.1)
            assert np.diff(row) / PER_MM == pytest.approx(10, abs=0.1)


@pytest.mark.parametrize("name", [name for name in NAMES if name != "quarter-cloth-case"])
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_sewing_lines_lie_where_the_plan_says(plans: dict[str, Any], name: str, paper: str) -> None:
    """On the first strip, between two stations: its edges, and between them the lines, front upward."""
    stitching, height = plans[name]["stitching"], plans[name]["text_block"]["page_height_mm"]
    pdf = printed(plans[name], paper)
    number = true_size_pages(pdf)[0]
    first, last = stitching["seam_from_head_mm"]
    stops = [stop for stop in (stitching["stations_mm"] or [first, last]) if stop < 200]
    wide = max(itertools.pairwise(stops), key=lambda pair: pair[1] - pair[0]) if len(stops) > 1 else (first, 200)
    at = 19.0 + wide[0] + 0.4 * (wide[1] - wide[0])
    assert at < 19 + height
    lines = stitching["lines_mm"] or [0.0]
    deep = max([12.0, *(2 * abs(line) + 8 for line in lines)])
    top = 25.0
    column = pdf.dark(number, top, top + deep + 16, PER_MM)[:, round(at * PER_MM)]
    found = [centre / PER_MM for centre in centres(column)]
    edges = next((a, b) for a, b in itertools.combinations(found, 2) if abs(b - a - deep) < 0.06)
    middle = sum(edges) / 2
    inner = [place - middle for place in found if edges[0] + 0.1 < place < edges[1] - 0.1]
    assert inner == pytest.approx(lines, abs=0.06)


@pytest.mark.parametrize("name", ["long-stitch-ledger", "quarter-cloth-case", "flat-back-case"])
def test_stations_lie_where_the_plan_says(plans: dict[str, Any], name: str) -> None:
    """Ticks at the strip's upper edge, from its left end, the head."""
    stations = plans[name]["stitching"]["stations_mm"]
    lines = plans[name]["stitching"]["lines_mm"] or [0.0]
    deep = max([12.0, *(2 * abs(line) + 8 for line in lines)])
    pdf = printed(plans[name])
    number = true_size_pages(pdf)[0]
    dark = pdf.dark(number, 25.0, 25.0 + deep + 16, PER_MM)
    left = round(19.0 * PER_MM)
    column = centres(dark[:, left + 60])
    top = next(a for a, b in itertools.combinations(column, 2) if abs((b - a) / PER_MM - deep) < 0.06)
    found = [(x - left) / PER_MM for x in centres(dark[round(top + 0.8 * PER_MM)])]
    inside = [x for x in found if 1 < x < plans[name]["text_block"]["page_height_mm"] - 0.5]
    assert inside == pytest.approx(stations, abs=0.06)


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", NAMES)
def test_no_text_overlaps_or_leaves_the_page(plans: dict[str, Any], name: str, units: str, paper: str) -> None:
    pdf = printed(plans[name], paper, units)
    for number, (width, height) in enumerate(pdf.sizes_mm()):
        texts = [(text, box) for text, box in pdf.texts(number) if text.strip()]
        assert len(texts) > 5
        for text, (left, bottom, right, top) in texts:
            assert left > 8, text
            assert right < width - 8, text
            assert bottom > 8, text
            assert top < height - 8, text
        texts.sort(key=lambda one: one[1][1])
        for place, (text, (left, bottom, right, top)) in enumerate(texts):
            for other, (left2, bottom2, right2, top2) in texts[place + 1 :]:
                if bottom2 > top:
                    break
                across = min(right, right2) - max(left, left2)
                down = min(top, top2) - max(bottom, bottom2)
                assert min(across, down) < 0.1, (number + 1, text, other)


@pytest.mark.parametrize("name", NAMES)
def test_fonts_are_embedded_and_pages_are_as_asked(plans: dict[str, Any], name: str) -> None:
    pdf = printed(plans[name], "letter")
    fonts = pdf.fonts()
    assert len(fonts) == 2
    assert all(fonts.values()), fonts
    assert all("DejaVuSansCondensed" in font for font in fonts)
    width, height = PAPERS["letter"]
    assert {tuple(round(side, 1) for side in size) for size in pdf.sizes_mm()} == {
        (width, height),
        (height, width),
    }


def test_a_letter_that_no_one_expects_is_printed(plans: dict[str, Any]) -> None:
    plan = {**plans["pocket-logbook"], "title": "Журнал ½ × ² ≥ µ œuvre ő \x07\U0001f4d3"}
    words = [text for text, _ in printed(plan).texts(0)]
    assert any(word.startswith("Журнал ½ × ² ≥ µ œuvre ő") for word in words)


def test_the_same_plan_gives_the_same_bytes(plans: dict[str, Any]) -> None:
    streams = [io.BytesIO(), io.BytesIO()]
    for stream in streams:
        sheet_of_work_pdf(plans["pamphlet"], stream)
    assert streams[0].getvalue() == streams[1].getvalue()


@pytest.mark.parametrize(
    ("plan", "more"),
    [({"text_block": {}}, {"paper": "A7"}), ({"text_block": {}}, {"units": "ell"}), ({}, {}), (None, {})],
)
def test_what_makes_no_sense_is_refused(plan: object, more: dict[str, str]) -> None:
    stream = io.BytesIO()
    with pytest.raises(BadInput) as refused:
        sheet_of_work_pdf(plan, stream, **more)
    assert "\n" not in str(refused.value)
    assert stream.getvalue() == b""
