"""Parts of every structure: chains that add up, layouts measured point by point, published sizes, plain properties."""

import math
from dataclasses import replace

import numpy as np
import pytest
from chandlery import COVER
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import case, limp
from matref.book.creep import single_section_cover_width_mm
from matref.book.rule_row import number
from matref.book.structures import STRUCTURES, structure
from matref.book.structures.case_parts import setback_mm
from matref.book.structures.parts import Block, Layer, total
from matref.book.structures.soft_cover import allowance_mm, bend_mm
from matref.errors import BadInput
from matref.estimator.estimate import Estimate


def near(value, share=0.1):
    return Estimate(value, value * (1 - share), value * (1 + share))


def block(width=100.0, height=150.0, *, sections=5, sheets=4, leaf=0.1, swell=0.2, pitch=2.0, doubt=0.1):
    section, closed = 2 * sheets * leaf, 2 * sheets * leaf + swell
    spine = near(sections * closed, doubt)
    arc = near(max(spine.value, sections * section * 1.2092), doubt)
    return Block(width, height, sheets, sections, spine, arc, near(section, doubt), near(closed, doubt), pitch)


def made(name, one, practice, cover=COVER):
    one = replace(one, sections=1) if name == "pamphlet" else one
    return {part.name: part for part in structure(name).parts(one, cover, practice)}


@pytest.mark.parametrize("name", STRUCTURES)
def test_chains_add_up_to_the_sizes(name, practice):
    for part in made(name, block(), practice).values():
        assert total(part.width_chain) == pytest.approx(part.width_mm)
        assert total(part.height_chain) == pytest.approx(part.height_mm)
        assert part.width_low_mm <= part.width_mm <= part.width_high_mm
        assert part.moved_by_spine_mm == pytest.approx((part.width_high_mm - part.width_low_mm) / 2)
        assert part.grain == "along the spine"
        assert sum(item["mm"] for item in part.as_json()["width_chain"]) == pytest.approx(part.width_mm)


def test_sizes_agree_with_the_formulas_of_case_and_limp(practice):
    one, p = block(), practice
    joint, square, turn = number(p.gap), number(p.square), number(p.turn_in)
    parts = made("flat-back-case", one, practice)
    board = case.board_width_mm(100, square, joint - 2.0)
    assert parts["board"].width_mm == pytest.approx(board)
    gap = case.gap_mm(case.spine_piece_mm(one.spine_mm.value), case.joint_mm(joint - 2.0, 2.0))
    cloth = case.cloth_size_mm(board, case.board_height_mm(150, square), gap, turn)
    assert (parts["cloth"].width_mm, parts["cloth"].height_mm) == pytest.approx(cloth)
    flange, short = number(p.lining_side), number(p.lining_short)
    mull = case.lining_size_mm(one.spine_mm.value, 150, short, flange)
    assert (parts["mull"].width_mm, parts["mull"].height_mm) == pytest.approx(mull)
    quarter = made("quarter-case", one, practice)
    shown, overlap = number(p.quarter_show), number(p.side_paper_overlap)
    side = case.side_paper_size_mm(board, 150 + 2 * square, shown, overlap, turn)
    assert (quarter["side paper"].width_mm, quarter["side paper"].height_mm) == pytest.approx(side)
    back = case.quarter_cloth_size_mm(150 + 2 * square, gap, shown, turn)
    assert (quarter["cloth back"].width_mm, quarter["cloth back"].height_mm) == pytest.approx(back)
    wrap = limp.limp_cover_size_mm(100, 150, one.spine_mm.high, 0.4, number(p.long_stitch_extra) / 2)
    long_stitch = made("long-stitch", one, practice)["limp cover"]
    assert (long_stitch.width_mm, long_stitch.height_mm) == pytest.approx(wrap)
    leaf = 1000 * one.section_mm.high / 8
    card = made("pamphlet", one, practice)["cover"]
    assert card.width_mm == pytest.approx(single_section_cover_width_mm(100, 0, 4, leaf, 0.3))


def corner_path(width, spine, offset, points=4001):
    """Length of a line kept `offset` outside a page, a square spine and a page, the bends drawn as arcs."""
    bend = np.linspace(0, math.pi / 2, points)
    x, y = [-width], [offset]
    for cx, start in ((0.0, math.pi / 2), (0.0, 0.0)):
        cy = 0.0 if start else -spine
        x += list(cx + offset * np.cos(start - bend))
        y += list(cy + offset * np.sin(start - bend))
    x, y = [*x, -width], [*y, -spine - offset]
    return np.hypot(np.diff(x), np.diff(y)).sum()


@pytest.mark.parametrize("inner", [0.0, 0.3, 0.7])
def test_layers_of_a_soft_cover_measured_point_by_point(inner):
    for layer in (0.1, 0.45):
        measured = corner_path(100, 8, inner + layer / 2)
        assert 2 * 100 + 8 + bend_mm(inner, layer) == pytest.approx(measured, abs=1e-4)


