"""One section and the whole block in cross-section, seen from the head with the spine on the left."""

from __future__ import annotations

import math
from collections.abc import Sequence

from matref.bench.chains import Segment, chain
from matref.bench.drawing import Dimensioned, Drawing, scale_for
from matref.bench.lengths import Plain, Units, dimension, ranged, thin
from matref.bench.marks import SMALL_MM, Arc, Line, Mark, Polyline, Text, disc
from matref.book.rounding import MOST_RATIO, round_from_swell_deg

THROUGH_COVER = ("pamphlet", "soft-cover", "long-stitch")
_FOLD_MM, _LONG_MM = 26.0, 62.0
"""Length drawn of a section from the fold to the break, and of a block from spine to fore-edge."""


def section(plan: Plain, units: Units, room_mm: tuple[float, float] = (100.0, 44.0)) -> Drawing:
    """Return one section: its sheets one in the other, the creep at the fore-edge and where it is trimmed.

    The run between fold and fore-edge is broken off. Drawn with the middle values of the plan.
    """
    sheets, leaf = int(plan["sections"]["sheets_per_section"]), float(plan["text_block"]["leaf_um"]["value"]) / 1000
    creep, trim = float(plan["creep"]["creep_mm"]["value"]), float(plan["creep"]["fore_edge_trim_mm"])
    thick = 2 * sheets * leaf
    scale = scale_for(max(trim, creep, 0.1), thick, (room_mm[0] - _FOLD_MM - 36, room_mm[1] - 22), largest=20)
    t, half = leaf * scale, thick * scale / 2
    left = half + _FOLD_MM * 0.6
    end = left + 5 + 12 + max(creep, trim) * scale  # where the innermost sheet ends
    step = creep * scale / (sheets - 1) if sheets > 1 else 0.0
    marks: list[Mark] = []
    for number in range(sheets):  # 0 is the outermost
        reach = end - step * (sheets - 1 - number)
        outer, inner = half - number * t, half - (number + 1) * t
        marks.append(Arc(half, 0, outer, 90, 270))
        for side in (-1, 1):
            marks += [Line(half, side * outer, left, side * outer), Line(left + 5, side * outer, reach, side * outer)]
            marks.append(Line(reach, side * outer, reach, side * inner))
            if number == sheets - 1:
                marks += [
                    Line(half, side * inner, left, side * inner),
                    Line(left + 5, side * inner, reach, side * inner),
                ]
    marks += _break(left, half) + _break(left + 5, half)
    cut = end - trim * scale
    marks.append(Line(cut, -half - 3.5, cut, half + 3.5, "chain"))
    marks.append(Text(cut, -half - 4.3, "trim", SMALL_MM))
    pieces: list[Mark | Dimensioned] = list(marks)
    pieces += chain("y", [Segment(-half, half, thick, thin(thick, units))], end + 7, end)
    below = [Segment(cut, end, trim, f"trim {dimension(trim, units)}")]
    pieces += chain("x", below, half + 8, half + 3.5)
    if creep > 0:
        out = end - creep * scale
        pieces += chain("x", [Segment(out, end, creep, f"creep {thin(creep, units)}")], -half - 10, -half)
    words = f"{sheets} sheet{'s' * (sheets != 1)}, leaf {ranged(plan['text_block']['leaf_um'], 'um', units)}"
    return Drawing("section", "One section from the head", scale, tuple(pieces), words)


