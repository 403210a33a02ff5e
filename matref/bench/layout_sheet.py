"""Cutting layouts by themselves, of parts given by hand: pages for the bench, or one SVG."""

from __future__ import annotations

from collections.abc import Sequence

from matref.bench.flow import Flow
from matref.bench.layout_view import laid_out
from matref.bench.lengths import Plain, units_of
from matref.bench.page import footed, paper_size
from matref.bench.setting import Paragraph
from matref.bench.svg import svg_of
from matref.bench.write import Place, write_whole


def layouts_pdf(
    listed: Sequence[Plain],
    place: Place,
    title: str = "Cutting layout",
    words: Sequence[str] = (),
    paper: str = "A4",
    units: str = "mm",
) -> None:
    """Write layouts to a path or a binary stream: each drawing with its cuts in order, `words` at the head.

    listed: the plain values of layouts (`matref.book.cutting.Layout.as_json`), each with its "piece". Pieces cut alike
    are drawn once.
    """
    from matref.bench.compose import cut_list
    from matref.bench.pdf import pdf_bytes

    size, shown = paper_size(paper), units_of(units)
    flow = Flow(size)
    flow.text([Paragraph(title, 5.0, bold=True), *(Paragraph(line, 2.8) for line in words)])
    flow.gap(3)
    flow.with_text([(drawing, cut_list(cuts)) for drawing, cuts in laid_out(listed, shown)])
    footed(flow.pages, f"{title}. Dimensions in {'millimetres' if shown == 'mm' else 'inches'}.")
    write_whole(pdf_bytes(flow.pages, title), place)


def layouts_svg(listed: Sequence[Plain], units: str = "mm") -> str:
    """Return the drawings of layouts one below the other as SVG."""
    return svg_of([drawing for drawing, _ in laid_out(listed, units_of(units))])
