"""The case, checked on its cross-section and its corners laid out in coordinates."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import case
from matref.errors import BadInput

INCH = 25.4
MM = st.floats(1, 60)
PAGE = st.floats(40, 400)


def along(points):
    return math.fsum(math.dist(a, b) for a, b in pairwise(points))


def closed_case(page, square, setback, board, spine, reach):
    """Outside of a closed flat-back case, front fore-edge over the spine to back fore-edge, thin cloth.

    x runs from the back of the block (0) to the fore-edge, y across the book; the block is `spine` thick and
    the boards lie on it. Square grooves: the cloth goes down to the block's faces between board and spine.
    """
    out = page + square
    top = spine + board
    front = [(out, top), (setback, top), (setback, spine), (0, spine)]
    back = [(0, 0), (setback, 0), (setback, -board), (out, -board)]
    if reach == "boards":
        return [*front, (0, top), (0, -board), *back]
    return [*front, *back]


@pytest.mark.parametrize(("reach", "groove"), [("block", "one-wall"), ("boards", "two-wall")])
@pytest.mark.parametrize("board", [1.5, 2.5, 3.0])
def test_cloth_of_a_closed_case_measured(reach, groove, board):
    page, square, setback, spine, turn_in = 100, 3, 6, 12, 17
    path = along(closed_case(page, square, setback, board, spine, reach))
    piece = case.spine_piece_mm(spine, reach, board_mm=board)
    width = case.board_width_mm(page, square, setback)
    gap = case.gap_mm(piece, case.joint_mm(setback, board, groove))
    cloth = case.cloth_size_mm(width, case.board_height_mm(150, square), gap, turn_in)
    assert cloth.width_mm == pytest.approx(path + 2 * turn_in)
    assert cloth.height_mm == pytest.approx(150 + 2 * square + 2 * turn_in)


def test_case_with_cloth_under_the_boards():
    """Where cloth lies under each board, its outer face stands one cloth further out: measured across the book."""
    spine, board, cloth = 12, 2.5, 0.4
    outer_faces = spine + (board + cloth) + (board + cloth)
    assert case.spine_piece_mm(spine, "boards", board, cloth) == pytest.approx(outer_faces)


@pytest.mark.parametrize(("spine_in", "less_in"), [(3 / 4, 1 / 4), (5 / 4, 3 / 8), (7 / 4, 1 / 2), (9 / 4, 5 / 8)])
def test_quarter_joint_chart(spine_in, less_in):
    """temperproductions.com, quarter-joint board chart: at the top of each range, W less the figure printed."""
    page_in = 6
    width = case.quarter_joint_board_width_mm(page_in * INCH, spine_in * INCH, INCH / 16)
    assert width / INCH == pytest.approx(page_in - less_in)


def test_quarter_joint_boards_are_a_sixteenth_longer():
    """Same chart: board length H + 1/16 in; that is a square at the head alone, 1/32 on average."""
    assert case.board_height_mm(9 * INCH, INCH / 32) / INCH == pytest.approx(9 + 1 / 16)


def test_bean_1914():
    """Bean 1914: covers project 1/8 in at front and ends and stop 1/8 short of the fold: W by H + 1/4."""
    eighth = INCH / 8
    assert case.board_width_mm(5 * INCH, eighth, eighth) / INCH == pytest.approx(5)
    assert case.board_height_mm(8 * INCH, eighth) / INCH == pytest.approx(8 + 1 / 4)


def test_collins_1918():
    """Collins 1918: boards W by H + 1/4 in, set apart by the thickness of the book + 1/2 in."""
    thickness = 0.7 * INCH
    assert case.gap_mm(thickness, INCH / 4) / INCH == pytest.approx(0.7 + 1 / 2)


def test_clifton_arts_a5_case():
    """Clifton Arts: two A5 boards, gap 10, turn-in 30 need 366 x 270; the cover paper of 360 falls 6 mm short."""
    cloth = case.cloth_size_mm(148, 210, 10, 30)
    assert cloth == pytest.approx((366, 270))
    assert cloth.width_mm - 360 == pytest.approx(6)


def test_vaughn_1912():
    """Vaughn 1912: turn-in 3/4 in makes cloth 1 1/2 longer than the boards; side paper 7/8 wider than what shows."""
    turn_in = 0.75 * INCH
    cloth = case.cloth_size_mm(5 * INCH, 8 * INCH, 1.2 * INCH, turn_in)
    assert (cloth.height_mm - 8 * INCH) / INCH == pytest.approx(1.5)
    back_to_fore_edge = 5 * INCH - 1 * INCH
    paper = case.side_paper_size_mm(5 * INCH, 8 * INCH, 1 * INCH, INCH / 8, turn_in)
    assert (paper.width_mm - back_to_fore_edge) / INCH == pytest.approx(7 / 8)
    assert paper.height_mm == pytest.approx(cloth.height_mm)


def test_adam_cords():
    """Adam, Practical Bookbinding p. 31 (cm): 6 books of 25 in all: 6x6 + 25 = 61; extra work 6x12 + 25 = 97."""
    assert case.cord_length_mm(6, 250, 30) == pytest.approx(610)
    assert case.cord_length_mm(6, 250, 60) == pytest.approx(970)


@pytest.mark.parametrize(("turn_in", "board"), [(17, 2.0), (15, 3.0), (30, 1.5)])
@pytest.mark.parametrize("times", [1.0, 1.5])
def test_mitre_in_coordinates(turn_in, board, times):
    """Sheet corner at (0, 0), board corner at (TI, TI): how far is the cut from the board's corner?"""
    off = times * board
    leg = case.mitre_leg_mm(turn_in, off)
    (ax, ay), (bx, by), (px, py) = (leg, 0), (0, leg), (turn_in, turn_in)
    distance = abs((bx - ax) * (ay - py) - (ax - px) * (by - ay)) / math.hypot(bx - ax, by - ay)
    assert distance == pytest.approx(off)
    assert px + py > leg, "the board's corner must not lie in the triangle cut off"


