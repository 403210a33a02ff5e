"""The sheet of work on pages: what is to be cut and how, the drawings, the steps, then the marks at true size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from matref.bench.content import SheetOfWork
from matref.bench.drawing import Drawing
from matref.bench.flow import Flow
from matref.bench.lengths import Units
from matref.bench.marks import Text
from matref.bench.page import MARGIN_MM, Page, footed
from matref.bench.setting import Paragraph
from matref.bench.strips import Strip, check_bar, tiles
from matref.bench.typeface import wrapped

_SMALL = 2.35
_NOTE_MM = 2.4


def pages_of(sheet: SheetOfWork, paper: tuple[float, float], units: Units) -> list[Page]:
    """Return the pages of a sheet of work; the last ones are true size and lie across."""
    flow = Flow(paper)
    flow.text([Paragraph(sheet.title, 5.0, bold=True), Paragraph(sheet.subtitle, 3.0)])
    flow.columns([Paragraph(text, 2.6, head=head, indent_mm=27) for head, text in sheet.facts], 2)
    flow.text([Paragraph(said, 2.6, head="Mind", indent_mm=10) for said in sheet.warnings])
    flow.gap(1.5)
    rows = [(part.name, part.size, part.material, _when(part.grain, part.when), part.made_of) for part in sheet.parts]
    if rows:
        heads = ("Cut, in this order", "Width × height", "From", "Grain; when", "Made up of")
        flow.table(heads, rows, (26, 32, 30, 26, 76))
        flow.gap(3)
    flow.drawings(sheet.drawings)
    flow.columns([*_steps(sheet), *_rest(sheet)], 3)
    flow.gap(2)
    flow.with_text([(drawing, cut_list(cuts)) for drawing, cuts in sheet.layouts])
    true_size = strip_pages(sheet.strips, paper, units)
    pages = [*flow.pages, *true_size]
    measure = "millimetres" if units == "mm" else "inches"
    footed(pages, f"{sheet.title}: {sheet.subtitle}. Dimensions in {measure}.")
    return pages


def cut_list(cuts: Sequence[str]) -> list[Paragraph]:
    """Return the cuts of a layout as numbered paragraphs."""
    return [Paragraph(cut, _SMALL, head=str(number), indent_mm=5) for number, cut in enumerate(cuts, 1)]


def strip_pages(strips: Sequence[Strip], paper: tuple[float, float], units: Units) -> list[Page]:
    """Return pages lying across with the strips at true size, each page with its check bar."""
    width, height = paper[1], paper[0]
    pages: list[Page] = []
    y = height
    for strip in strips:
        for tile in tiles(strip, width - 2 * MARGIN_MM):
            words = _headed(tile, width - 2 * MARGIN_MM)
            deep = 3.4 * len(words) + 1.5 + tile.box.height + 5
            if y + deep > height - MARGIN_MM - 5:
                pages.append(Page(width, height))
                y = _bar(pages[-1], units)
            for number, line in enumerate(words):
                pages[-1].add(MARGIN_MM, y + 2.6 + 3.4 * number, [line])
            top = y + 3.4 * len(words) + 1.5
            pages[-1].add(MARGIN_MM + 9.0, top - tile.box.top, tile.marks())
            y += deep
    return pages


def _headed(drawing: Drawing, room_mm: float) -> list[Text]:
    heads = wrapped(drawing.title, room_mm, 2.8, bold=True)
    return [
        *(Text(0, 0, line, 2.8, "start", bold=True) for line in heads),
        *(Text(0, 0, line, _NOTE_MM, "start") for line in wrapped(drawing.note, room_mm, _NOTE_MM)),
    ]


def _bar(page: Page, units: Units) -> float:
    """Put the check bar at the head of a page; return where the strips begin."""
    bar = check_bar(units)
    page.add(MARGIN_MM, MARGIN_MM + 4, [Text(0, 0, "True size", 4.0, "start", bold=True)])
    page.add(MARGIN_MM + 26, MARGIN_MM + 4, bar.marks())
    room = page.width - 2 * MARGIN_MM - 26 - 100 - 16
    for number, line in enumerate(wrapped(bar.note, room, 2.8)):
        page.add(MARGIN_MM + 26 + 100 + 16, MARGIN_MM + 2.6 + number * 3.6, [Text(0, 0, line, 2.8, "start")])
    return MARGIN_MM + 15


def _when(grain: str, when: str) -> str:
    return f"{grain}; {when}" if when != "now" else grain


def _steps(sheet: SheetOfWork) -> Iterator[Paragraph]:
    yield Paragraph("Steps", 3.4, bold=True)
    yield Paragraph(" ".join(sheet.general), _SMALL, head="!", indent_mm=5, above_mm=0.5)
    for step in sheet.steps:
        yield Paragraph(step.do, 2.6, head=str(step.number), indent_mm=5, above_mm=1.4)
        if step.see is not None:
            yield Paragraph(f"Cautions as at step {step.see} ({step.kind}).", _SMALL, indent_mm=5, above_mm=0.3)
        if step.cautions:
            yield Paragraph(" ".join(step.cautions), _SMALL, head=" !", indent_mm=5, above_mm=0.3)


def _rest(sheet: SheetOfWork) -> Iterator[Paragraph]:
    if sheet.needs:
        yield Paragraph("Needed", 3.0, bold=True)
        for need in sheet.needs:
            yield Paragraph(need, _SMALL, above_mm=0.3)
    yield Paragraph("Rests on", 3.0, bold=True, above_mm=1.5)
    yield Paragraph("; ".join(sheet.rests_on), 2.1, above_mm=0.3)
