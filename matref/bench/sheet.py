"""The sheet of work of a plan: as PDF, as HTML, and its drawings as SVG."""

from __future__ import annotations

from collections.abc import Sequence

from matref.bench.content import sheet_of_work
from matref.bench.drawing import Drawing
from matref.bench.lengths import plain, units_of
from matref.bench.page import paper_size
from matref.bench.svg import svg_of
from matref.bench.write import Place, write_whole
from matref.errors import BadInput


def sheet_of_work_pdf(plan: object, place: Place, paper: str = "A4", units: str = "mm") -> None:
    """Write the sheet of work to a path or a binary stream: pages to work from, then marks at true size.

    plan: a plan or its JSON. paper: "A4" or "letter"; units: "mm" or "in". A path holds the whole file or stays as
    it was. BadInput for what makes no sense, FileTrouble where it cannot be written.
    """
    size, shown, values = paper_size(paper), units_of(units), plain(plan)
    sheet = sheet_of_work(values, shown)
    from matref.bench.compose import pages_of
    from matref.bench.pdf import pdf_bytes

    write_whole(pdf_bytes(pages_of(sheet, size, shown), sheet.title), place)


def sheet_of_work_html(plan: object, units: str = "mm") -> str:
    """Return the sheet of work as one HTML page, drawings and true-size marks included."""
    from matref.bench.html import html

    shown = units_of(units)
    return html(sheet_of_work(plain(plan), shown), shown)


def drawings(plan: object, units: str = "mm") -> tuple[Drawing, ...]:
    """Return all drawings of a plan: cover, section, block, parts, lines, stations, layout-1 …; some have fewer."""
    sheet = sheet_of_work(plain(plan), units_of(units))
    return (*sheet.drawings, *(drawing for drawing, _ in sheet.layouts))


def plan_svg(plan: object, which: str = "all", units: str = "mm") -> str:
    """Return one drawing of a plan as SVG by its name, or "all" of them one below the other."""
    found = drawings(plan, units)
    return svg_of(found if which == "all" else [_named(found, which)])


def _named(found: Sequence[Drawing], which: str) -> Drawing:
    for drawing in found:
        if drawing.name == which:
            return drawing
    names = ", ".join(drawing.name for drawing in found)
    raise BadInput(f'no drawing "{which[:40]}" of this plan', expected=f"all or one of {names}", example="cover")
