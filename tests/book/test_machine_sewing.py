import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import machine_sewing as sewing
from matref.errors import BadInput

SECTIONS, PITCH = st.integers(1, 41), st.floats(0.3, 15)


def test_practice_two_millimetres_odd_sections():
    """Common practice, no source: lines 2 mm apart, odd number, centre first, then the outermost, then inward."""
    lines = sewing.line_positions_mm(7, 2)
    assert lines == (-6, -4, -2, 0, 2, 4, 6)
    assert sewing.sewing_order_mm(lines) == (0, -6, 6, -4, 4, -2, 2)


@pytest.mark.parametrize(
    ("sections", "order"),
    [
        (1, (0.0,)),
        (2, (-1.0, 1.0)),
        (3, (0.0, -2.0, 2.0)),
        (4, (-1.0, -3.0, 3.0, 1.0)),
        (6, (-1.0, -5.0, 5.0, -3.0, 3.0, 1.0)),
    ],
)
def test_order_written_out(sections, order):
    assert sewing.sewing_order_mm(sewing.line_positions_mm(sections, 2)) == order


def test_no_lines_no_order():
    with pytest.raises(BadInput):
        sewing.sewing_order_mm(())
    with pytest.raises(BadInput):
        sewing.sewing_order_mm((1.0, math.nan))


@pytest.mark.parametrize(
    ("needle", "stitch", "percent"), [(0.9, 2.0, 55), (0.9, 2.5, 64), (0.9, 3.0, 70), (0.9, 4.0, 78)]
)
def test_paper_left_own_table(needle, stitch, percent):
    assert 100 * sewing.paper_left(needle, stitch) == pytest.approx(percent, abs=0.51)


@settings(deadline=None)
@given(st.floats(0.4, 1.4), st.floats(1.5, 6), st.integers(2, 60))
def test_paper_left_measured_along_a_row(needle, stitch, holes):
    """Punch a row of holes in a strip as long as the row and add up the paper between them."""
    edges = [(i * stitch, i * stitch + needle) for i in range(holes)]
    paper = sum(nxt[0] - here[1] for here, nxt in zip(edges, [*edges[1:], (holes * stitch, 0)], strict=True))
    assert sewing.paper_left(needle, stitch) == pytest.approx(paper / (holes * stitch))
    assert 0 < sewing.paper_left(needle, stitch) < 1


def test_a_needle_wider_than_the_stitch_is_refused():
    for stitch in (1.0, 1.1):
        with pytest.raises(BadInput, match="nothing between holes") as refused:
            sewing.paper_left(1.1, stitch)
        assert sewing.paper_left(1.1, float(refused.value.example)) == pytest.approx(2 / 3)
    with pytest.raises(BadInput, match="nearer than"):
        sewing.between_lines_mm(0.8, 0.9)


@pytest.mark.parametrize(("sheets", "leaf", "low", "high"), [(5, 100, 1.2, 1.4), (8, 100, 1.8, 2.0)])
def test_flat_pitch_of_exercise_paper(sheets, leaf, low, high):
    """Own figures: 5 sheets of 0.10 mm sit at 1.2 to 1.4 mm, 8 sheets near the 2 mm of common practice."""
    assert sewing.flat_pitch_mm(sheets, leaf, 0.4, 0.5) == pytest.approx(low, abs=1e-9)
    assert sewing.flat_pitch_mm(sheets, leaf, 0.4, 1.0) == pytest.approx(high, abs=1e-9)


@settings(deadline=None)
@given(st.integers(1, 25), st.integers(1, 12), st.floats(50, 300), st.floats(0.1, 0.6), st.floats(0, 1))
def test_at_the_flat_pitch_each_line_meets_its_fold(sections, sheets, leaf, thread, flattening):
    """Stack the closed sections and look where their folds lie, from the middle of the pile."""
    pitch = sewing.flat_pitch_mm(sheets, leaf, thread, flattening)
    closed = 2 * sheets * leaf / 1000 + thread * flattening
    pile = sections * closed
    folds = [closed * i + closed / 2 - pile / 2 for i in range(sections)]
    assert sewing.line_positions_mm(sections, pitch) == pytest.approx(folds, abs=1e-9)
    assert sewing.spine_allowance_mm(sections, pitch, closed) == pytest.approx(pile)


def test_a_strip_caught_between_the_sections_widens_the_pitch():
    """Fold to fold: half a section, its thread, what is caught, half the next section."""
    half_section = 4 * 0.1
    assert sewing.flat_pitch_mm(4, 100, 0.3, 0.5, 0.2) == pytest.approx(half_section + 0.15 + 0.2 + half_section)


@settings(deadline=None)
@given(SECTIONS, PITCH)
def test_lines_are_symmetrical_and_evenly_spaced(sections, pitch):
    lines = sewing.line_positions_mm(sections, pitch)
    assert len(lines) == sections
    assert [-x for x in reversed(lines)] == list(lines)
    assert (0.0 in lines) == (sections % 2 == 1)
    assert all(b - a == pytest.approx(pitch) for a, b in pairwise(lines))


@settings(deadline=None)
@given(SECTIONS, PITCH)
def test_order_is_a_permutation_working_inwards(sections, pitch):
    lines = sewing.line_positions_mm(sections, pitch)
    order = sewing.sewing_order_mm(lines)
    assert sorted(order) == list(lines)
    assert abs(order[0]) == min(abs(x) for x in lines)
    later = [abs(x) for x in order[1:]]
    assert later == sorted(later, reverse=True)
    assert sewing.sewing_order_mm(tuple(reversed(lines))) == order


def test_practice_four_sheets_card_interfacing_and_cotton():
    """Common practice, no source: four sheets, card, interfacing and cotton go through together."""
    layers = {"card": 0.30, "interfacing": 0.15, "cotton": 0.25}
    through = sewing.under_needle_mm(4, 90, tuple(layers.values()))
    assert through == pytest.approx(0.09 * 4 + 0.30 + 0.15 + 0.25)
    assert sewing.under_needle_mm(4, 90) == pytest.approx(0.36)
    with pytest.raises(BadInput):
        sewing.under_needle_mm(4, 90, (0.3, -0.1))


@settings(deadline=None)
@given(st.integers(1, 80), st.floats(1, 6), st.floats(0.1, 4))
def test_lockstitch_thread_followed_stitch_by_stitch(stitches, stitch, thickness):
    """Top thread: p along the top, h/2 down, h/2 up at each hole; the bobbin thread the same underneath."""
    one_thread = []
    for i in range(stitches):
        one_thread += [(i * stitch, -thickness / 2), (i * stitch, 0), ((i + 1) * stitch, 0)]
        one_thread += [((i + 1) * stitch, -thickness / 2)]
    length = sum(math.dist(a, b) for a, b in pairwise(one_thread))
    assert sewing.lockstitch_thread_mm(stitches * stitch, stitch, thickness) == pytest.approx(2 * length)
    assert sewing.lockstitch_thread_mm(stitches * stitch, stitch, thickness, 400) == pytest.approx(2 * length + 400)
