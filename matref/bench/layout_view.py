"""Cutting layouts: a piece of stock with the parts on it, the cuts in their order, and what is left over."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from matref.bench.chains import Segment, chain
from matref.bench.drawing import Dimensioned, Drawing, scale_for
from matref.bench.lengths import Plain, Units, dimension, length, size
from matref.bench.marks import SMALL_MM, TEXT_MM, Box, Line, Mark, Text, arrow, disc, hatching, rectangle
from matref.bench.typeface import shortened

_RADIUS = 1.8
ROOM, SMALL_ROOM = (186.0, 120.0), (103.0, 84.0)
_PLACES = (0.5, *(side for n in range(1, 20) for side in (0.5 - n * 0.025, 0.5 + n * 0.025)))
_AROUND = ((1, 0), (0, 1), (-1, 0), (0, -1), (0.7, 0.7), (-0.7, 0.7), (0.7, -0.7), (-0.7, -0.7))


def layouts(plan: Plain, units: Units) -> list[tuple[Drawing, tuple[str, ...]]]:
    """Return a drawing and its cuts in words for each piece of stock that a plan cuts into, one for pieces alike."""
    return laid_out(plan["cutting"].get("layouts", []), units)


def laid_out(listed: Sequence[Plain], units: Units) -> list[tuple[Drawing, tuple[str, ...]]]:
    """Return drawings and cuts of some layouts, each with the key "piece" and perhaps "material"."""
    found: dict[str, list[Plain]] = {}
    for one in listed:
        found.setdefault(repr((_title(one), one["length_mm"], one["width_mm"], one["cut_list"])), []).append(one)
    drawn = []
    for number, alike in enumerate(found.values(), 1):
        title = _title(alike[0]) + (f", {len(alike)} pieces alike" if len(alike) > 1 else "")
        drawing = layout(alike[0], title, units, room_for(alike[0]), name=f"layout-{number}")
        drawn.append((drawing, cuts_in_words(alike[0], units)))
    return drawn


def room_for(done: Plain) -> tuple[float, float]:
    """Return the room on the page, mm, that a layout's drawing deserves: half a page where all can be read there."""
    scale = _scale(done, SMALL_ROOM)
    boxes = [_box(rect, scale) for rect in (*done["parts"], *done["offcuts"])]
    sides = [sorted((box.width, box.height)) for box in boxes]
    return SMALL_ROOM if all(short >= 7 and long >= 22 for short, long in sides) else ROOM


def _title(one: Plain) -> str:
    """Name a piece by its material and its own name, without the number that tells it from pieces alike."""
    piece = re.sub(r" \(\d+ of \d+\)$", "", str(one["piece"]))
    return f"{one['material']}: {piece}" if one.get("material", piece) != piece else piece


def _scale(done: Plain, room_mm: tuple[float, float]) -> float:
    return scale_for(float(done["length_mm"]), float(done["width_mm"]), (room_mm[0] - 16, room_mm[1] - 14), largest=1)


def cuts_in_words(done: Plain, units: Units) -> tuple[str, ...]:
    """Return the cuts of a layout in their order, one sentence each."""
    said = []
    for cut in done["cut_list"]:
        of = "The piece" if cut["of_cut"] == 0 else f"The {cut['side']} side of cut {cut['of_cut']}"
        line = (
            f"{of}, {size(cut['length_mm'], cut['width_mm'], units)}: measure {length(cut['at_mm'], units)} along its "
            f"{cut['across']}, cut straight across; near side: {cut['near']}"
        )
        said.append(line if cut["far"] is None else f"{line}; far side: {cut['far']}")
    return tuple(said)


def layout(
    done: Plain, title: str, units: Units, room_mm: tuple[float, float] = ROOM, name: str = "layout-1"
) -> Drawing:
    """Return one piece of stock, its length across the page, cuts numbered in their order, waste hatched.

    done: the plain values of a `matref.book.cutting.Layout`, with "grain" where the grain of the piece is known.
    """
    long, wide = float(done["length_mm"]), float(done["width_mm"])
    scale = _scale(done, room_mm)
    sheet = Box(0, 0, long * scale, wide * scale)
    marks: list[Mark] = [*hatching(sheet)]
    texts: list[Text] = []
    for part in done["parts"]:
        box = _box(part, scale)
        marks.append(replace(rectangle(box, "narrow"), fill="white"))
        texts += _label(box, str(part["name"]), _sides(part, units))
    for off in done["offcuts"]:
        marks.append(replace(rectangle(_box(off, scale), "narrow"), fill="white"))
        texts += _label(_box(off, scale), "keep", _sides(off, units))
    cuts = [_line(cut, scale) for cut in done["cut_list"]]
    pieces: list[Mark | Dimensioned] = [*marks, *cuts, rectangle(sheet), *texts]
    pieces += _numbers([int(cut["number"]) for cut in done["cut_list"]], cuts, texts)
    pieces += _grain(str(done.get("grain", "")), sheet)
    pieces += chain("x", [Segment(0, sheet.right, long, dimension(long, units))], -5, 0)
    pieces += chain("y", [Segment(0, sheet.bottom, wide, dimension(wide, units))], -4, 0)
    kept = ", ".join(size(off["length_mm"], off["width_mm"], units) for off in done["offcuts"])
    words = f"numbers: order of the cuts; hatched: waste; {100 * done['waste_share']:.0f} % of the piece is left over"
    return Drawing(name, title, scale, tuple(pieces), words + (f", worth keeping: {kept}" if kept else ""))