def block(plan: Plain, units: Units, room_mm: tuple[float, float] = (90.0, 60.0)) -> Drawing:
    """Return the sewn block: its sections from front to back, thicker at the spine by the thread, round if rounded."""
    spine, number = plan["spine"], int(plan["sections"]["count"])
    edge, back = float(spine["fore_edge_mm"]["value"]), float(spine["spine_mm"]["value"])
    lines = [float(line) for line in plan["stitching"]["lines_mm"]]
    through = plan["text_block"]["structure"] in THROUGH_COVER
    rounded = plan["text_block"]["structure"] == "rounded-case"
    widest = max([edge, *([] if rounded else [back]), *(2 * abs(line) for line in lines if through)])
    scale = scale_for(_LONG_MM / 50, widest, (room_mm[0], room_mm[1] - 18), largest=10)
    turn = _angle(float(spine["arc_mm"]["value"]) / edge) if rounded else 0.0
    folds = _folds(number, (edge if rounded else back) * scale, turn)
    right = max(x for x, _ in folds) + _LONG_MM
    e = edge * scale
    marks: list[Mark] = []
    for place, (x, y) in enumerate(folds):
        top, bottom = -e / 2 + place * e / number, -e / 2 + (place + 1) * e / number
        half = _gap(folds, place, (edge if rounded else back) * scale) / 2
        marks.append(Arc(x + half, y, half, 90, 270))
        marks.append(Polyline(((x + half, y - half), (right, top), (right, bottom), (x + half, y + half))))
        marks += disc(x + half, y, min(0.45, half / 2), fill="black")
        if half > 1.6:
            marks.append(Text(right + 1.2, (top + bottom) / 2 + 0.8, str(place + 1), SMALL_MM, "start"))
    height = max(e, back * scale if not rounded else e)
    pieces: list[Mark | Dimensioned] = list(marks)
    if through:
        marks = _limp_cover(folds, lines, scale, right, height)
        pieces += marks
    edge_y = height / 2 if not through else max(mark.box.bottom for mark in marks)
    pieces.append(Text(right - 12, -edge_y - 1.6, "front", SMALL_MM))
    pieces.append(Text(right - 12, edge_y + 3.2, "back", SMALL_MM))
    pieces += chain("y", [Segment(-e / 2, e / 2, edge, thin(edge, units))], right + 9, right)
    out = min(x for x, _ in folds) - (4 if through else 0)
    if rounded:
        arc = spine["arc_mm"]
        pieces.append(Text(out - 2, 0, f"over the back {thin(float(arc['value']), units)}", upright=True))
    else:
        ends = (-back * scale / 2, back * scale / 2)
        pieces += chain("y", [Segment(*ends, back, thin(back, units))], out - 6, out + 2)
    note = (
        f"fore-edge {ranged(spine['fore_edge_mm'], 'mm', units)}, spine {ranged(spine['spine_mm'], 'mm', units)}, "
        f"swell {ranged(spine['swell_mm'], 'mm', units)}"
    )
    if rounded:
        note += f", over the back {ranged(spine['arc_mm'], 'mm', units)}"
    title = "Section in its cover from the head" if number == 1 else "Block from the head, front at the top"
    return Drawing("block", title, scale, tuple(pieces), note)


def _break(x: float, half: float) -> list[Mark]:
    """The zigzag of a broken-off run (ISO 128: continuous narrow with zigzags)."""
    a = min(1.2, half / 2)
    points = ((x, -half - 2), (x, -a), (x - a, -a / 2), (x + a, a / 2), (x, a), (x, half + 2))
    return [Polyline(points)]


def _folds(number: int, chord: float, turn: float) -> list[tuple[float, float]]:
    """Where the folds lie, back outline at x = 0 or on an arc of `turn` radians over the chord."""
    shares = [(n + 0.5) / number - 0.5 for n in range(number)]
    if turn == 0:
        return [(0.0, share * chord) for share in shares]
    radius = chord / 2 / math.sin(turn / 2)
    return [(radius - radius * math.cos(share * turn), radius * math.sin(share * turn)) for share in shares]


def _gap(folds: Sequence[tuple[float, float]], place: int, chord: float) -> float:
    if len(folds) == 1:
        return chord
    other = place + 1 if place == 0 else place - 1
    return abs(folds[other][1] - folds[place][1])


def _angle(ratio: float) -> float:
    """Return the angle, radians, of an arc that is `ratio` times its chord; half a circle at most."""
    return math.radians(round_from_swell_deg(min(max(ratio - 1, 0.0), MOST_RATIO)))


def _limp_cover(
    folds: Sequence[tuple[float, float]], lines: Sequence[float], scale: float, right: float, height: float
) -> list[Mark]:
    """The cover as one wide line, and how each section's thread reaches its sewing line."""
    half = max([height / 2, *(abs(line) * scale for line in lines)]) + 1.5
    x = -3.5
    marks: list[Mark] = [Polyline(((right + 3 - 5, -half), (x, -half), (x, half), (right + 3 - 5, half)), "wide")]
    for (fold_x, fold_y), line in zip(folds, lines, strict=False):
        marks.append(Line(fold_x + 0.5, fold_y, x, line * scale, "dashed"))
    return marks
