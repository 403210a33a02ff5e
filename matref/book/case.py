"""The parts of a case: boards, joint, spine piece, cloth, corners, quarter cloth, endpapers, linings, cords.

W, H trimmed page width and height; q square, the board's overhang; b board thickness; y setback, the distance
from the block's spine edge to the board's edge in the closed book; J joint, the distance between board and
spine piece on the flat cloth; TI turn-in; c thickness of the covering. All mm. Every formula is an own
derivation, checked in the tests by laying the parts out; which allowance to take is a rule of the catalogue.
"""

from __future__ import annotations

import math
from typing import Literal

from matref.book.check import count, left_over, not_negative, positive
from matref.book.size import Size
from matref.errors import BadInput

SpineReach = Literal["block", "boards"]
Groove = Literal["flat", "one-wall", "two-wall"]


def board_height_mm(page_height_mm: float, square_mm: float) -> float:
    """Height of a board, mm: H + 2·q. Exact.

    >>> board_height_mm(150, 3)
    156.0
    """
    return positive(page_height_mm, "page height, mm", 150) + 2 * not_negative(square_mm, "square, mm", 3)


def board_width_mm(page_width_mm: float, square_mm: float, setback_mm: float) -> float:
    """Width of a board, mm: W + q - y. Exact; with the setback equal to the square it is the page width.

    >>> board_width_mm(100, 3, 6)
    97.0
    """
    reach = positive(page_width_mm, "page width, mm", 100) + not_negative(square_mm, "square, mm", 3)
    setback = not_negative(setback_mm, "setback, mm", 6)
    return left_over(reach - setback, "the board's width", "the setback is wider than page and square")


def quarter_joint_board_width_mm(page_width_mm: float, spine_mm: float, clearance_mm: float) -> float:
    """Width of a board whose hinge takes a quarter of the spine's thickness, mm: W - (S/4 + clearance).

    S spine thickness, mm; the clearance is a rule of the catalogue (a published board chart gives 1/16 inch).
    Rule; the arithmetic is exact.

    >>> quarter_joint_board_width_mm(150, 20, 1.6)
    143.4
    """
    hinge = positive(spine_mm, "spine, mm", 20) / 4 + not_negative(clearance_mm, "clearance, mm", 1.6)
    page = positive(page_width_mm, "page width, mm", 150)
    return left_over(page - hinge, "the board's width", "the hinge is wider than the page")


def spine_piece_mm(
    spine_mm: float, reach: SpineReach = "block", board_mm: float = 0.0, cloth_under_mm: float = 0.0
) -> float:
    """Width of the stiff piece in the spine of the case, mm.

    S spine of the block: its thickness if flat, its arc if rounded. reach "block": the piece is as wide as
    the block, S. reach "boards": its ends lie level with the outer faces of the boards, S + 2·b, and + 2·c
    where cloth c thick lies under the boards. Rule which of the two; the sums are exact.

    >>> spine_piece_mm(12)
    12.0
    >>> spine_piece_mm(12, "boards", board_mm=2.5)
    17.0
    """
    spine = positive(spine_mm, "spine, mm", 12)
    board = not_negative(board_mm, "board thickness, mm", 2.5)
    cloth = not_negative(cloth_under_mm, "cloth under the board, mm", 0.3)
    return spine + 2 * (board + cloth) * _choice(reach, "reach of the spine piece", {"block": 0, "boards": 1})


def joint_mm(setback_mm: float, board_mm: float, groove: Groove = "one-wall") -> float:
    """Joint on the flat cloth, between the edges of board and spine piece, mm.

    The cloth lies on the floor of the groove, y wide, and climbs its square walls, b high.
    "flat": y, no groove pressed in; "one-wall": y + b, up the board's edge, for a spine piece as wide as the
    block; "two-wall": y + 2·b, down from a spine piece that reaches the boards' outer faces and up again.
    Exact for square grooves and thin cloth; a rounded groove lies between.

    >>> joint_mm(6, 2.5), joint_mm(6, 2.5, "two-wall")
    (8.5, 11.0)
    """
    walls = _choice(groove, "groove", {"flat": 0, "one-wall": 1, "two-wall": 2})
    board = positive(board_mm, "board thickness, mm", 2.5)
    return not_negative(setback_mm, "setback, mm", 6) + walls * board


