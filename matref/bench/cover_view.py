"""The cover laid flat, seen from the inside with the head at the top, with every length of its chains."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from matref.bench.chains import Segment, chain
from matref.bench.drawing import Dimensioned, Drawing, scale_for
from matref.bench.lengths import Plain, Units, dimension, half_range
from matref.bench.marks import SMALL_MM, Box, Line, Mark, Polyline, Style, Text, arrow, rectangle

COVERS = ("cloth", "cloth back", "limp cover", "cover", "board covering")
"""The parts that are a cover, by name; a plan has one of them."""
_MARGINS = (46.0, 34.0)
Chain = Sequence[tuple[str, float, str]]


def cover_part(plan: Plain) -> Plain | None:
    """Return the part that is the cover."""
    parts = {part["name"]: part for part in plan["cover"]["parts"]}
    return next((parts[name] for name in COVERS if name in parts), None)


def cover(plan: Plain, units: Units, room_mm: tuple[float, float] = (186.0, 142.0)) -> Drawing | None:
    """Return the cover laid flat; None for a plan without one."""
    part = cover_part(plan)
    if part is None:
        return None
    width, height = float(part["width_mm"]), float(part["height_mm"])
    beside = _boards_beside(plan, part)
    wide = width + 2 * beside
    scale = scale_for(wide, height, (room_mm[0] - _MARGINS[0], room_mm[1] - _MARGINS[1]), largest=1)
    box = Box(0, 0, width * scale, height * scale)
    across, down = zones(part["width_chain"], units), zones(part["height_chain"], units)
    pieces: list[Mark | Dimensioned] = [_outline(part, box, scale)]
    pieces += _folds(across, down, box, scale)
    pieces += _boards(plan, part, box, scale)
    pieces += _sewing(plan, part, box, scale)
    pieces += _words(part, box)
    pieces += _dimensions(part, across, down, box, scale, units, beside * scale)
    count = f", cut {part['count']}" if part["count"] > 1 else ""
    styles = {piece.style for piece in pieces if isinstance(piece, Line | Polyline)}
    note = "seen from the inside; wide line: cut, narrow line: fold"
    if "double-dotted" in styles:
        note += f", double-dotted: {'pages' if part['name'] == 'limp cover' else 'boards'}"
    if _has_lines(plan, part):
        note += ", dashed: sewing"
    return Drawing("cover", f"{capital(part['name'])} laid flat{count}", scale, tuple(pieces), note)


def zones(listed: Sequence[Plain], units: Units) -> list[tuple[str, float, str]]:
    """Return a chain as (label, mm, text), without lengths of nothing; bends lie in one zone with their spine."""
    found: list[tuple[str, float, str]] = []
    for entry in listed:
        label, mm = str(entry["label"]), float(entry["mm"])
        if mm == 0:
            continue
        text = f"{label} {dimension(mm, units)}"
        if "bends" in label and found:
            before = found.pop()
            found.append((before[0], before[1] + mm, f"{before[2]} + {text}"))
        else:
            found.append((label, mm, text))
    return found


def _outline(part: Plain, box: Box, scale: float) -> Polyline:
    """The shape to cut, its corners off where the part has a mitre."""
    leg = next((float(mark["mm"]) for mark in part["marks"] if "corner" in mark["label"]), 0.0) * scale
    if not leg:
        return rectangle(box)
    return Polyline(
        (
            (leg, 0), (box.right - leg, 0), (box.right, leg), (box.right, box.bottom - leg),
            (box.right - leg, box.bottom), (leg, box.bottom), (0, box.bottom - leg), (0, leg),
        ),
        "wide",
        closed=True,
    )  # fmt: skip


def _folds(across: Chain, down: Chain, box: Box, scale: float) -> list[Mark]:
    """A line wherever two zones meet, but for those that only add up to a board."""
    marks: list[Mark] = []
    for chain_, axis in ((across, "x"), (down, "y")):
        at = 0.0
        for (label, mm, _), (following, _, _) in pairwise(chain_):
            at += mm * scale
            style = _edge(label, following)
            if style is not None:
                ends = (at, 0.0, at, box.bottom) if axis == "x" else (0.0, at, box.right, at)
                marks.append(Line(*ends, style))
    return marks


def _edge(label: str, following: str) -> Style | None:
    """Folds of the cover itself are narrow; edges of boards and pages that lie on it are double-dotted."""
    labels = (label, following)
    if any("square" in one for one in labels):
        return "double-dotted" if "turn-in" in labels else None
    lies_on = any("board" in one or one in ("joint", "overhang") for one in labels)
    return "double-dotted" if lies_on else "narrow"


def _boards_beside(plan: Plain, part: Plain) -> float:
    """How far boards and side papers of a quarter case stand out beyond the cloth back, mm."""
    if part["name"] != "cloth back":
        return 0.0
    side = next(p for p in plan["cover"]["parts"] if p["name"] == "side paper")
    overlap = next(float(e["mm"]) for e in side["width_chain"] if "overlap" in e["label"])
    return float(side["width_mm"]) - overlap


def _boards(plan: Plain, part: Plain, box: Box, scale: float) -> list[Mark]:
    """Boards and side papers beside the cloth back of a quarter case."""
    if part["name"] != "cloth back":
        return []
    board = next(p for p in plan["cover"]["parts"] if p["name"] == "board")
    shown = float(part["width_chain"][0]["mm"])
    turn = float(part["height_chain"][0]["mm"])
    out = (float(board["width_mm"]) - shown) * scale
    top, bottom = turn * scale, box.bottom - turn * scale
    beside = _boards_beside(plan, part) * scale
    marks: list[Mark] = []
    for edge, side in ((0.0, -1), (box.right, 1)):
        far = edge + side * out
        marks.append(Polyline(((edge, top), (far, top), (far, bottom), (edge, bottom)), "double-dotted"))
        paper = edge + side * beside
        marks.append(Polyline(((edge, 0), (paper, 0), (paper, box.bottom), (edge, box.bottom))))
        marks.append(Text((edge + far) / 2, (top + bottom) / 2, "side paper over board", SMALL_MM, upright=True))
    return marks


def _has_lines(plan: Plain, part: Plain) -> bool:
    return part["name"] in ("cloth", "limp cover", "cover") and bool(plan["stitching"]["lines_mm"])


def _sewing(plan: Plain, part: Plain, box: Box, scale: float) -> list[Mark]:
    """Sewing lines through the cover, and the centre line of the spine."""
    if part["name"] == "board covering":
        return []
    centre = box.right / 2
    marks: list[Mark] = [Line(centre, -3, centre, box.bottom + 3, "chain")]
    if _has_lines(plan, part):
        page = float(plan["text_block"]["page_height_mm"])
        head = (float(part["height_mm"]) - page) / 2
        first, last = (float(end) for end in plan["stitching"]["seam_from_head_mm"])
        top, bottom = (head + first) * scale, (head + last) * scale
        marks += [
            Line(centre + line * scale, top, centre + line * scale, bottom, "dashed")
            for line in plan["stitching"]["lines_mm"]
        ]
    return marks


def _words(part: Plain, box: Box) -> list[Mark]:
    """What is what: front and back, the grain."""
    marks: list[Mark] = []
    if part["name"] == "board covering":
        marks.append(Text(box.right / 2, box.bottom * 0.4, "board"))
        place = box.right * 0.3
    elif part["name"] == "cloth back":
        place = box.right * 0.14
    else:
        for share, word in ((0.27, "front"), (0.73, "back")):
            marks.append(Text(box.right * share, box.bottom * 0.4, word))
        place = box.right * 0.27
    if part["grain"] == "along the spine":
        length = min(14.0, box.bottom * 0.2)
        marks += arrow(place, box.bottom * 0.75, place, box.bottom * 0.75 - length)
        if part["name"] != "cloth back":
            word = "warp" if "cloth" in part["name"] else "grain"
            marks.append(Text(place + 1.2, box.bottom * 0.75 - length / 2, word, SMALL_MM, "start"))
    return marks


def _dimensions(
    part: Plain, across: Chain, down: Chain, box: Box, scale: float, units: Units, beside: float
) -> list[Mark | Dimensioned]:
    pieces: list[Mark | Dimensioned] = []
    width = float(part["width_mm"])
    total = Segment(0, box.right, width, dimension(width, units, half_range(part)))
    pieces += chain("x", [total], -7, 0)
    if len(across) > 1:
        pieces += chain("x", _segments(across, scale), box.bottom + 8, box.bottom)
    height = float(part["height_mm"])
    pieces += chain(
        "y", [Segment(0, box.bottom, height, dimension(height, units))], box.right + beside + 8, box.right + beside
    )
    if len(down) > 1:
        pieces += chain("y", _segments(down, scale), -beside - 6, -beside)
    return pieces


def _segments(listed: Chain, scale: float) -> list[Segment]:
    found, at = [], 0.0
    for _, mm, text in listed:
        found.append(Segment(at, at + mm * scale, mm, text))
        at += mm * scale
    return found


def capital(text: str) -> str:
    """Return text with a capital at its head, the rest as it is (`str.capitalize` would lower it)."""
    return text[:1].upper() + text[1:]