def test_soft_cover_layers_lie_on_each_other(practice):
    """Each finished layer, clearance and turn-in taken off, has the length of its own way round the same spine."""
    one = block(pitch=0.5)  # nearer than a closed section: the spine itself needs the room
    parts, clear = made("soft-cover", one, practice), number(practice.interfacing_clearance)
    turn, spine = number(practice.turn_in_soft), one.spine_mm.high
    for name, bare, offset in (
        ("card lining", 2 * clear, 0.15),
        ("interfacing", 2 * clear, 0.3 + 0.1),
        ("cloth", -2 * turn, 0.3 + 0.2 + 0.2),
    ):
        assert parts[name].width_mm + bare == pytest.approx(corner_path(100, spine, offset), abs=1e-4)
    without = made("soft-cover", one, practice, replace(COVER, interfacing=None))
    assert set(without) == {"cloth", "card lining"}
    assert without["cloth"].width_mm < parts["cloth"].width_mm


def test_spine_allowance_gives_room_to_lines_and_block():
    lines = [-4, -2, 0, 2, 4]  # half a closed section of 1.2 lies outside either outer line
    assert allowance_mm(5, 2, 1.2, 6.0) == pytest.approx(lines[-1] - lines[0] + 1.2)
    assert allowance_mm(5, 1, 1.2, 6.0) == 6.0


@settings(max_examples=40, deadline=None)
@given(st.floats(50, 300), st.floats(2.0, 40), st.floats(0.5, 3), st.floats(3, 12), st.floats(0, 6))
def test_closed_case_has_the_square_all_round(practice, page, spine, board, joint, square):
    """Close the case: cloth runs over the spine piece, into the groove, y along its floor, up b on to the board.
    The board then starts y from the spine edge and has to end one square beyond the page."""
    if joint < board:
        with pytest.raises(BadInput, match="narrower than the board"):
            setback_mm(joint, board)
        return
    own = practice.with_own({"gap": joint, "square": square})
    one = replace(block(page), spine_mm=near(spine))
    cover = replace(COVER, board=Layer("greyboard", board))
    parts = made("flat-back-case", one, own, cover)
    wall, floor = board, joint - board
    assert wall + floor == pytest.approx(joint)
    assert floor + parts["board"].width_mm - page == pytest.approx(square)
    assert (parts["board"].height_mm - one.page_height_mm) / 2 == pytest.approx(square)
    turn = number(own.turn_in)
    flat = turn + parts["board"].width_mm + joint + spine + joint + parts["board"].width_mm + turn
    assert parts["cloth"].width_mm == pytest.approx(flat)


def test_joint_narrower_than_the_board_is_refused(practice):
    with pytest.raises(BadInput, match="will not open") as refused:
        made("flat-back-case", block(), practice.with_own({"gap": 1.5}))
    gap = float(refused.value.example.split("= ")[1])
    assert made("flat-back-case", block(), practice.with_own({"gap": gap}))["board"].width_mm > 0


def test_overhang_of_a_pamphlet_shows_in_its_chain(practice):
    cover = made("pamphlet", block(), practice.with_own({"overhang": 2}))["cover"]
    flush = made("pamphlet", block(), practice.with_own({"overhang": 0}))["cover"]
    assert [mm for _, mm in cover.width_chain] == pytest.approx([102, flush.width_chain[1][1], 102])
    assert cover.height_mm - flush.height_mm == pytest.approx(4)


def test_rounded_case_goes_over_arc_and_shoulders(practice):
    flat, round_ = (made(name, block(), practice) for name in ("flat-back-case", "rounded-case"))
    shoulder = number(practice.shoulder_over_board) * 2.0
    arc = block().arc_mm.value
    assert round_["spine inlay, flexible"].width_mm == pytest.approx(arc + 2 * shoulder)
    wider = arc + 2 * shoulder - block().spine_mm.value
    assert round_["cloth"].width_mm - flat["cloth"].width_mm == pytest.approx(wider)
    assert round_["board"] == flat["board"]


def test_spine_parts_are_cut_after_sewing(practice):
    parts = made("flat-back-case", block(), practice)
    assert {n for n, p in parts.items() if p.cut_when == "after sewing"} == {
        "spine piece",
        "cloth",
        "mull",
        "back lining",
    }
    assert parts["spine piece"].moved_by_spine_mm == pytest.approx(block().spine_mm.half_width)
    assert all(p.moved_by_spine_mm == 0 for p in made("link-stitch", block(), practice).values())
    for name in ("soft-cover", "long-stitch"):
        for part in made(name, block(), practice).values():
            assert part.cut_when == "now"
            assert part.width_mm == part.width_high_mm
    assert "95 % sure" in made("soft-cover", block(), practice)["cloth"].allowance