def gap_mm(spine_piece_mm: float, joint_mm: float) -> float:
    """Distance between the two boards on the flat cloth, mm: S_p + 2·J.

    S_p spine piece or, in a case without one, the spine of the block. Exact.

    >>> gap_mm(12, 8.5)
    29.0
    """
    return positive(spine_piece_mm, "spine piece, mm", 12) + 2 * not_negative(joint_mm, "joint, mm", 8.5)


def cloth_size_mm(board_width_mm: float, board_height_mm: float, gap_mm: float, turn_in_mm: float) -> Size:
    """Flat size of the cloth of a full-cloth case, mm: 2·B + G + 2·TI by board height + 2·TI. Exact.

    >>> cloth_size_mm(97, 156, 29, 17)
    Size(width_mm=257.0, height_mm=190.0)
    """
    turn_in = positive(turn_in_mm, "turn-in, mm", 17)
    width = 2 * positive(board_width_mm, "board width, mm", 97) + positive(gap_mm, "gap, mm", 29)
    return Size(width + 2 * turn_in, positive(board_height_mm, "board height, mm", 156) + 2 * turn_in)


def turn_in_overlap_mm(turn_in_mm: float, board_mm: float, cloth_mm: float) -> float:
    """How much of a turn-in lies on the inside of the board, mm: TI - b - (π/2)·c.

    Exact for a square board edge: the covering's middle goes round two corners, each a quarter circle of c/2.

    >>> round(turn_in_overlap_mm(17, 2.5, 0.3), 2)
    14.03
    """
    used = positive(board_mm, "board thickness, mm", 2.5) + math.pi / 2 * not_negative(cloth_mm, "cloth, mm", 0.3)
    overlap = positive(turn_in_mm, "turn-in, mm", 17) - used
    return left_over(overlap, "the overlap inside the board", "the turn-in has to pass the board's edge")


def mitre_leg_mm(turn_in_mm: float, off_corner_mm: float) -> float:
    """Leg of the triangle to cut off each corner of the cloth at 45 degrees, mm from the sheet's corner.

    m distance left between the cut and the corner of the board, mm, commonly 1 to 1.5 board thicknesses.
    Formula 2·TI - m·√2. Exact: the board's corner lies at (TI, TI), m from the line x + y = leg.

    >>> round(mitre_leg_mm(17, 3), 2)
    29.76
    """
    turn_in, off = (
        positive(turn_in_mm, "turn-in, mm", 17),
        positive(off_corner_mm, "distance off the corner, mm", 3),
    )
    return left_over(2 * turn_in - off * math.sqrt(2), "the mitre", "the cut falls outside the cloth")


def quarter_cloth_size_mm(board_height_mm: float, gap_mm: float, shown_mm: float, turn_in_mm: float) -> Size:
    """Size of the cloth back of a quarter case, mm: G + 2·v by board height + 2·TI.

    v cloth lying on each board, mm, the part under the side paper counted in. Exact.

    >>> quarter_cloth_size_mm(156, 29, 20, 17)
    Size(width_mm=69.0, height_mm=190.0)
    """
    width = positive(gap_mm, "gap, mm", 29) + 2 * positive(shown_mm, "cloth on the board, mm", 20)
    return Size(
        width,
        positive(board_height_mm, "board height, mm", 156) + 2 * positive(turn_in_mm, "turn-in, mm", 17),
    )


