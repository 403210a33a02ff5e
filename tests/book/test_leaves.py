import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import leaves
from matref.errors import BadInput

LEAF, PIECE = st.floats(100, 1200), st.floats(30, 400)
GRAIN = st.sampled_from(["long", "short", "unknown"])


def count_by_laying(along, across, height, width):
    """Lay pieces one by one, row after row, until the next would stick out."""
    rows = columns = 0
    while (rows + 1) * height <= along * (1 + 1e-12):
        rows += 1
    while (columns + 1) * width <= across * (1 + 1e-12):
        columns += 1
    return rows, columns


@pytest.mark.parametrize(
    ("leaf", "piece", "pieces"),
    [
        ((297, 420), (297 / 2, 210), (4, 2)),  # A3 is four A5: two rows of 210 in 420, two of 148.5 in 297
        ((420, 297), (210, 297), (1, 2)),  # A3 into A4: two, spine across the long side
        ((594, 841), (210, 297), (4, 8)),  # ISO 216: A1 is eight A4
        ((841, 1189), (210, 297), (16, 10)),  # ISO 216: A0 is sixteen A4
    ],
)
def test_iso_216_sheets(leaf, piece, pieces):
    """ISO 216: each size halves into the next, so A(n) holds 2^(m - n) of A(m) one way round."""
    ways = leaves.turns(*leaf, *piece)
    assert tuple(turn.pieces for turn in ways) == pieces


def test_chart_leaf_written_out():
    """Invented: a ledger leaf 330 x 210, long grain, for sheets 160 x 110 that fold to pages of 80 x 110."""
    along, across = leaves.turns(330, 210, 160, 110, grain="long")
    assert (along.columns, along.rows, along.pieces, along.grain_along_spine) == (1, 3, 3, True)
    assert (across.columns, across.rows, across.pieces, across.grain_along_spine) == (2, 1, 2, False)
    assert along.waste_share == pytest.approx(1 - 3 * 160 * 110 / (330 * 210))
    assert leaves.preferred((along, across)) is along
    assert leaves.leaves_needed(10, along) == 4


def test_grain_along_the_spine_comes_before_yield():
    ways = leaves.turns(420, 297, 210, 297, grain="long")
    assert [turn.pieces for turn in ways] == [1, 2]
    assert leaves.preferred(ways).spine_along == "long"
    assert leaves.preferred(leaves.turns(420, 297, 210, 297, grain="short")).pieces == 2
    assert leaves.preferred(leaves.turns(420, 297, 210, 297)).pieces == 2


def test_wrong_grain_is_better_than_nothing_and_says_so():
    turn = leaves.preferred(leaves.turns(210, 100, 200, 95, grain="long"))
    assert turn.pieces == 1
    assert turn.grain_along_spine is False


def test_unknown_grain_stays_unknown():
    assert [turn.grain_along_spine for turn in leaves.turns(297, 210, 100, 100)] == [None, None]


def test_cutting_off_old_sewing_holes():
    assert leaves.turns(297, 210, 148.5, 210)[1].pieces == 2
    assert leaves.turns(297, 210, 148.5, 210, edge_mm=1)[1].pieces == 0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: leaves.preferred(leaves.turns(100, 80, 200, 150)), "no piece fits"),
        (lambda: leaves.leaves_needed(3, leaves.turns(100, 80, 200, 150)[0]), "no piece fits"),
        (lambda: leaves.turns(297, 210, 100, 100, grain="diagonal"), "long, short or unknown"),
        (lambda: leaves.turns(297, 210, 100, 100, edge_mm=105), "meet"),
    ],
)
def test_impossible_leaves_say_why(call, words):
    with pytest.raises(BadInput, match=words):
        call()


@settings(deadline=None)
@given(LEAF, LEAF, PIECE, PIECE, GRAIN, st.integers(0, 200).map(lambda tenths: tenths / 10))
def test_turns_match_pieces_laid_one_by_one(side_a, side_b, width, height, grain, edge):
    ways = leaves.turns(side_a, side_b, width, height, grain, edge)
    long, short = max(side_a, side_b) - 2 * edge, min(side_a, side_b) - 2 * edge
    for turn, along, across in zip(ways, (long, short), (short, long), strict=True):
        assert (turn.rows, turn.columns) == count_by_laying(along, across, height, width)
        assert turn.rows * height <= along * (1 + 1e-9)
        assert turn.columns * width <= across * (1 + 1e-9)
        used = turn.pieces * width * height / (side_a * side_b)
        assert 0 <= turn.waste_share <= 1
        assert turn.waste_share + used == pytest.approx(1, abs=1e-6)
        assert (turn.grain_along_spine is None) == (grain == "unknown")
    assert leaves.turns(side_b, side_a, width, height, grain, edge) == ways


@settings(deadline=None)
@given(LEAF, LEAF, PIECE, PIECE, GRAIN)
def test_a_smaller_piece_never_yields_fewer(side_a, side_b, width, height, grain):
    for before, after in zip(
        leaves.turns(side_a, side_b, width, height, grain),
        leaves.turns(side_a, side_b, width * 0.9, height * 0.9, grain),
        strict=True,
    ):
        assert after.pieces >= before.pieces


@settings(deadline=None)
@given(LEAF, LEAF, PIECE, PIECE, GRAIN, st.integers(1, 500))
def test_preferred_turn_and_the_pile_it_takes(side_a, side_b, width, height, grain, wanted):
    ways = leaves.turns(side_a, side_b, width, height, grain)
    if not any(turn.pieces for turn in ways):
        return
    best = leaves.preferred(ways)
    assert best.pieces > 0
    right = [turn for turn in ways if turn.grain_along_spine and turn.pieces]
    assert best in (right or ways)
    if not right:
        assert best.pieces == max(turn.pieces for turn in ways)
    need = leaves.leaves_needed(wanted, best)
    assert (need - 1) * best.pieces < wanted <= need * best.pieces
