"""least_length against enumeration, known perfect layouts and replayed cuts."""

from __future__ import annotations

import math
from random import Random

import pytest
from cutting_replay import replay, sets_that_fit
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book.cutting import BoltLength, Part, least_length
from matref.errors import BadInput


def check(cloth: BoltLength, parts: list[Part], width_mm: float, blade_mm: float = 0.0) -> None:
    out = replay(cloth.layout, {i: (p.length_mm, p.width_mm) for i, p in enumerate(parts)}, blade_mm)
    assert [out[i] for i in range(len(parts))] == [p.count for p in parts]
    assert cloth.layout.width_mm == pytest.approx(width_mm, abs=2e-3)
    assert cloth.layout.length_mm == cloth.length_mm >= cloth.bound_mm
    assert cloth.proved == (cloth.length_mm == cloth.bound_mm) == (cloth.gap == 0)


part_rows = st.lists(
    st.tuples(st.integers(1, 4), st.integers(1, 4), st.integers(1, 2), st.sampled_from(["length", "width", "either"])),
    min_size=1,
    max_size=3,
)


@settings(max_examples=80, deadline=None)
@given(st.integers(4, 6), part_rows, st.integers(0, 1))
def test_tiny_bolts_against_enumeration(width: int, rows: list[tuple[int, int, int, str]], blade: int) -> None:
    parts = [Part(f"part {i}", *row) for i, row in enumerate(rows)]
    ways = {"length": lambda a, b: [(a, b)], "width": lambda a, b: [(b, a)], "either": lambda a, b: [(a, b), (b, a)]}
    shapes = [ways[g](a, b) for a, b, _, g in rows]
    limits = [n for _, _, n, _ in rows]
    length = 1
    while tuple(limits) not in sets_that_fit(length, width, shapes, limits, blade):
        length += 1
    cloth = least_length(parts, width, blade_mm=blade)
    check(cloth, parts, width, blade)
    assert (cloth.length_mm, cloth.proved) == (length, True)


def dissected(seed: int, count: int, length: int = 400, width: int = 600) -> list[tuple[int, int]]:
    """Cut a rectangle into `count` pieces with straight cuts: the length needed is then known to be `length`."""
    dice = Random(seed)
    pieces = [(length, width)]
    while len(pieces) < count:
        pieces.sort(key=lambda piece: piece[0] * piece[1])
        a, b = pieces.pop()
        if dice.random() < a / (a + b):
            at = dice.randint(a // 4, a // 2)
            pieces += [(at, b), (a - at, b)]
        else:
            at = dice.randint(b // 4, b // 2)
            pieces += [(a, at), (a, b - at)]
    return pieces


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("grain", ["length", "either"])
def test_a_dissected_rectangle_is_put_together_again(seed: int, grain: str) -> None:
    parts = [Part(f"part {i}", a, b, 1, grain) for i, (a, b) in enumerate(dissected(seed, 8))]
    cloth = least_length(parts, 600)
    check(cloth, parts, 600)
    assert (cloth.length_mm, cloth.bound_mm, cloth.proved) == (400, 400, True)


def test_twenty_parts_stay_near_the_known_length() -> None:
    parts = [Part(f"part {i}", a, b) for i, (a, b) in enumerate(dissected(1, 20))]
    cloth = least_length(parts, 600)
    check(cloth, parts, 600)
    assert cloth.bound_mm + 1e-9 >= 400
    assert cloth.length_mm <= 400 * 1.15


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.floats(15, 300), st.floats(15, 300), st.integers(1, 3)), min_size=1, max_size=6),
    st.floats(300, 1500),
    st.sampled_from([0.0, 0.7]),
    st.integers(200, 5000),
)
def test_any_bolt_can_be_cut(rows: list[tuple[float, float, int]], width: float, blade: float, steps: int) -> None:
    parts = [Part(f"part {i}", *row) for i, row in enumerate(rows)]
    cloth = least_length(parts, width, blade_mm=blade, steps=steps)
    check(cloth, parts, width, blade)
    area = sum(p.length_mm * p.width_mm * p.count for p in parts)
    assert cloth.length_mm * width >= area * (1 - 1e-4)


def test_grain_on_the_bolt_decides_which_way_parts_lie() -> None:
    covers = [Part("cover", 240, 170, 2, "length")]
    assert least_length(covers, 340).length_mm == 240
    assert least_length(covers, 340, grain="width").length_mm == 340  # turned, 240 wide: one beside the other no more
    assert least_length(covers, 340, grain="either").length_mm == 240


def test_the_blade_lengthens_what_is_needed() -> None:
    row = [Part("strip", 100, 50, 3, "length")]
    assert least_length(row, 50).length_mm == 300
    assert least_length(row, 50, blade_mm=2).length_mm == 304
    assert least_length(row, 153, blade_mm=2).length_mm == 202  # 3 x 50 + 2 x 2 mm is wider than 153
    assert least_length(row, 154, blade_mm=2).length_mm == 100


def test_interrupt_gives_a_length_that_does() -> None:
    parts = [Part(f"part {i}", 60 + 13 * i % 110, 50 + 31 * i % 90, 2) for i in range(9)]

    def stop(_: object) -> None:
        raise KeyboardInterrupt

    for cloth in (least_length(parts, 500, progress=stop), least_length(parts, 500, deadline_s=1e-6)):
        check(cloth, parts, 500)
        assert not cloth.proved
        assert 0 < cloth.gap < 1


def test_what_cannot_lie_on_the_bolt_is_refused() -> None:
    with pytest.raises(BadInput, match="'sail'"):
        least_length([Part("sail", 900, 700)], 500)
    with pytest.raises(BadInput, match="against the grain"):
        least_length([Part("band", 100, 700, 1, "length")], 500)
    with pytest.raises(BadInput, match="bolt_width_mm is nan"):
        least_length([Part("p", 10, 10)], math.nan)
    with pytest.raises(BadInput, match="grain of the bolt"):
        least_length([Part("p", 10, 10)], 500, grain="bias")
    with pytest.raises(BadInput, match="no parts"):
        least_length([], 500)
