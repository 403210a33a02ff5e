"""Sections sewn one after another through a soft cover on a machine: where the lines lie and in what order.

Line positions are mm from the centre of the spine, the front of the book negative. Own derivations unless
said otherwise; follow the machine maker's instructions for what the machine may be asked to sew.
"""

from __future__ import annotations

from collections.abc import Sequence

from matref.book.block import section_thickness_mm
from matref.book.check import LARGEST, between, count, leaf_mm, left_over, not_negative, positive
from matref.book.swell import swell_mm
from matref.errors import BadInput


def flat_pitch_mm(
    sheets_per_section: int, leaf_um: float, thread_mm: float, flattening: float, caught_mm: float = 0.0
) -> float:
    """Distance between sewing lines at which the closed book's spine lies flat, mm.

    s sheets in a section; t leaf thickness, given in µm; d thread diameter, mm; φ flattening, 0 to 1; caught,
    other material lying between two sections at the fold, mm. Formula p = 2·s·t + φ·d + caught, one closed
    section with its thread. Exact for stiff sections, given φ: nearer lines draw the cover tight, wider
    ones leave it slack.

    >>> round(flat_pitch_mm(4, 100, 0.3, 0.6), 3)
    0.98
    """
    closed = section_thickness_mm(sheets_per_section, leaf_um)
    return closed + swell_mm(1, thread_mm, flattening) + not_negative(caught_mm, "material caught, mm")


def line_positions_mm(sections: int, pitch_mm: float) -> tuple[float, ...]:
    """Positions of the sewing lines from the centre of the spine, mm, front to back: (i - (N-1)/2)·p. Exact.

    >>> line_positions_mm(5, 2)
    (-4.0, -2.0, 0.0, 2.0, 4.0)
    >>> line_positions_mm(2, 2)
    (-1.0, 1.0)
    """
    total, pitch = count(sections, "sections", 5), positive(pitch_mm, "pitch, mm", 2)
    return tuple((i - (total - 1) / 2) * pitch for i in range(total))


def sewing_order_mm(lines_mm: Sequence[float]) -> tuple[float, ...]:
    """The same lines in the order they are sewn: the centre first, then the outermost pair, and so inwards.

    With an odd number the first lies on the centre line. With an even number there is no line there: the
    front one of the two nearest to it is sewn first, and its partner comes last. Of each pair the front
    comes before the back. Rule: common practice, no source; for even numbers our own choice.

    >>> sewing_order_mm(line_positions_mm(5, 2))
    (0.0, -4.0, 4.0, -2.0, 2.0)
    >>> sewing_order_mm(line_positions_mm(4, 2))
    (-1.0, -3.0, 3.0, 1.0)
    """
    waiting = sorted(between(line, -LARGEST, LARGEST, "sewing line, mm from the centre", 2) for line in lines_mm)
    if not waiting:
        raise BadInput("no sewing lines", expected="one line or more", example="-2, 0, 2")
    order = [waiting.pop((len(waiting) - 1) // 2)]
    front, back = 0, len(waiting) - 1
    while front < back:
        order += [waiting[front], waiting[back]]
        front, back = front + 1, back - 1
    if front == back:
        order.append(waiting[front])
    return tuple(order)


def spine_allowance_mm(sections: int, pitch_mm: float, section_mm: float) -> float:
    """Width of cover that the sewn spine takes up, mm: (N - 1)·p + one closed section with its thread.

    N sections; p pitch, mm; section, mm, as for the flat pitch; at the flat pitch this is N·p. Exact for
    stiff sections: half a section lies outside each of the outermost lines.

    >>> spine_allowance_mm(5, 2, 2)
    10.0
    """
    between = (count(sections, "sections", 5) - 1) * positive(pitch_mm, "pitch, mm", 2)
    return between + positive(section_mm, "closed section, mm", 1.8)


def under_needle_mm(sheets_per_section: int, leaf_um: float, layers_mm: Sequence[float] = ()) -> float:
    """Thickness the needle passes through at one line, mm: s·t + every layer of the cover.

    The open section lies on the cover, so each sheet counts once; layers are card, interfacing, cloth, mm
    each. Exact for layers not yet pressed by the foot.

    >>> round(under_needle_mm(4, 100, [0.3, 0.2, 0.25]), 3)
    1.15
    """
    sheets = count(sheets_per_section, "sheets in a section", 4)
    return sheets * leaf_mm(leaf_um) + sum(not_negative(layer, "layer, mm", 0.3) for layer in layers_mm)


def paper_left(needle_mm: float, stitch_mm: float) -> float:
    """Share of the paper that is left along a row of needle holes, 0 to 1: 1 - d/p.

    d needle blade diameter, taken as the hole's, mm; p stitch length, mm. Exact as a length; the strength that
    is left is lower, because a row of holes gathers the strain.

    >>> round(paper_left(0.9, 2.5), 2)
    0.64
    """
    needle, stitch = positive(needle_mm, "needle diameter, mm", 0.9), positive(stitch_mm, "stitch, mm", 2.5)
    if needle >= stitch:
        raise BadInput(
            f"a {needle:g} mm needle leaves nothing between holes {stitch:g} mm apart",
            expected=f"a stitch longer than {needle:g} mm",
            example=f"{3 * needle:.4g}",
        )
    return 1 - needle / stitch


def between_lines_mm(pitch_mm: float, needle_mm: float) -> float:
    """Width of cover left between the holes of neighbouring lines, mm: p - d. Exact.

    >>> between_lines_mm(2, 0.75)
    1.25
    """
    bridge = positive(pitch_mm, "pitch, mm", 2) - positive(needle_mm, "needle diameter, mm", 0.9)
    return left_over(bridge, "the cover left between lines", "the lines are nearer than the needle is thick")


def lockstitch_thread_mm(seam_mm: float, stitch_mm: float, thickness_mm: float, tails_mm: float = 0.0) -> float:
    """Thread a lockstitched line takes, top and bobbin together, mm; half of it is on each.

    L length of the seam, mm; p stitch length, mm; h thickness sewn through, mm; tails, all four ends
    together, mm. Formula 2·L + 2·h·L/p + tails. Exact for square stitches that lock half-way: each stitch
    lies p on top and p underneath, and each thread goes h/2 in and out again.

    >>> round(lockstitch_thread_mm(100, 2.5, 1, tails_mm=400), 6)
    680.0
    """
    seam = positive(seam_mm, "seam, mm", 100)
    per_mm = 1 + positive(thickness_mm, "thickness sewn through, mm", 1) / positive(stitch_mm, "stitch, mm", 2.5)
    return 2 * seam * per_mm + not_negative(tails_mm, "tails, mm", 400)
