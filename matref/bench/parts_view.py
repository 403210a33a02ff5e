"""Every part to cut, side by side at one scale, with its two sides, its count and its grain."""

from __future__ import annotations

from collections.abc import Sequence

from matref.bench.chains import Segment, chain
from matref.bench.cover_view import cover_part
from matref.bench.drawing import Dimensioned, Drawing, scale_for
from matref.bench.lengths import Plain, Units, dimension, half_range
from matref.bench.marks import SMALL_MM, TEXT_MM, Box, Line, Mark, Text, arrow, rectangle
from matref.bench.typeface import text_width_mm, wrapped

_LEFT, _TOP, _GAP, _LINE = 8.0, 9.8, 5.0, 3.4
_LEAST = 26.0


def parts(plan: Plain, units: Units, room_mm: tuple[float, float] = (186.0, 110.0)) -> Drawing | None:
    """Return all parts but the cover, which has a drawing of its own; None when there are no others."""
    shown = [part for part in plan["cover"]["parts"] if part is not cover_part(plan)]
    if not shown:
        return None
    sides = [(float(part["width_mm"]), float(part["height_mm"])) for part in shown]
    largest = scale_for(max(w for w, _ in sides), max(h for _, h in sides), (70.0, 70.0), largest=1)
    smaller = [largest / step for step in (1, 2, 2.5, 4, 5, 10, 20)]
    scale = next((s for s in smaller if _standard(s) and _fits(shown, s, units, room_mm)), largest / 10)
    pieces: list[Mark | Dimensioned] = []
    left = top = deepest = 0.0
    for part in shown:
        cell, wide, deep = _cell(part, scale, units, left, top)
        if left > 0 and left + wide > room_mm[0]:
            left, top, deepest = 0.0, top + deepest + _GAP, 0.0
            cell, wide, deep = _cell(part, scale, units, left, top)
        pieces += cell
        left, deepest = left + wide + _GAP, max(deepest, deep)
    return Drawing("parts", "Other parts to cut", scale, tuple(pieces), "arrows: grain, along the spine")


def _standard(scale: float) -> bool:
    return any(abs(scale - s) < 1e-9 for s in (1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01))


def _fits(shown: Sequence[Plain], scale: float, units: Units, room_mm: tuple[float, float]) -> bool:
    left = top = deepest = 0.0
    for part in shown:
        _, wide, deep = _cell(part, scale, units)
        if left > 0 and left + wide > room_mm[0]:
            left, top, deepest = 0.0, top + deepest + _GAP, 0.0
        left, deepest = left + wide + _GAP, max(deepest, deep)
        if left - _GAP > room_mm[0]:
            return False
    return top + deepest <= room_mm[1]


def _cell(
    part: Plain, scale: float, units: Units, left: float = 0.0, top: float = 0.0
) -> tuple[list[Mark | Dimensioned], float, float]:
    """Return a part with its corner at (left, top), and the width and height that it takes on the paper."""
    width, height = float(part["width_mm"]), float(part["height_mm"])
    w, h = width * scale, height * scale
    across = dimension(width, units, half_range(part))
    wide = text_width_mm(across, TEXT_MM)
    start = left + _LEFT + max(0.0, (wide + 3 - w) / 2)
    box = Box(start, top + _TOP, start + w, top + _TOP + h)
    middle, centre = (box.left + box.right) / 2, (box.top + box.bottom) / 2
    pieces: list[Mark | Dimensioned] = [rectangle(box), *_corners(part, box, scale)]
    pieces += chain("x", [Segment(box.left, box.right, width, across)], box.top - 3.4, box.top)
    pieces += chain("y", [Segment(box.top, box.bottom, height, dimension(height, units))], start - 3.6, start)
    if part["grain"] == "along the spine" and w > 3:
        half = min(6.0, h * 0.3)
        pieces += arrow(middle, centre + half, middle, centre - half)
    count = f"{part['count']} × " if part["count"] > 1 else ""
    room = max(_LEAST, box.right - left)
    names = wrapped(f"{count}{part['name']}", room, TEXT_MM, bold=True)
    rest = wrapped(part["material"], room, SMALL_MM)[:2]
    rest += ["cut after sewing"] if part["cut_when"] != "now" else []
    foot = box.bottom + 4.0
    texts = [Text(left, foot + n * _LINE, line, TEXT_MM, "start", bold=True) for n, line in enumerate(names)]
    foot += len(names) * _LINE
    texts += [Text(left, foot + n * _LINE, line, SMALL_MM, "start") for n, line in enumerate(rest)]
    right = max(box.right, middle + wide / 2, *(text.box.right for text in texts))
    return [*pieces, *texts], right - left, foot + len(rest) * _LINE - 2.5 - top


def _corners(part: Plain, box: Box, scale: float) -> list[Mark]:
    """Mitres, drawn as narrow lines: both fore-edge corners of a side paper."""
    leg = next((float(mark["mm"]) for mark in part["marks"] if "corner" in mark["label"]), 0.0) * scale
    if not leg:
        return []
    return [
        Line(box.right - leg, box.top, box.right, box.top + leg),
        Line(box.right - leg, box.bottom, box.right, box.bottom - leg),
    ]
