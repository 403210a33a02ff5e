"""Drawings as SVG: plain XML in millimetres, black on white, in whatever sans-serif face the reader has."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from matref.bench.drawing import Drawing
from matref.bench.marks import DASHES, WIDTHS, Arc, Box, Line, Mark, Polyline, Style, Text

MARGIN_MM = 4.0
CAPTION_MM = 3.2
_BETWEEN_MM = 8.0
_NAMESPACE = "http://www.w3.org/2000/svg"


def svg(drawing: Drawing, *, caption: bool = True) -> str:
    """Return one drawing as a complete SVG document of its own size."""
    return svg_of([drawing], caption=caption)


def svg_of(drawings: Sequence[Drawing], *, caption: bool = True) -> str:
    """Return drawings one below the other in one SVG document; each is a group with its name as id."""
    groups, top, width = [], MARGIN_MM, 0.0
    for drawing in drawings:
        box, head = drawing.box, CAPTION_MM * 2 if caption else 0.0
        lines = [drawing.caption, *([drawing.note] if drawing.note else [])] if caption else []
        words = [
            Text(0, CAPTION_MM + n * 4, line, CAPTION_MM if n == 0 else 2.4, "start", bold=n == 0)
            for n, line in enumerate(lines)
        ]
        head = 2.0 + 4.0 * len(words)
        shift_x, shift_y = MARGIN_MM - box.left, top + head - box.top
        scale = "" if drawing.scale is None else f' data-scale="{drawing.scale:.10g}"'
        body = "".join(element(mark) for mark in drawing.marks())
        groups.append(
            f'<g id="{escape(drawing.name)}"{scale}>'
            f'<g transform="translate({_n(MARGIN_MM)} {_n(top)})">{"".join(element(word) for word in words)}</g>'
            f'<g transform="translate({_n(shift_x)} {_n(shift_y)})">{body}</g></g>\n'
        )
        width = max(width, box.width, *(word.box.right for word in words), 0.0)
        top += head + box.height + _BETWEEN_MM
    title = drawings[0].caption if len(drawings) == 1 else "Drawings"
    return document("".join(groups), Box(0, 0, width + 2 * MARGIN_MM, top - _BETWEEN_MM + MARGIN_MM), title)


def document(body: str, box: Box, title: str) -> str:
    """Return an SVG document whose units are millimetres."""
    size = f"{_n(box.width)} {_n(box.height)}"
    return (
        f'<svg xmlns="{_NAMESPACE}" width="{_n(box.width)}mm" height="{_n(box.height)}mm" '
        f'viewBox="{_n(box.left)} {_n(box.top)} {size}" font-family="sans-serif" fill="none" stroke="black">\n'
        f"<title>{clean(title)}</title>\n{body}</svg>\n"
    )


def element(mark: Mark) -> str:
    """Return one mark as an SVG element."""
    if isinstance(mark, Line):
        ends = f'x1="{_n(mark.x1)}" y1="{_n(mark.y1)}" x2="{_n(mark.x2)}" y2="{_n(mark.y2)}"'
        return f"<line {ends}{_stroke(mark.style)}/>"
    if isinstance(mark, Polyline):
        points = " ".join(f"{_n(x)},{_n(y)}" for x, y in mark.points)
        fill = f' fill="{mark.fill}"' if mark.fill else ""
        return f'<{"polygon" if mark.closed else "polyline"} points="{points}"{fill}{_stroke(mark.style)}/>'
    if isinstance(mark, Arc):
        return _arc(mark)
    return _text(mark)


def clean(text: str) -> str:
    """Return text that may stand in XML: escaped, and without the characters that XML forbids.

    >>> clean("card < cloth & \\x00")
    'card &lt; cloth &amp; '
    """
    allowed = "".join(
        c
        for c in text
        if c in "\t\n"
        or (c >= " " and not "\x7f" <= c <= "\x9f" and not "\ud800" <= c <= "\udfff" and c not in "\ufffe\uffff")
    )
    return escape(allowed)


def _arc(arc: Arc) -> str:
    if arc.end_deg - arc.start_deg >= 360:
        return f'<circle cx="{_n(arc.x)}" cy="{_n(arc.y)}" r="{_n(arc.radius)}"{_stroke(arc.style)}/>'
    (x1, y1), (x2, y2) = arc.point(arc.start_deg), arc.point(arc.end_deg)
    large = int(arc.end_deg - arc.start_deg > 180)
    radius = _n(arc.radius)
    return f'<path d="M{_n(x1)} {_n(y1)}A{radius} {radius} 0 {large} 1 {_n(x2)} {_n(y2)}"{_stroke(arc.style)}/>'


def _text(text: Text) -> str:
    turn = f' transform="rotate(-90 {_n(text.x)} {_n(text.y)})"' if text.upright else ""
    bold = ' font-weight="bold"' if text.bold else ""
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    place = f'x="{_n(text.x)}" y="{_n(text.y)}" font-size="{_n(text.size_mm)}"'
    return f'<text {place}{anchor}{bold}{turn} fill="black" stroke="none">{clean(text.text)}</text>'


def _stroke(style: Style) -> str:
    dashes = f' stroke-dasharray="{" ".join(_n(d) for d in DASHES[style])}"' if DASHES[style] else ""
    return f' stroke-width="{_n(WIDTHS[style])}"{dashes}'


def _n(number: float) -> str:
    return f"{round(number, 4) + 0.0:.10g}"
