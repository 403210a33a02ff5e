"""The parts that proofs rest on, each against plain enumeration: grids, bounds, refutations, quick layouts."""

from __future__ import annotations

from collections import Counter
from itertools import combinations_with_replacement, islice, product

import pytest
from cutting_replay import replay, sets_that_fit
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book.cutting.beam import Beam
from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join, lay, parts_of
from matref.book.cutting.budget import Budget, Spent
from matref.book.cutting.choice import choices
from matref.book.cutting.fitting import Problem
from matref.book.cutting.greedy import FITS, SPLITS, lay_in_order
from matref.book.cutting.grid import grid
from matref.book.cutting.multipliers import drop_excess, price_copies
from matref.book.cutting.patterns import members, sums
from matref.book.cutting.table import Shape
from matref.book.cutting.units import Scale

UNIT = Scale(1000, 0)  # whole millimetres, a blade without width
rows = st.lists(
    st.tuples(st.integers(1, 5), st.integers(1, 5), st.integers(1, 9), st.integers(1, 2)), min_size=1, max_size=3
)
sheet = st.tuples(st.integers(5, 8), st.integers(5, 7))


def shapes_of(some: list[tuple[int, int, int, int]]) -> list[Shape]:
    return [Shape(a, b, kind, False) for kind, (a, b, _, _) in enumerate(some)]


@given(st.integers(1, 40), st.lists(st.tuples(st.integers(1, 9), st.integers(1, 3)), min_size=1, max_size=4))
def test_sums_are_all_sums(limit: int, parts: list[tuple[int, int]]) -> None:
    every = {
        sum(p[0] * n for p, n in zip(parts, some, strict=True)) for some in product(*(range(c + 1) for _, c in parts))
    }
    assert members(sums(limit, [((size,), n) for size, n in parts])) == sorted(s for s in every if s <= limit)


@settings(max_examples=80, deadline=None)
@given(sheet, rows, st.integers(1, 3))
def test_bounds_hold_on_fine_and_coarse_grids(
    size: tuple[int, int], some: list[tuple[int, int, int, int]], coarse: int
) -> None:
    """Whatever the prices and however coarse the grid, no layout is worth more than the bound."""
    limits, values = [r[3] for r in some], [float(r[2]) for r in some]
    every = sets_that_fit(*size, [[(a, b)] for a, b, _, _ in some], limits)
    best = max(sum(v * n for v, n in zip(values, one, strict=True)) for one in every)
    made = grid(*size, shapes_of(some), limits, [100_000, 12, 4][coarse - 1])
    if made is None:
        return
    last = float("inf")
    for priced in price_copies(made, values, limits, 0.0, Budget(10_000)):
        assert best <= priced.bound + 1e-9
        assert priced.bound <= last
        assert min(priced.prices) >= 0
        last = priced.bound


@settings(max_examples=60, deadline=None)
@given(sheet, rows)
def test_outside_never_promises_too_little(size: tuple[int, int], some: list[tuple[int, int, int, int]]) -> None:
    """A part in a layout and the sheet round it: together at least as good as any layout that holds the part."""
    limits, values = [r[3] for r in some], [float(r[2]) for r in some]
    every = sets_that_fit(*size, [[(a, b)] for a, b, _, _ in some], limits)
    made = grid(*size, shapes_of(some), limits, 100_000)
    assert made is not None
    assert made.step == 1
    outside = made.table(values).outside()
    for kind, (a, b, value, _) in enumerate(some):
        with_it = [sum(v * n for v, n in zip(values, one, strict=True)) for one in every if one[kind]]
        if with_it:
            assert value + outside[made.along.most(a)][made.across.most(b)] >= max(with_it) - 1e-9


@settings(max_examples=100, deadline=None)
@given(st.lists(sheet, min_size=1, max_size=2), rows)
def test_only_what_cannot_be_done_is_refuted(
    sheets: list[tuple[int, int]], some: list[tuple[int, int, int, int]]
) -> None:
    limits = [r[3] for r in some]
    ways = [[[s] if s.length <= a and s.width <= b else [] for s in shapes_of(some)] for a, b in sheets]
    problem = Problem(list(sheets), ways, limits)
    sorts = list(range(len(sheets)))
    fits = [sets_that_fit(*size, [[(a, b)] for a, b, _, _ in some], limits) for size in sheets]
    possible = any(
        all(sum(ns) >= n for ns, n in zip(zip(*chosen, strict=True), limits, strict=True)) for chosen in product(*fits)
    )
    if problem.too_small(sorts):
        assert not possible
        return
    refuted, weights = problem.refuted(sorts, Budget(10_000))
    assert not (refuted and possible)
    if len(sorts) == 1:
        settled, block = problem.search(0, weights, Budget(100_000))
        assert settled
        assert (block is not None) == possible
    for axis in (LENGTH, WIDTH):
        blocks = Beam(sheets, ways, limits, axis).run(50, Budget(10_000))
        if blocks is not None:
            assert possible
            found = Counter(p.piece for block in blocks for p in parts_of(block))
            assert [found[k] for k in range(len(limits))] == limits
            for block, (length, width) in zip(blocks, sheets, strict=True):
                layout = lay(block, length, width, UNIT, value=0, bound=0, proved=False)
                replay(layout, {k: (a, b) for k, (a, b, _, _) in enumerate(some)})


@given(sheet, rows, st.sampled_from(FITS), st.sampled_from(SPLITS))
def test_a_quick_layout_can_be_cut(
    size: tuple[int, int], some: list[tuple[int, int, int, int]], fit: str, split: str
) -> None:
    order = [kind for kind, row in enumerate(some) for _ in range(row[3])]
    trial = lay_in_order([size], [[[s] for s in shapes_of(some)]], order, fit, split)
    layout = lay(trial.blocks()[0], *size, UNIT, value=0, bound=0, proved=False)
    out = replay(layout, {k: (a, b) for k, (a, b, _, _) in enumerate(some)})
    assert out + Counter(trial.missing) == Counter(order)


def test_copies_too_many_are_left_out_and_the_holes_closed() -> None:
    part, other = Block(3, 2, piece=0), Block(4, 5, piece=1)
    row = join(join(part, other, LENGTH), part, LENGTH)
    kept = drop_excess(row, [1, 1])
    assert kept is not None
    assert (kept.length, kept.width) == (7, 5)
    assert [p.piece for p in parts_of(kept)] == [0, 1]
    assert drop_excess(row, [0, 0]) is None


@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(1, 2)), min_size=1, max_size=3),
)
def test_choices_come_once_and_cheapest_first(stock: list[tuple[int, int]]) -> None:
    costs, counts = [s[0] for s in stock], [s[1] for s in stock]
    found = list(islice(choices(costs, counts), 100))
    assert [cost for cost, _ in found] == sorted(cost for cost, _ in found)
    assert all(cost == sum(costs[s] for s in sorts) for cost, sorts in found)
    expected = {
        some
        for size in range(1, sum(counts) + 1)
        for some in combinations_with_replacement(range(len(costs)), size)
        if all(some.count(s) <= counts[s] for s in some)
    }
    assert Counter(tuple(sorted(sorts)) for _, sorts in found) == Counter(expected)


def test_a_budget_ends_and_shares() -> None:
    budget = Budget(100)
    part = budget.share(0.25)
    assert part.steps == 25
    assert not part.spent(25)
    assert part.spent()
    budget.spend(100)
    with pytest.raises(Spent):
        budget.spend()
