"""Marks at true size: the spine's template and strips for the cover, tiled when they are longer than a page.

Each is laid on the work and pricked or ticked through. A strip that needs several tiles repeats its last centimetres
on the next one; the crosses in the repeated piece are laid on each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matref.bench.chains import spread
from matref.bench.cover_view import cover_part, zones
from matref.bench.drawing import Drawing
from matref.bench.lengths import Plain, Units, dimension, half_range, length
from matref.bench.marks import SMALL_MM, Arc, Box, Line, Mark, Polyline, Text, rectangle
from matref.bench.typeface import CAPITAL, text_width_mm

CHECK_MM = 100.0
OVERLAP_MM = 20.0
PRINT_NOTE = "Print at 100 % (actual size, not fitted to the page), then measure the bar: it must be 100 mm long."
_LABEL_MM = 9.0


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark across a strip: distance from its left end, mm, and what is written at it."""

    at_mm: float
    text: str


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip at true size, left end to right end.

    ticks: marks along it. lines: distance from the strip's middle, mm (front negative, drawn upward), with the number
    in sewing order; each runs from `seam[0]` to `seam[1]`. wide_mm: width of the strip, 0 for one that the lines ask
    for.
    """

    name: str
    title: str
    length_mm: float
    ticks: tuple[Tick, ...]
    ends: tuple[str, str]
    note: str = ""
    lines: tuple[tuple[float, str], ...] = ()
    seam_mm: tuple[float, float] = (0.0, 0.0)
    crosses: bool = False
    wide_mm: float = 0.0

    @property
    def height_mm(self) -> float:
        """Width of the strip of paper, mm."""
        return self.wide_mm or max([12.0, *(2 * abs(line) + 8 for line, _ in self.lines)])


def strips(plan: Plain, units: Units) -> list[Strip]:
    """Return the spine's template, then the cover's strips across and along the spine."""
    found = [template(plan, units)]
    if plan["stitching"]["board_stations_mm"]:
        found.append(board_template(plan, units))
    part = cover_part(plan)
    if part is None:
        return found
    for axis, chain, size_mm in (
        ("across", part["width_chain"], part["width_mm"]),
        ("along", part["height_chain"], part["height_mm"]),
    ):
        u_mm = half_range(part) if axis == "across" else 0.0
        note = f"{part['name']}, {length(float(size_mm), units, u_mm)}"
        if axis == "across" and part["cut_when"] != "now":
            note += "; drawn for the spine as planned: measure the sewn back first"
        ends = ("front", "back") if axis == "across" else ("head", "tail")
        if part["name"] == "board covering" and axis == "across":
            ends = ("edge", "edge")
        found.append(
            Strip(
                f"cover-{axis}",
                f"{part['name'].capitalize()}, {axis} the spine",
                float(size_mm),
                _ticks(zones(chain, units), units, axis == "across" and part["name"] != "board covering"),
                ends,
                note,
            )
        )
    return found


def template(plan: Plain, units: Units) -> Strip:
    """Return the template of the spine: head to the left, one line for each sewing line, stations crossed."""
    stitching = plan["stitching"]
    height = float(plan["text_block"]["page_height_mm"])
    stations = [float(station) for station in stitching["stations_mm"]]
    seam = tuple(float(end) for end in stitching["seam_from_head_mm"])
    order = [float(line) for line in stitching["order"]]
    lines = [(float(line), str(1 + order.index(line))) for line in stitching["lines_mm"]]
    ticks = [Tick(mm, dimension(mm, units)) for mm in (stations or seam)]
    what = "Stations and sewing lines" if stations and len(lines) > 1 else "Stations" if stations else "Sewing lines"
    note = "front of the book upward; " if lines else ""
    note += "prick through at the crosses" if stations else "draw the lines, sew from the first tick to the last"
    if len(lines) > 1:
        note += "; figures at the lines: sewing order"
    if over := float(stitching["cover_head_mm"]):
        note += f"; on the cover its head lies {length(over, units)} below the cover's"
    return Strip(
        "spine",
        f"{what}, from the trimmed head",
        height,
        (*ticks, Tick(height, dimension(height, units))),
        ("head", "tail"),
        note,
        tuple(lines) or ((0.0, ""),),
        (seam[0], seam[1]),
        bool(stations),
    )


def board_template(plan: Plain, units: Units) -> Strip:
    """Return the template of a board's holes: its lower edge is laid along the board's spine edge."""
    stitching = plan["stitching"]
    part = next(part for part in plan["cover"]["parts"] if part["name"] == "board")
    height, edge = float(part["height_mm"]), float(stitching["board_edge_mm"])
    holes = [float(hole) for hole in stitching["board_stations_mm"]]
    wide = 2 * max(6.0, edge + 3.0)
    return Strip(
        "board-holes",
        "Holes in the boards, from the head of the board",
        height,
        (*(Tick(mm, dimension(mm, units)) for mm in holes), Tick(height, dimension(height, units))),
        ("head", "tail"),
        f"lay the edge with the figures along the spine edge, prick through at the crosses, {length(edge, units)} in",
        ((wide / 2 - edge, ""),),
        (holes[0], holes[-1]),
        crosses=True,
        wide_mm=wide,
    )


def tiles(strip: Strip, room_mm: float) -> list[Drawing]:
    """Return a strip as drawings no longer than the room: one, or several that overlap.

    Raises nothing: a strip of any length comes apart into tiles.
    """
    room = room_mm - 2 * _LABEL_MM
    if strip.length_mm <= room:
        return [_tile(strip, 0.0, strip.length_mm, "")]
    step = room - OVERLAP_MM
    starts = [0.0]
    while starts[-1] + room < strip.length_mm:
        starts.append(starts[-1] + step)
    number = len(starts)
    return [
        _tile(strip, start, min(start + room, strip.length_mm), f" ({place} of {number})")
        for place, start in enumerate(starts, 1)
    ]


def check_bar(units: Units) -> Drawing:
    """Return the bar that must measure 100 mm, with its instruction."""
    marks: list[Mark] = [
        Line(0, 0, CHECK_MM, 0, "wide"),
        *(Line(x, -2.5 if x % 50 == 0 else -1.2, x, 0) for x in range(0, 101, 10)),
        Text(0, 3.2, "0", SMALL_MM),
        Text(CHECK_MM, 3.2, "100 mm" if units == "mm" else f"100 mm = {dimension(CHECK_MM, 'in')} in", SMALL_MM),
    ]
    return Drawing("check-bar", "", 1.0, tuple(marks), PRINT_NOTE)


def _ticks(chain: Sequence[tuple[str, float, str]], units: Units, centre: bool) -> tuple[Tick, ...]:
    """Marks where the zones of a cover meet, with their distance from the edge; the middle of the spine too."""
    total = sum(mm for _, mm, _ in chain)
    places, at = [0.0], 0.0
    for _, mm, _ in chain:
        at += mm
        places.append(at)
    ticks = [Tick(place, dimension(place, units)) for place in places]
    if centre and all(abs(place - total / 2) > 0.05 for place in places):
        ticks.append(Tick(total / 2, f"centre {dimension(total / 2, units)}"))
    return tuple(sorted(ticks, key=lambda tick: tick.at_mm))


def _tile(strip: Strip, start: float, end: float, which: str) -> Drawing:
    long, half = end - start, strip.height_mm / 2
    box = Box(0, -half, long, half)
    marks: list[Mark] = [rectangle(box, "narrow")]
    shown = [tick for tick in strip.ticks if start - 1e-6 <= tick.at_mm <= end + 1e-6]
    marks += _tick_marks(strip, shown, start, half)
    marks += _lines(strip, start, end)
    for at, first in ((start, True), (end, False)):
        inner = 0.0 < at < strip.length_mm
        x = at - start
        if inner:
            marks += _join(x + OVERLAP_MM if first else x - OVERLAP_MM, x, half)
        else:
            word = strip.ends[0] if first else strip.ends[1]
            marks.append(Text(-1.2 if first else x + 3.0, 0, word, SMALL_MM, upright=True))
    return Drawing(f"{strip.name}-{start:.0f}", strip.title + which, 1.0, tuple(marks), strip.note)


def _tick_marks(strip: Strip, shown: Sequence[Tick], start: float, half: float) -> list[Mark]:
    places = spread([tick.at_mm - start for tick in shown], [text_width_mm(t.text, SMALL_MM) + 1.2 for t in shown])
    marks: list[Mark] = []
    for tick, place in zip(shown, places, strict=True):
        x = tick.at_mm - start
        if strip.crosses and tick.at_mm < strip.length_mm - 1e-6:
            marks += [Line(x, line - 1.5, x, line + 1.5) for line, _ in strip.lines]
            marks += [Line(x, half - 1.6, x, half), Line(x, -half, x, -half + 1.6)]
        else:
            marks += (
                [Line(x, -half, x, half)]
                if not strip.lines
                else [
                    Line(x, half - 2.2, x, half),
                    Line(x, -half, x, -half + 2.2),
                ]
            )
        marks.append(Line(x, half, place, half + 1.8))
        marks.append(Text(place, half + 2.3 + CAPITAL * SMALL_MM, tick.text, SMALL_MM))
    return marks


def _lines(strip: Strip, start: float, end: float) -> list[Mark]:
    """The sewing lines; where there are several, their numbers at the end of the seam."""
    first, last = max(strip.seam_mm[0], start), min(strip.seam_mm[1], end)
    marks: list[Mark] = []
    if first >= last:
        return marks
    for line, _ in strip.lines:
        marks.append(Line(first - start, line, last - start, line))
    if len(strip.lines) < 2 or last < strip.seam_mm[1] - 1e-6:
        return marks
    places = spread([line for line, _ in strip.lines], [SMALL_MM * 0.95] * len(strip.lines))
    for (line, number), place in zip(strip.lines, places, strict=True):
        x = last - start
        marks.append(Line(x, line, x + 2.5, place))
        marks.append(Text(x + 3, place + CAPITAL * SMALL_MM / 2, number, SMALL_MM, "start"))
    return marks


def _join(x1: float, x2: float, half: float) -> list[Mark]:
    """The overlap between two tiles: its border as a chain line and a cross in a circle in its middle."""
    middle, border = (x1 + x2) / 2, x1
    y = half - 3.2
    return [
        Line(border, -half, border, half, "chain"),
        Arc(middle, y, 1.5, 0, 360),
        Line(middle - 2.5, y, middle + 2.5, y),
        Line(middle, y - 2.5, middle, y + 2.5),
        Polyline(((x2, -half), (x2, half)), "dashed"),
    ]