def test_mitre_measured(practice):
    """Cut the corner at the marked legs: the cut passes m from the board's corner, which lies at (TI, TI)."""
    cloth = made("flat-back-case", block(), practice)["cloth"]
    (_, leg), turn = cloth.marks[0], number(practice.turn_in)
    ends = np.array([[leg, 0.0], [0.0, leg]])
    along = ends[1] - ends[0]
    away = np.array([turn, turn]) - ends[0]
    distance = abs(along[0] * away[1] - along[1] * away[0]) / np.hypot(*along)
    assert distance == pytest.approx(number(practice.mitre_over_board) * 2.0)


def test_clifton_case_and_its_short_cloth(practice):
    """Clifton Arts, A5 case (mm): two A5 boards, 10 between them, turn-in 30 need 366 x 270; 360 is 6 mm short."""
    own = practice.with_own({"gap": 3, "square": 0, "turn_in": 30})
    one = replace(block(149.0, 210.0), spine_mm=near(4.0))
    parts = made("flat-back-case", one, own)
    assert (parts["board"].width_mm, parts["board"].height_mm) == (148, 210)
    assert total(parts["cloth"].width_chain[2:5]) == 10
    assert (parts["cloth"].width_mm, parts["cloth"].height_mm) == pytest.approx((366, 270))
    assert parts["cloth"].width_mm - 360 == pytest.approx(6)


def test_bean_and_collins_boards(practice):
    """Bean 1914: cover projects 1/8 in and stops 1/8 in short of the fold: boards W by H + 1/4. Collins 1918: same."""
    eighth = 25.4 / 8
    own = practice.with_own({"square": eighth, "gap": eighth + 2.0})
    board = made("flat-back-case", block(120, 180), own)["board"]
    assert (board.width_mm, board.height_mm) == pytest.approx((120, 180 + 25.4 / 4))


@pytest.mark.parametrize(
    ("name", "missing"),
    [
        ("soft-cover", "cloth"),
        ("soft-cover", "card"),
        ("pamphlet", "card"),
        ("link-stitch", "board"),
        ("flat-back-case", "board"),
        ("flat-back-case", "cloth"),
        ("flat-back-case", "endpaper"),
        ("quarter-case", "paper"),
        ("rounded-case", "board"),
    ],
)
def test_a_missing_material_is_named(name, missing, practice):
    with pytest.raises(BadInput, match=missing):
        made(name, block(), practice, replace(COVER, **{missing: None}))


def test_substitutes(practice):
    assert made("long-stitch", block(), practice, replace(COVER, cloth=None))["limp cover"].material == "card"
    assert made("link-stitch", block(), practice, replace(COVER, paper=None))["board covering"].material == "sailcloth"
    assert made("flat-back-case", block(), practice, replace(COVER, card=None))["spine piece"].material == "greyboard"
    bare = made("flat-back-case", block(), practice, replace(COVER, mull=None, lining=None))
    assert "mull" not in bare
    assert set(made("long-stitch", block(), practice, replace(COVER, lining=None))) == {"limp cover"}
    assert "back lining" not in bare


def test_refusals(practice):
    with pytest.raises(BadInput, match="one section"):
        structure("pamphlet").parts(block(), COVER, practice)
    with pytest.raises(BadInput, match="not a structure"):
        structure("hardback")
    with pytest.raises(BadInput, match="thickness"):
        Layer("nothing", 0.0)


@pytest.mark.parametrize("name", STRUCTURES)
@settings(max_examples=25, deadline=None)
@given(
    st.floats(60, 250),
    st.floats(60, 300),
    st.integers(1, 15),
    st.integers(1, 8),
    st.floats(0.04, 0.25),
    st.floats(0.05, 0.4),
    st.floats(0, 20),
)
def test_bigger_books_never_need_smaller_parts(name, practice, width, height, sections, sheets, leaf, swell, more):
    small = block(width, height, sections=sections, sheets=sheets, leaf=leaf, swell=swell)
    taller = block(width + more, height + more / 2, sections=sections, sheets=sheets, leaf=leaf, swell=swell)
    thicker = block(width, height, sections=sections + 1, sheets=sheets, leaf=leaf * 1.1, swell=swell)
    parts, bigger, fatter = (made(name, one, practice) for one in (small, taller, thicker))
    assert parts.keys() == bigger.keys()
    assert parts.keys() <= fatter.keys()  # a back that is wide enough gets its strips
    for key, part in parts.items():
        assert part.width_mm > 0
        assert part.height_mm > 0
        assert bigger[key].width_mm >= part.width_mm - 1e-9
        assert bigger[key].height_mm >= part.height_mm - 1e-9
        assert fatter[key].width_mm >= part.width_mm - 1e-9
