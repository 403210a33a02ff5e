"""Pages as PDF, by reportlab, with the typeface embedded. Imported only when a PDF is asked for."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from matref.bench.marks import DASHES, WIDTHS, Arc, Line, Mark, Polyline, Style, Text
from matref.bench.page import Page
from matref.bench.typeface import BOLD, REGULAR, font_bytes


def pdf_bytes(pages: Sequence[Page], title: str) -> bytes:
    """Return a PDF of the pages, the same bytes for the same pages."""
    _register()
    stream = BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1, initialFontName=REGULAR)
    canvas.setTitle(title)
    canvas.setCreator("matref")
    canvas.setAuthor("")
    for page in pages:
        canvas.setPageSize((page.width * mm, page.height * mm))
        for x, y, marks in page.groups:
            for mark in marks:
                _draw(canvas, mark, x, y, page.height)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


@cache
def _register() -> None:
    for name in (REGULAR, BOLD):
        pdfmetrics.registerFont(TTFont(name, BytesIO(font_bytes(name))))


def _draw(canvas: Canvas, mark: Mark, x: float, y: float, height: float) -> None:
    """Draw a mark whose origin is at (x, y) from the top left; PDF counts from the bottom."""

    def at(across: float, down: float) -> tuple[float, float]:
        return (x + across) * mm, (height - y - down) * mm

    if isinstance(mark, Text):
        _text(canvas, mark, at(mark.x, mark.y))
        return
    _pen(canvas, mark.style)
    if isinstance(mark, Line):
        canvas.line(*at(mark.x1, mark.y1), *at(mark.x2, mark.y2))
    elif isinstance(mark, Arc):
        path = canvas.beginPath()
        left, top = at(mark.x - mark.radius, mark.y - mark.radius)
        right, bottom = at(mark.x + mark.radius, mark.y + mark.radius)
        path.arc(left, bottom, right, top, -mark.start_deg, mark.start_deg - mark.end_deg)
        canvas.drawPath(path)
    else:
        _polyline(canvas, mark, [at(*point) for point in mark.points])


def _polyline(canvas: Canvas, mark: Polyline, points: Sequence[tuple[float, float]]) -> None:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if mark.closed:
        path.close()
    canvas.setFillGray(1 if mark.fill == "white" else 0)
    canvas.drawPath(path, stroke=1, fill=int(bool(mark.fill)))


def _pen(canvas: Canvas, style: Style) -> None:
    canvas.setLineWidth(WIDTHS[style] * mm)
    canvas.setDash([part * mm for part in DASHES[style]])


def _text(canvas: Canvas, text: Text, place: tuple[float, float]) -> None:
    before = {"start": 0.0, "middle": text.width / 2, "end": text.width}[text.anchor] * mm
    canvas.setFont(BOLD if text.bold else REGULAR, text.size_mm * mm)
    canvas.setFillGray(0)
    if not text.upright:
        canvas.drawString(place[0] - before, place[1], text.text)
        return
    canvas.saveState()
    canvas.translate(*place)
    canvas.rotate(90)
    canvas.drawString(-before, 0, text.text)
    canvas.restoreState()