def _sides(rect: Plain, units: Units) -> str:
    return f"{dimension(float(rect['length_mm']), units)} × {dimension(float(rect['width_mm']), units)}"


def _grain(along: str, sheet: Box) -> list[Mark]:
    """An arrow below the piece that shows how its grain runs, where that is known."""
    y = sheet.bottom + 3.0
    if along == "length":
        return [*arrow(0, y, 14, y), Text(15.5, y + 0.8, "grain", SMALL_MM, "start")]
    if along == "width":
        return [*arrow(1.5, y + 9, 1.5, y), Text(4, y + 5.5, "grain", SMALL_MM, "start")]
    return []


def _box(rect: Plain, scale: float) -> Box:
    x, y, length, width = (float(rect[key]) * scale for key in ("x_mm", "y_mm", "length_mm", "width_mm"))
    return Box(x, y, x + length, y + width)


def _line(cut: Plain, scale: float) -> Line:
    x1, y1, x2, y2 = (float(cut[key]) * scale for key in ("x1_mm", "y1_mm", "x2_mm", "y2_mm"))
    return Line(x1, y1, x2, y2, "wide")


def _label(box: Box, name: str, figures: str) -> list[Text]:
    """Name and size in a rectangle, upright in a narrow one; left out where there is no room at all."""
    upright = box.width < 16 and box.height > box.width
    long, short = (box.height, box.width) if upright else (box.width, box.height)
    middle, centre = (box.left + box.right) / 2, (box.top + box.bottom) / 2
    if short < 3.2 or long < 6:
        return []
    both = short >= 6.6
    shown = (
        [shortened(name, long - 2, TEXT_MM), shortened(figures, long - 2, SMALL_MM)]
        if both
        else [shortened(f"{name} {figures}", long - 2, SMALL_MM)]
    )
    sizes = [TEXT_MM, SMALL_MM] if both else [SMALL_MM]
    found: list[Text] = []
    for number, (line, size_mm) in enumerate(zip(shown, sizes, strict=True)):
        shift = (number - (len(shown) - 1) / 2) * 3.3 + 0.36 * size_mm
        place = (middle + shift, centre) if upright else (middle, centre + shift)
        found.append(Text(*place, line, size_mm, upright=upright))
    return found


def _numbers(numbers: Sequence[int], cuts: Sequence[Line], texts: Sequence[Text]) -> list[Mark]:
    """The number of each cut on its line, near its middle, clear of other numbers and best of texts.

    On a line too short for that it stands off, with a leader to the line's middle.
    """
    words = [text.box for text in texts]
    taken: list[Box] = []
    found: list[Mark] = []
    for number, cut in zip(numbers, cuts, strict=True):
        spots = [(cut.x1 + share * (cut.x2 - cut.x1), cut.y1 + share * (cut.y2 - cut.y1)) for share in _PLACES]
        middle = spots[0]
        off = [(middle[0] + dx * far, middle[1] + dy * far) for far in (4, 6, 8, 11, 15) for dx, dy in _AROUND]
        clear = _clear(spots, taken)
        place = (_clear(clear, words) or clear or _clear(_clear(off, taken), words) or spots)[0]
        taken.append(_round(*place))
        if place not in spots:
            found.append(Line(*middle, *place))
        found += disc(*place, _RADIUS, str(number))
    return found


def _clear(spots: Sequence[tuple[float, float]], taken: Sequence[Box]) -> list[tuple[float, float]]:
    return [spot for spot in spots if not any(_round(*spot).overlaps(box) for box in taken)]


def _round(x: float, y: float) -> Box:
    reach = _RADIUS + 0.3
    return Box(x - reach, y - reach, x + reach, y + reach)
