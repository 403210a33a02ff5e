"""most_valuable against published optima, plain enumeration and its own promises."""

from __future__ import annotations

import itertools
import math

import pytest
from cutting_replay import read_instance, replay, sets_that_fit
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book.cutting import Layout, Progress, most_valuable
from matref.errors import BadInput

# Beasley 1985, Table 1
BEASLEY = {
    "gcut1": 56460,
    "gcut2": 60536,
    "gcut3": 61036,
    "gcut4": 61698,
    "gcut5": 246000,
    "gcut6": 238998,
    "gcut7": 242567,
    "gcut8": 246633,
}
# Christofides & Whitlock 1977, Table 2; without the limits Hifi & Zissimopoulos 1996
LIMITED = {"cgcut1": 244, "cgcut2": 2892}
UNLIMITED = {"cgcut1": 249, "cgcut2": 3076}

Pieces = list[tuple[float, float, float, int | None]]


def check(layout: Layout, pieces: Pieces, blade_mm: float = 0.0) -> None:
    out = replay(layout, {i: (p[0], p[1]) for i, p in enumerate(pieces)}, blade_mm)
    assert layout.value == pytest.approx(sum(pieces[i][2] * n for i, n in out.items()))
    assert layout.value <= layout.bound + 1e-9
    for i, n in out.items():
        most = pieces[i][3]
        assert most is None or n <= most


@pytest.mark.parametrize(("name", "optimum"), BEASLEY.items())
def test_beasley_without_limits(name: str, optimum: int) -> None:
    stock, rows = read_instance(name)
    pieces: Pieces = [(a, b, value, None) for a, b, value in rows]
    layout = most_valuable(stock_mm=stock, pieces=pieces)
    assert (layout.value, layout.bound, layout.proved) == (optimum, optimum, True)
    assert not any(part.turned for part in layout.placed)
    check(layout, pieces)


@pytest.mark.parametrize(("name", "optimum"), LIMITED.items())
def test_christofides_whitlock_with_limits(name: str, optimum: int) -> None:
    stock, rows = read_instance(name)
    pieces: Pieces = [(a, b, value, most) for a, b, most, value in rows]
    layout = most_valuable(stock, pieces)
    assert (layout.value, layout.bound, layout.proved) == (optimum, optimum, True)
    check(layout, pieces)


@pytest.mark.parametrize(("name", "optimum"), UNLIMITED.items())
def test_christofides_whitlock_without_limits(name: str, optimum: int) -> None:
    stock, rows = read_instance(name)
    pieces: Pieces = [(a, b, value, None) for a, b, _, value in rows]
    layout = most_valuable(stock, pieces)
    assert (layout.value, layout.proved) == (optimum, True)
    check(layout, pieces)


@pytest.mark.parametrize("name", ["gcut1", "gcut5", "cgcut1"])
def test_exchanging_the_sides_changes_nothing(name: str) -> None:
    (length, width), rows = read_instance(name)
    value = {"gcut1": 56460, "gcut5": 246000, "cgcut1": 249}[name]
    layout = most_valuable((width, length), [(r[1], r[0], r[-1], None) for r in rows])
    assert (layout.value, layout.proved) == (value, True)


side = st.integers(1, 6)
small_pieces = st.lists(st.tuples(side, side, st.integers(1, 9), st.integers(1, 2)), min_size=1, max_size=3).map(
    lambda rows: [(a, b, float(v), n) for a, b, v, n in rows]
)


@settings(max_examples=120, deadline=None)
@given(st.integers(3, 8), st.integers(3, 7), small_pieces, st.booleans(), st.integers(0, 2))
def test_tiny_problems_against_enumeration(
    length: int, width: int, pieces: list[tuple[int, int, float, int]], turn: bool, blade: int
) -> None:
    ways = [[(a, b), (b, a)] if turn else [(a, b)] for a, b, _, _ in pieces]
    every = sets_that_fit(length, width, ways, [p[3] for p in pieces], blade)
    best = max(sum(p[2] * n for p, n in zip(pieces, some, strict=True)) for some in every)
    layout = most_valuable((length, width), pieces, turn, blade_mm=blade)
    assert (layout.value, layout.proved) == (best, True)
    check(layout, [*pieces], blade)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(20, 900),
    st.floats(20, 900),
    st.lists(
        st.tuples(st.floats(8, 400), st.floats(8, 400), st.floats(0, 50), st.none() | st.integers(0, 4)),
        min_size=1,
        max_size=6,
    ),
    st.booleans(),
    st.sampled_from([0.0, 0.4, 3.2]),
)
def test_any_sizes_give_a_layout_that_can_be_cut(
    length: float, width: float, pieces: Pieces, turn: bool, blade: float
) -> None:
    layout = most_valuable((length, width), pieces, turn, blade_mm=blade, steps=3000)
    check(layout, pieces, blade)
    assert 0 <= layout.waste <= 1


