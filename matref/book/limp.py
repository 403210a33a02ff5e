"""Limp (boardless) covers: one piece wrapped round the block, and a sewn cover that slips on.

Lengths in mm, measured flat. Own derivations; the tests lay the wrap out point by point and measure it.
"""

from __future__ import annotations

import math

from matref.book.check import not_negative, positive
from matref.book.size import Size


def limp_cover_size_mm(
    page_width_mm: float,
    page_height_mm: float,
    spine_mm: float,
    cover_mm: float,
    overhang_mm: float = 0.0,
    turn_in_mm: float = 0.0,
) -> Size:
    """Flat size of a one-piece limp cover, mm.

    W, H trimmed page, mm; S length over the bare back, mm: the thickness of a square spine, the arc of a round
    one; c thickness of the cover, mm; o overhang at fore-edge, head and tail, mm; TI turn-in or flap at each
    edge, mm. Formulas: width 2·(W + o) + S + (π/2)·c + 2·TI; height H + 2·o + 2·TI.
    Exact: whatever the back's shape, square corners or arc, the cover turns through half a circle in all, so
    its middle is longer than the outline it wraps by π·c/2.

    >>> size = limp_cover_size_mm(100, 150, 8, 0.6)
    >>> round(size.width_mm, 3), size.height_mm
    (208.942, 150.0)
    """
    overhang, turn_in = (
        not_negative(overhang_mm, "overhang, mm", 3),
        not_negative(turn_in_mm, "turn-in, mm", 15),
    )
    edges = 2 * overhang + 2 * turn_in
    wrap = positive(spine_mm, "spine, mm", 8) + math.pi / 2 * positive(cover_mm, "cover thickness, mm", 0.6)
    width = 2 * positive(page_width_mm, "page width, mm", 100) + wrap + edges
    return Size(width, positive(page_height_mm, "page height, mm", 150) + edges)


def slip_on_cover_size_mm(
    height_mm: float,
    wrap_mm: float,
    seam_mm: float,
    ease_height_mm: float,
    ease_wrap_mm: float,
    flap_mm: float = 0.0,
) -> Size:
    """Cut size of a sewn cloth cover that slips over a finished book, mm.

    height of the book; wrap, the way round the closed book from fore-edge over the spine to fore-edge; seam
    allowance at each edge; ease, what makes it slip on, in each direction; flap, the depth of each pocket
    cut in one with the outside. Formulas: width wrap + 2·flap + 2·seam + ease; height + 2·seam + ease.
    Exact sums; seam and ease are rules of the catalogue.

    >>> slip_on_cover_size_mm(150, 210, 10, 5, 7, flap_mm=60)
    Size(width_mm=357.0, height_mm=175.0)
    """
    seams = 2 * not_negative(seam_mm, "seam allowance, mm", 10)
    width = positive(wrap_mm, "wrap, mm", 210) + 2 * not_negative(flap_mm, "flap, mm", 60)
    height = positive(height_mm, "book height, mm", 150) + not_negative(ease_height_mm, "ease in height, mm", 5)
    return Size(width + seams + not_negative(ease_wrap_mm, "ease in width, mm", 7), height + seams)
