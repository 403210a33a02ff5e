"""Where to sew: the lines through the spine in sewing order, and the stations along the fold."""

from __future__ import annotations

from matref.bench.chains import running, spread
from matref.bench.drawing import Dimensioned, Drawing, scale_for
from matref.bench.lengths import Plain, Units, dimension
from matref.bench.marks import SMALL_MM, Line, Mark, Text, disc

_RADIUS = 2.2


def lines(plan: Plain, units: Units, room_mm: tuple[float, float] = (90.0, 60.0)) -> Drawing | None:
    """Return the sewing lines on the inside of the spine, numbered in sewing order; None when there are none."""
    places = [float(line) for line in plan["stitching"]["lines_mm"]]
    if not places:
        return None
    order = [float(line) for line in plan["stitching"]["order"]]
    reach = max(abs(place) for place in places)
    scale = scale_for(max(2 * reach, 1.0), 1.0, (room_mm[0] - 36, 100.0), largest=10)
    half = reach * scale + 6
    deep = 20.0
    marks: list[Mark] = [
        Line(-half, 0, half, 0, "wide"),
        *(Line(side * half, 0, side * half, deep) for side in (-1, 1)),
        Line(0, -9.5, 0, deep + 2, "chain"),
        Text(-half - 2, deep / 2, "front", SMALL_MM, "end"),
        Text(half + 2, deep / 2, "back", SMALL_MM, "start"),
        Text(-half, -1.2, "head", SMALL_MM, "start"),
    ]
    wanted = [place * scale for place in places]
    tops = spread(wanted, [2 * _RADIUS + 0.5] * len(places))
    for place, x, top in zip(places, wanted, tops, strict=True):
        number = 1 + min(range(len(order)), key=lambda n: abs(order[n] - place))
        marks += [Line(x, 3, x, deep, "dashed"), Line(x, 3, x, -2.5), Line(x, -2.5, top, -6.5)]
        marks += disc(top, -6.5 - _RADIUS, _RADIUS, str(number))
    pieces: list[Mark | Dimensioned] = list(marks)
    stops = [(place * scale, abs(place), dimension(abs(place), units)) for place in places]
    pieces.append(running("x", 0.0, stops, deep + 6, deep))
    stitch, thread = plan["stitching"]["stitch_mm"], plan["stitching"]["thread"]
    words = "numbers: sewing order; figures: distance from the centre line"
    if stitch is not None:
        words += f"; stitch {dimension(float(stitch), units)} {units}"
    words += f"; {thread}"
    return Drawing("lines", "Sewing lines, inside of the spine", scale, tuple(pieces), words)


def stations(plan: Plain, units: Units, room_mm: tuple[float, float] = (186.0, 34.0)) -> Drawing | None:
    """Return the fold with its stations, measured from the head; for machine sewing where the seam begins and ends."""
    height = float(plan["text_block"]["page_height_mm"])
    holes = [float(station) for station in plan["stitching"]["stations_mm"]]
    first, last = (float(end) for end in plan["stitching"]["seam_from_head_mm"])
    scale = scale_for(height, 1.0, (room_mm[0] - 12, 100.0), largest=1)
    end = height * scale
    marks: list[Mark] = [
        Line(0, 0, end, 0, "wide"),
        Line(0, -4, 0, 4),
        Line(end, -4, end, 4),
        Text(-1.5, 0.8, "head", SMALL_MM, "end"),
        Text(end + 1.5, 0.8, "tail", SMALL_MM, "start"),
    ]
    if holes:
        wanted = [hole * scale for hole in holes]
        tops = spread(wanted, [2 * _RADIUS + 0.5] * len(holes))
        for number, (x, top) in enumerate(zip(wanted, tops, strict=True), 1):
            marks += [*disc(x, 0, 0.7, fill="black"), Line(x, -1.2, top, -4.0)]
            marks += disc(top, -4.0 - _RADIUS, _RADIUS, str(number))
        figures = holes
    else:
        marks += [Line(first * scale, -1.5, last * scale, -1.5, "dashed"), Line(first * scale, -3, first * scale, 2)]
        marks += [Line(last * scale, -3, last * scale, 2), Text(end / 2, -3, "seam", SMALL_MM)]
        figures = [first, last]
    stops = [(mm * scale, mm, dimension(mm, units)) for mm in (*figures, height)]
    pieces = (*marks, running("x", 0.0, stops, 8, 4))
    title = "Stations on the fold" if holes else "Seam along the fold"
    return Drawing("stations", title, scale, pieces, "measured from the trimmed head")