@settings(max_examples=40, deadline=None)
@given(st.integers(3, 40), st.integers(3, 40), small_pieces, st.integers(2, 7))
def test_larger_units_and_freedom_to_turn(
    length: int, width: int, pieces: list[tuple[int, int, float, int]], factor: int
) -> None:
    plain = most_valuable((length, width), pieces)
    scaled = most_valuable((length * factor, width * factor), [(a * factor, b * factor, v, n) for a, b, v, n in pieces])
    turning = most_valuable((length, width), pieces, turn=True)
    losing = most_valuable((length, width), pieces, blade_mm=1)
    assert plain.proved
    assert scaled.proved
    assert turning.proved
    assert losing.proved
    assert losing.value <= plain.value == scaled.value <= turning.value


def test_the_blade_takes_its_width() -> None:
    tight = most_valuable((201, 50), [(100, 50, 1, None)], blade_mm=1)
    assert tight.value == 2
    assert len(tight.cuts) == 1
    assert tight.cuts[0].far is not None
    assert most_valuable((201, 50), [(100, 50, 1, None)], blade_mm=1.5).value == 1
    # the blade may run off the far edge: nothing remains there, and nothing needs to
    over = most_valuable((100.5, 50), [(100, 50, 1, None)], blade_mm=2)
    assert over.value == 1
    assert over.cuts[0].far is None
    assert over.offcuts == ()


def test_thirds_of_a_sheet_fit() -> None:
    assert most_valuable((100, 10), [(100 / 3, 10, 1, None)]).value == 3
    assert most_valuable((8.25 * 25.4, 10), [(2.0625 * 25.4, 10, 1, None)]).value == 4


def test_worthless_or_oversized_pieces_leave_the_sheet_whole() -> None:
    layout = most_valuable((100, 80), [(120, 10, 5, None), (10, 10, 0, None)], keep_mm=30)
    assert (layout.value, layout.proved, layout.cuts, layout.placed) == (0, True, (), ())
    assert [o.rect.area_mm2 for o in layout.worth_keeping] == [8000]
    assert most_valuable((100, 80), [(10, 10, 5, 0)]).value == 0


def test_a_fine_grid_still_gives_a_bound() -> None:
    layout = most_valuable((1000, 700), [(31, 17, 5.1, None), (43.7, 29.3, 13, None)], steps=1000)
    check(layout, [(31, 17, 5.1, None), (43.7, 29.3, 13, None)])
    assert layout.value >= 0.75 * layout.bound


MANY: Pieces = [
    (40 + 17 * i % 90, 30 + 29 * i % 110, float((40 + 17 * i % 90) * (30 + 29 * i % 110)), 1) for i in range(18)
]


@pytest.mark.parametrize("limit", [{"steps": 400}, {"deadline_s": 1e-6}])
def test_when_time_runs_out_the_best_so_far_is_valid(limit: dict[str, float]) -> None:
    layout = most_valuable((353, 257), MANY, **limit)  # type: ignore[arg-type]
    check(layout, MANY)
    assert not layout.proved
    assert layout.bound > layout.value


def test_an_interrupt_gives_the_best_so_far() -> None:
    told: list[Progress] = []

    def stop(progress: Progress) -> None:
        told.append(progress)
        if len(told) == 20:
            raise KeyboardInterrupt

    layout = most_valuable((353, 257), MANY, progress=stop)
    assert len(told) == 20
    check(layout, MANY)
    assert not layout.proved
    assert layout.value > 0
    assert layout.value >= told[0].best
    assert layout.bound <= told[0].bound
    assert all(a.bound >= b.bound and a.steps <= b.steps for a, b in itertools.pairwise(told))


def test_the_same_question_gets_the_same_answer() -> None:
    once, again = (most_valuable((353, 257), MANY, steps=5000) for _ in range(2))
    assert once == again


@pytest.mark.parametrize(
    ("stock", "pieces", "words"),
    [
        ((0, 100), [(10, 10, 1, None)], "length of stock_mm, mm is 0"),
        ((100, -3), [(10, 10, 1, None)], "width of stock_mm, mm is -3"),
        ((100, math.nan), [(10, 10, 1, None)], "width of stock_mm, mm is nan"),
        ((100, math.inf), [(10, 10, 1, None)], "inf"),
        ((100,), [(10, 10, 1, None)], "length and width"),
        ((100, 100), [], "no pieces"),
        ((100, 1e-5), [(10, 10, 1, None)], "width of stock_mm, mm is 1e-05"),  # less than a micrometre
        ((100, 100), [(10, 0, 1, None)], "width of piece 1, mm is 0"),
        ((100, 100), [(10, 5, math.nan, None)], "value of piece 1"),
        ((100, 100), [(10, 5, -1, None)], "value of piece 1 is -1"),
        ((100, 100), [(10, 5, 1, None), (10, 5, 1, -2)], "most copies of piece 2"),
        ((100, 100), [(10, 5, 1, 1.5)], "most copies of piece 1"),
        ((100, 100), [(10, 5, 1)], "piece 1"),
        ((100, 100), [("ten", 5, 1, None)], "'ten'"),
        ((100, 100), [(True, 5, 1, None)], "True"),
    ],
)
def test_nonsense_is_refused_in_one_line(stock: tuple[float, float], pieces: Pieces, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        most_valuable(stock, pieces)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("wrong", [{"blade_mm": -1}, {"blade_mm": math.nan}, {"steps": 0}, {"deadline_s": 0}])
def test_odd_settings_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(BadInput):
        most_valuable((100, 100), [(10, 10, 1, None)], **wrong)  # type: ignore[arg-type]