def test_clifton_arts_corner():
    """Clifton Arts: corners are clipped 10 mm off the board's corner, turn-in 30: 60 - 14.1 mm from the corner."""
    assert case.mitre_leg_mm(30, 10) == pytest.approx(45.86, abs=0.005)


def test_a_mitre_off_the_sheet_is_refused():
    with pytest.raises(BadInput, match="outside"):
        case.mitre_leg_mm(10, 15)


@pytest.mark.parametrize(("board", "cloth"), [(2.0, 0.3), (3.0, 0.6), (2.5, 0.0)])
def test_turn_in_followed_round_the_board_edge(board, cloth):
    """The cloth's middle: a quarter circle, down the edge, a quarter circle, then what is left lies inside."""
    r, steps = cloth / 2, 4000
    quarter = [math.pi / 2 * i / steps for i in range(steps + 1)]
    top = [(r * math.sin(u), r * math.cos(u)) for u in quarter]
    under = [(r * math.cos(u), -board - r * math.sin(u)) for u in quarter]
    assert case.turn_in_overlap_mm(17, board, cloth) == pytest.approx(17 - along([*top, *under]), abs=1e-6)


def test_a_turn_in_that_does_not_get_round_is_refused():
    with pytest.raises(BadInput, match="edge"):
        case.turn_in_overlap_mm(2, 2.5, 0.3)


@settings(deadline=None)
@given(PAGE, PAGE, MM, st.floats(1, 8), st.floats(5, 30), st.floats(5, 30))
def test_quarter_case_covers_the_boards(width, height, gap, overlap, shown, turn_in):
    """Cloth back and two side papers, overlaps taken off, are as wide as the cloth of a full-cloth case."""
    full = case.cloth_size_mm(width, height, gap, turn_in)
    back = case.quarter_cloth_size_mm(height, gap, shown, turn_in)
    if overlap > shown or shown >= width:
        with pytest.raises(BadInput):
            case.side_paper_size_mm(width, height, shown, overlap, turn_in)
        return
    side = case.side_paper_size_mm(width, height, shown, overlap, turn_in)
    assert back.width_mm + 2 * (side.width_mm - overlap) == pytest.approx(full.width_mm)
    assert back.height_mm == side.height_mm == full.height_mm


@settings(deadline=None)
@given(PAGE, PAGE, st.floats(0, 8), st.floats(0, 10), st.floats(0.5, 4), st.floats(1, 60), st.floats(8, 30))
def test_a_bigger_page_never_needs_less_cloth(width, height, square, setback, board, spine, turn_in):
    def cloth(w, h, s):
        gap = case.gap_mm(case.spine_piece_mm(s), case.joint_mm(setback, board))
        return case.cloth_size_mm(
            case.board_width_mm(w, square, setback), case.board_height_mm(h, square), gap, turn_in
        )

    base = cloth(width, height, spine)
    assert min(base) > 0
    for bigger in (cloth(width + 1, height, spine), cloth(width, height + 1, spine), cloth(width, height, spine + 1)):
        assert bigger.width_mm >= base.width_mm
        assert bigger.height_mm >= base.height_mm


@settings(deadline=None)
@given(PAGE, PAGE, st.floats(0, 5), st.floats(0, 60), MM)
def test_inner_papers_stay_inside(width, height, short, flange, spine):
    paste, whole = case.pastedown_size_mm(width, height, short), case.endpaper_size_mm(width, height)
    assert whole == (2 * width, height)
    # centred on its leaf, head and tail margins are both `short`, the fore-edge margin too
    assert (whole.height_mm - paste.height_mm) / 2 == pytest.approx(short)
    assert whole.width_mm / 2 - paste.width_mm == pytest.approx(short)
    lining = case.lining_size_mm(spine, height, short, flange)
    assert lining.height_mm == paste.height_mm
    assert lining.width_mm == pytest.approx(flange + spine + flange)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: case.board_width_mm(5, 0, 6), "setback"),
        (lambda: case.quarter_joint_board_width_mm(5, 40, 1.6), "hinge"),
        (lambda: case.spine_piece_mm(12, "shoulder"), "block, boards"),
        (lambda: case.joint_mm(6, 2.5, "French"), "one-wall"),
        (lambda: case.pastedown_size_mm(3, 150, 4), "whole leaf"),
        (lambda: case.lining_size_mm(12, 150, 80), "more than the page"),
    ],
)
def test_impossible_parts_say_why(call, words):
    with pytest.raises(BadInput, match=words):
        call()
