"""SVG and HTML: well-formed, to scale, self-contained, escaped, and saying what the plan says."""

from __future__ import annotations

import html as html_module
import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from typing import Any

import pytest
from measuring import NAMES, numbers

from matref.bench import drawings, plan_svg, sheet_of_work_html
from matref.bench.content import sheet_of_work
from matref.bench.lengths import dimension
from matref.errors import BadInput

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '<script>alert(1)</script> & "quoted" ]]> \x00\x07\ufffe'


@pytest.mark.parametrize("name", NAMES)
def test_all_drawings_are_in_one_file_in_millimetres(plans: dict[str, Any], name: str) -> None:
    root = ET.fromstring(plan_svg(plans[name]))
    assert root.tag == f"{SVG}svg"
    assert root.attrib["width"].endswith("mm")
    box = [float(side) for side in root.attrib["viewBox"].split()]
    assert root.attrib["width"] == f"{box[2]:.10g}mm"
    assert [group.attrib["id"] for group in root.findall(f"{SVG}g")] == [d.name for d in drawings(plans[name])]
    assert {element.attrib.get("stroke") for element in root.iter()} <= {None, "black", "none"}
    assert {element.attrib.get("fill") for element in root.iter()} <= {None, "black", "white", "none"}


@pytest.mark.parametrize("name", ["pocket-logbook", "long-stitch-ledger", "soft-cover"])
def test_sewing_lines_of_the_svg_lie_to_scale(plans: dict[str, Any], name: str) -> None:
    root = ET.fromstring(plan_svg(plans[name], "lines"))
    group = root.find(f"{SVG}g")
    assert group is not None
    scale = float(group.attrib["data-scale"])
    lines = [line.attrib for line in root.iter(f"{SVG}line") if line.attrib["x1"] == line.attrib["x2"]]
    (centre,) = {float(line["x1"]) for line in lines if line.get("stroke-dasharray", "").count(" ") == 3}
    sewn = [(float(line["x1"]) - centre) / scale for line in lines if line.get("stroke-dasharray", "").count(" ") == 1]
    assert sewn == pytest.approx(plans[name]["stitching"]["lines_mm"], abs=1e-3)


def test_the_cover_of_the_svg_is_cut_to_size(plans: dict[str, Any]) -> None:
    root = ET.fromstring(plan_svg(plans["pocket-logbook"], "cover"))
    scale = float(root.find(f"{SVG}g").attrib["data-scale"])  # type: ignore[union-attr]
    outline = next(p for p in root.iter(f"{SVG}polygon") if p.attrib["stroke-width"] == "0.5")
    xs, ys = zip(*(map(float, point.split(",")) for point in outline.attrib["points"].split()), strict=True)
    part = next(part for part in plans["pocket-logbook"]["cover"]["parts"] if part["name"] == "cloth")
    assert (max(xs) - min(xs)) / scale == pytest.approx(part["width_mm"], abs=1e-3)
    assert (max(ys) - min(ys)) / scale == pytest.approx(part["height_mm"], abs=1e-3)


def test_an_unknown_drawing_is_refused_with_the_known_ones(plans: dict[str, Any]) -> None:
    with pytest.raises(BadInput, match="cover, section, block"):
        plan_svg(plans["pamphlet"], "elevation")


class Page(HTMLParser):
    """What a browser would make of the page: its text, its tags, what they refer to."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.tags: list[str] = []
        self.references: list[str] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.references += [
            value or "" for key, value in attrs if key in ("src", "href", "action") or key.startswith("on")
        ]
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_startendtag(self, tag: str, attrs: object) -> None:  # noqa: ARG002 - the parser's signature
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", NAMES)
def test_html_says_all_that_the_sheet_says(plans: dict[str, Any], name: str, units: str) -> None:
    page = Page(sheet_of_work_html(plans[name], units))
    sheet = sheet_of_work(plans[name], units)  # type: ignore[arg-type]
    assert page.open == []
    said = [sheet.title, *sheet.warnings, *sheet.needs, *sheet.rests_on, *sheet.general]
    said += [text for fact in sheet.facts for text in fact]
    said += [text for part in sheet.parts for text in (part.name, part.size, part.made_of)]
    said += [text for step in sheet.steps for text in (step.do, *step.cautions)]
    said += [cut for _, cuts in sheet.layouts for cut in cuts]
    for text in said:
        assert " ".join(text.split()) in page.text, text
    assert page.tags.count("svg") >= len(sheet.drawings) + len(sheet.layouts) + len(sheet.strips) + 1
    assert page.references == []
    assert "script" not in page.tags
    assert not re.search(r"url\(|@import|https?://(?!www\.w3\.org/2000/svg)", sheet_of_work_html(plans[name], units))


@pytest.mark.parametrize("name", NAMES)
def test_numbers_of_the_plan_are_in_the_html(plans: dict[str, Any], name: str) -> None:
    plan = plans[name]
    text = Page(sheet_of_work_html(plan)).text
    for part in plan["cover"]["parts"]:
        assert re.search(rf"{part['count']} × {re.escape(part['name'])}", text)
        assert dimension(part["height_mm"], "mm") in text
    for caution in plan["cautions"]:
        assert " ".join(caution["text"].split()) in text
    for station in numbers(plan["stitching"]["stations_mm"]):
        assert dimension(station, "mm") in text
    for row in plan["rests_on"]:
        assert row["what"] in text


def test_nothing_typed_breaks_out_of_the_page(plans: dict[str, Any]) -> None:
    plan = {**plans["pocket-logbook"], "title": HOSTILE}
    plan["text_block"] = {**plan["text_block"], "paper": HOSTILE}
    plan["warnings"] = [HOSTILE]
    plan["cover"] = {**plan["cover"], "parts": [{**part, "material": HOSTILE} for part in plan["cover"]["parts"]]}
    text = sheet_of_work_html(plan)
    page = Page(text)
    assert "script" not in page.tags
    assert "<script>" in page.text  # as words
    assert "\x00" not in text
    for piece in re.findall(r"<svg.*?</svg>", text, re.S):
        ET.fromstring(piece)
    assert html_module.escape("<script>") in plan_svg(plan, "parts")
    ET.fromstring(plan_svg(plan))
