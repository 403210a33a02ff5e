"""Whole jobs against solvers of other kinds: integer programmes (HiGHS through SciPy), matching, partitions by hand.

Each family of jobs is one that straight cuts reduce to a textbook problem with a known exact method: full-width strips
to bin packing and cutting stock, one part for each sheet to assignment, half-width parts on a bolt to partition.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from cutting_replay import replay
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linear_sum_assignment, milp

from matref.book.cutting import Part, Piece, lay_out, least_length, most_valuable

STRIPS = st.lists(st.tuples(st.integers(60, 400), st.integers(1, 3)), min_size=1, max_size=4, unique_by=lambda s: s[0])


def fewest_bars(bar: int, lengths: list[int], counts: list[int], blade: int) -> int:
    """Cutting stock as Gilmore & Gomory 1961 have it: patterns of one bar, the fewest of them that meet the need."""
    most = [(bar + blade) // (length + blade) for length in lengths]
    patterns = [
        one
        for one in product(*(range(min(m, n) + 1) for m, n in zip(most, counts, strict=True)))
        if any(one) and sum(n * (length + blade) for n, length in zip(one, lengths, strict=True)) <= bar + blade
    ]
    met = LinearConstraint(np.array(patterns).T, lb=counts)
    solved = milp(np.ones(len(patterns)), integrality=1, bounds=Bounds(0), constraints=met)
    assert solved.success
    return round(solved.fun)


@settings(max_examples=40, deadline=None)
@given(STRIPS, st.sampled_from([0, 3]))
def test_strips_from_boards_of_their_width_are_cutting_stock(rows: list[tuple[int, int]], blade: int) -> None:
    lengths, counts = [r[0] for r in rows], [r[1] for r in rows]
    parts = [Part(f"strip {i}", length, 80, n, "length") for i, (length, n) in enumerate(rows)]
    done = lay_out(parts, [Piece("board", 420, 80, sum(counts))], blade_mm=blade)
    least = fewest_bars(420, lengths, counts, blade)
    assert not done.missing
    assert done.bound is not None
    assert done.bound <= least * 420 * 80 + 1e-6
    assert len(done.sheets) == least
    for sheet in done.sheets:
        replay(sheet.layout, {i: (length, 80) for i, length in enumerate(lengths)}, blade)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(200, 400), st.integers(150, 300)), min_size=1, max_size=4),
    st.lists(st.tuples(st.integers(390, 395), st.integers(290, 295), st.integers(1, 40)), min_size=4, max_size=6),
)
def test_one_part_for_each_sheet_is_an_assignment(
    parts: list[tuple[int, int]], stock: list[tuple[int, int, int]]
) -> None:
    """Parts over half the sheet either way lie alone; the cheapest choice of sheets is a matching (SciPy)."""
    fits = np.array([[a <= x and b <= y for x, y, _ in stock] for a, b in parts])
    prices = np.where(fits, [p for _, _, p in stock], 1e6)
    rows, columns = linear_sum_assignment(prices)
    asked = [Part(f"part {i}", *part, 1, "length") for i, part in enumerate(parts)]
    if not fits.any(axis=1).all() or not fits[rows, columns].all():
        return
    sheets = [Piece(f"sheet {i}", x, y, 1, price=p) for i, (x, y, p) in enumerate(stock)]
    done = lay_out(asked, sheets, least="cost")
    assert not done.missing
    assert done.cost == pytest.approx(prices[rows, columns].sum())


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(40, 400), min_size=2, max_size=7), st.sampled_from([0, 2]))
def test_half_widths_on_a_bolt_are_a_partition(lengths: list[int], blade: int) -> None:
    """Two columns, each as long as its parts and the cuts between them: the shorter of all ways to share them out."""
    parts = [Part(f"panel {i}", length, 100, 1, "length") for i, length in enumerate(lengths)]
    found = least_length(parts, 200 + blade, blade_mm=blade, keep_mm=0)
    grown = [length + blade for length in lengths]
    least = min(
        max(sum(g for g, side in zip(grown, sides, strict=True) if side == column) for column in (0, 1)) - blade
        for sides in product((0, 1), repeat=len(grown))
    )
    assert found.bound_mm <= least + 1e-6
    assert found.length_mm >= least - 1e-6
    assert found.proved
    assert found.length_mm == pytest.approx(least)


@settings(max_examples=25, deadline=None)
@given(
    st.integers(80, 300),
    st.lists(st.tuples(st.integers(7, 60), st.integers(1, 50), st.integers(1, 4)), min_size=1, max_size=6),
)
def test_limited_strips_are_a_bounded_knapsack(length: int, rows: list[tuple[int, int, int]]) -> None:
    sizes, values, most = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    room = LinearConstraint(sizes, ub=length)
    solved = milp(-values, integrality=1, bounds=Bounds(0, most), constraints=room)
    assert solved.success
    found = most_valuable((length, 30), [(a, 30, v, n) for a, v, n in rows])
    assert found.proved
    assert found.value == pytest.approx(-solved.fun)


@pytest.mark.parametrize(
    ("number", "size"), [(1, (594, 841)), (2, (420, 594)), (3, (297, 420)), (4, (210, 297)), (5, (148, 210))]
)
def test_every_a_size_comes_out_of_a0_twice_as_often_as_the_last(number: int, size: tuple[int, int]) -> None:
    """ISO 216: A0 is 841 x 1189 mm, and each size is the one before it halved, rounded down to a millimetre."""
    full = lay_out([Part("leaf", *size, 2**number)], [Piece("A0", 1189, 841)])
    assert not full.missing
    assert len(full.sheets) == 1
    assert full.waste < 0.01
    assert lay_out([Part("leaf", *size, 2**number + 1)], [Piece("A0", 1189, 841)]).missing == (("leaf", 1),)


def test_a_pinwheel_cannot_be_cut_from_edge_to_edge() -> None:
    """Four bars of 3 x 2 round a square of 1 x 1 fill 5 x 5, the textbook layout that no guillotine makes."""
    bars, dot, square = Part("bar", 3, 2, 4), Part("dot", 1, 1), Piece("square", 5, 5)
    done = lay_out([bars, dot], [square])
    assert done.missing
    assert done.proved
    two = lay_out([bars, dot], [Piece("square", 5, 5, 2)])
    assert not two.missing
    assert len(two.sheets) == 2
    assert most_valuable((5, 5), [(3, 2, 6, 4), (1, 1, 1, 1)], turn=True).value == 3 * 6 + 1


@pytest.mark.parametrize("blade", [0, 4])
def test_a_saw_takes_its_width_at_every_cut(blade: int) -> None:
    """n equal strips out of a board: floor((L + b) / (s + b)), the blade counted once between each two."""
    for strip in (30, 47, 100, 149):
        most = math.floor((600 + blade) / (strip + blade))
        found = most_valuable((600, 50), [(strip, 50, 1, None)], blade_mm=blade)
        assert found.value == most
