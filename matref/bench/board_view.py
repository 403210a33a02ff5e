"""The front board of a link stitch with its holes, measured from its own head and from its spine edge."""

from __future__ import annotations

from matref.bench.chains import Segment, chain, running
from matref.bench.drawing import Dimensioned, Drawing, scale_for
from matref.bench.lengths import Plain, Units, dimension
from matref.bench.marks import SMALL_MM, Box, Line, Mark, Text, disc, rectangle


def board(plan: Plain, units: Units, room_mm: tuple[float, float] = (80.0, 90.0)) -> Drawing | None:
    """Return the front board seen from the outside, spine edge to the left; None for a book without pierced boards."""
    holes = [float(hole) for hole in plan["stitching"]["board_stations_mm"]]
    if not holes:
        return None
    part = next(part for part in plan["cover"]["parts"] if part["name"] == "board")
    width, height = float(part["width_mm"]), float(part["height_mm"])
    edge = float(plan["stitching"]["board_edge_mm"])
    scale = scale_for(width, height, room_mm, largest=1)
    box = Box(0, 0, width * scale, height * scale)
    x = edge * scale
    marks: list[Mark] = [
        rectangle(box),
        Line(x, 0, x, box.bottom, "chain"),
        Text(box.right / 2, box.bottom * 0.4, "board", SMALL_MM),
        Text(box.right / 2, -1.2, "head", SMALL_MM),
    ]
    for hole in holes:
        marks += disc(x, hole * scale, 0.7, fill="black")
    stops = [(mm * scale, mm, dimension(mm, units)) for mm in (*holes, height)]
    pieces: list[Mark | Dimensioned] = [
        *marks,
        running("y", 0.0, stops, -8, 0),
        *chain("x", [Segment(0, x, edge, dimension(edge, units))], box.bottom + 7, box.bottom),
    ]
    note = "front board from outside, spine edge to the left; the back board is its mirror image"
    return Drawing("board-holes", "Holes in the boards", scale, tuple(pieces), note)
