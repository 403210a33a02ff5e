"""Thinned cut positions: one dimension against every cut of every whole number, and against a knapsack by SciPy.

The claim of Terno, Lindemann & Scheithauer 1987 that `axis` rests on: for any cut into two strips there is one among
those kept whose strips hold everything that the strips of the first hold.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from matref.book.cutting.blocks import parts_of
from matref.book.cutting.grid import grid
from matref.book.cutting.patterns import axis, members, sums
from matref.book.cutting.table import Shape

parts = st.lists(st.tuples(st.integers(2, 15), st.integers(1, 9)), min_size=1, max_size=5)
limits = st.integers(15, 120)


@given(limits, parts)
def test_every_cut_has_one_at_least_as_good_among_those_kept(limit: int, some: list[tuple[int, int]]) -> None:
    normal = members(sums(limit, [((size,), copies) for size, copies in some]))
    made = axis(sums(limit, [((size,), copies) for size, copies in some]), 10**6)
    assert made is not None
    assert made.points[0] == 0
    assert made.points[-1] == normal[-1]
    assert set(made.points) <= set(normal)
    for i, size in enumerate(made.points):
        kept = [(made.points[a], made.points[b]) for a, b in made.pairs[i]]
        assert all(a + b <= size for a, b in kept)
        for cut in range(1, size):
            near = max(n for n in normal if n <= cut)  # all that a strip of that size holds lies within a normal size
            far = max(n for n in normal if n <= size - cut)
            if near and far:
                assert any((a >= near and b >= far) or (b >= near and a >= far) for a, b in kept), (size, cut)


@given(limits, parts)
def test_points_hold_what_sizes_hold(limit: int, some: list[tuple[int, int]]) -> None:
    made = axis(sums(limit, [((size,), copies) for size, copies in some]), 10**6)
    assert made is not None
    for size in range(limit + 1):
        assert made.points[made.most(size)] == max(p for p in made.points if p <= size)
        least = made.least(size)
        assert least == len(made.points) or made.points[least] == min(p for p in made.points if p >= size)
    assert made.work == sum(len(pairs) for pairs in made.pairs)


def test_too_many_pairs_are_refused() -> None:
    bits = sums(500, [((3,), 99), ((7,), 99), ((11,), 99)])
    made = axis(bits, 10**6)
    assert made is not None
    assert axis(bits, made.work) == made
    assert axis(bits, made.work - 1) is None


@settings(max_examples=40, deadline=None)
@given(limits, st.lists(st.tuples(st.integers(2, 15), st.integers(1, 30)), min_size=1, max_size=5))
def test_strips_across_the_sheet_are_a_knapsack(limit: int, some: list[tuple[int, int]]) -> None:
    """Pieces as wide as the sheet make the problem one-dimensional: HiGHS (through SciPy) knows the best value."""
    lengths, values = np.array(some).T
    solved = milp(
        -values.astype(float), integrality=1, bounds=Bounds(0), constraints=LinearConstraint(lengths, ub=limit)
    )
    made = grid(limit, 10, [Shape(a, 10, kind, False) for kind, (a, _) in enumerate(some)], [limit] * len(some), 10**6)
    assert solved.success
    assert made is not None
    table = made.table([float(v) for v in values])
    assert table.best == pytest.approx(-solved.fun)
    traced = [part.piece for part in parts_of(table.trace())]
    assert sum(values[k] for k in traced) == pytest.approx(-solved.fun)
    assert sum(lengths[k] for k in traced) <= limit


@settings(max_examples=25, deadline=None)
@given(
    st.integers(6, 16),
    st.integers(6, 16),
    st.lists(st.tuples(st.integers(2, 7), st.integers(2, 7), st.integers(1, 9)), min_size=1, max_size=4),
)
def test_the_table_against_every_cut_at_every_whole_position(
    length: int, width: int, some: list[tuple[int, int, int]]
) -> None:
    """Beasley 1985, recursion (1), written out for all integers, without normal patterns."""

    @cache
    def best(a: int, b: int) -> int:
        value = max((v for x, y, v in some if x <= a and y <= b), default=0)
        for cut in range(1, a // 2 + 1):
            value = max(value, best(cut, b) + best(a - cut, b))
        for cut in range(1, b // 2 + 1):
            value = max(value, best(a, cut) + best(a, b - cut))
        return value

    shapes = [Shape(x, y, kind, False) for kind, (x, y, _) in enumerate(some)]
    made = grid(length, width, shapes, [99] * len(some), 10**6)
    assert made is not None
    table = made.table([float(v) for _, _, v in some])
    assert table.best == best(length, width)
    for i, a in enumerate(made.along.points[1:], 1):
        for j, b in enumerate(made.across.points[1:], 1):
            assert table.inside[i][j] == best(a, b)