def side_paper_size_mm(
    board_width_mm: float, board_height_mm: float, shown_mm: float, overlap_mm: float, turn_in_mm: float
) -> Size:
    """Size of the side paper of a quarter case, mm: B - v + overlap + TI by board height + 2·TI.

    v cloth lying on the board, mm; overlap of paper on cloth, mm. Exact.

    >>> side_paper_size_mm(97, 156, 20, 3, 17)
    Size(width_mm=97.0, height_mm=190.0)
    """
    turn_in = positive(turn_in_mm, "turn-in, mm", 17)
    shown, overlap = (
        positive(shown_mm, "cloth on the board, mm", 20),
        not_negative(overlap_mm, "overlap, mm", 3),
    )
    bare = positive(board_width_mm, "board width, mm", 97) - shown
    left_over(bare, "the side of the board", "the cloth back covers all of it")
    if overlap > shown:
        raise BadInput(f"overlap of {overlap:g} mm is wider than the cloth on the board", expected=f"{shown:g} or less")
    return Size(bare + overlap + turn_in, positive(board_height_mm, "board height, mm", 156) + 2 * turn_in)


def endpaper_size_mm(page_width_mm: float, page_height_mm: float, trim_mm: float = 0.0, ends_mm: float = 0.0) -> Size:
    """Flat size of one folded endpaper, two leaves, mm: 2·(W + t) by H + 2·h. Exact.

    Endpapers are trimmed with the block, so they are cut like its sheets: t what the trim takes off at the fore-edge,
    h at head and at tail each, mm.

    >>> endpaper_size_mm(100, 150, 2.2, 3)
    Size(width_mm=204.4, height_mm=156.0)
    """
    width = 2 * (positive(page_width_mm, "page width, mm", 100) + not_negative(trim_mm, "fore-edge trim, mm", 2))
    ends = 2 * not_negative(ends_mm, "trim at head and tail, mm", 3)
    return Size(width, positive(page_height_mm, "page height, mm", 150) + ends)


def pastedown_size_mm(page_width_mm: float, page_height_mm: float, short_mm: float) -> Size:
    """Size of the leaf pasted to the board when it is cut shorter than the page, mm: W - δ by H - 2·δ.

    δ what is cut off at fore-edge, head and tail, mm, so that the damp leaf does not stretch past the
    turn-ins' margin. Rule; the arithmetic is exact.

    >>> pastedown_size_mm(100, 150, 2)
    Size(width_mm=98.0, height_mm=146.0)
    """
    short = not_negative(short_mm, "shortening, mm", 2)
    width = positive(page_width_mm, "page width, mm", 100) - short
    height = positive(page_height_mm, "page height, mm", 150) - 2 * short
    reason = "the shortening takes the whole leaf"
    return Size(left_over(width, "the pasted leaf's width", reason), left_over(height, "its height", reason))


def lining_size_mm(spine_mm: float, page_height_mm: float, short_mm: float, flange_mm: float = 0.0) -> Size:
    """Size of a lining or mull for the back, mm: S + 2·flange by H - 2·short.

    S width over the back: thickness if flat, arc if rounded, arc over the shoulders if backed; flange what
    goes on to each board, mm, 0 for a lining that stays on the back; short what it stops short of head and
    of tail, mm. Rule; the arithmetic is exact.

    >>> lining_size_mm(12, 150, 3, flange_mm=30)
    Size(width_mm=72.0, height_mm=144.0)
    """
    width = positive(spine_mm, "back, mm", 12) + 2 * not_negative(flange_mm, "flange, mm", 30)
    height = positive(page_height_mm, "page height, mm", 150) - 2 * not_negative(short_mm, "shortening, mm", 3)
    return Size(width, left_over(height, "the lining's height", "it stops short by more than the page"))


def cord_length_mm(books: int, thickness_in_all_mm: float, slip_mm: float) -> float:
    """Length of one cord (or tape) for books sewn one after another on it, mm: n·2·slip + thickness of all.

    n books; slip what each book keeps on either side for lacing in, mm. Rule; the sum is exact.

    >>> cord_length_mm(1, 12, 30)
    72.0
    """
    slips = 2 * count(books, "books", 6) * positive(slip_mm, "slip on each side, mm", 30)
    return slips + positive(thickness_in_all_mm, "thickness of the books, mm", 12)


def _choice(value: str, what: str, choices: dict[str, int]) -> int:
    if value not in choices:
        expected = "one of " + ", ".join(choices)
        raise BadInput(f"{what} is {repr(value)[:40]}", expected=expected, example=next(iter(choices)))
    return choices[value]
