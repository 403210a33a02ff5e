"""Whole units against exact fractions: what fits in thought fits in units, and nothing else does."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.book.cutting.units import LARGEST_MM, PER_MM, Scale, size_mm
from matref.errors import BadInput

micrometres = st.integers(1, 2_000_000)
IN_UM = 25_400


@given(st.lists(micrometres, min_size=1, max_size=6), st.integers(0, 3_000), st.data())
def test_cuts_in_a_row_fit_as_they_do_in_fractions(parts: list[int], blade: int, data: st.DataObject) -> None:
    """n parts in a row take their lengths and a blade between each two; the last cut falls on the edge or past it."""
    row = sum(Fraction(part, PER_MM) for part in parts) + Fraction(blade, PER_MM) * (len(parts) - 1)
    short = data.draw(st.integers(-3, 3), label="what the sheet has over, micrometres")
    sheet = row + Fraction(short, PER_MM)
    if sheet <= 0:
        return
    sizes = [part / PER_MM for part in parts]
    scale = Scale.of([float(sheet), *sizes], blade / PER_MM)
    assert (sum(map(scale.grown, sizes)) <= scale.grown(float(sheet))) == (row <= sheet)


@given(st.lists(micrometres, min_size=1, max_size=6), st.integers(0, 3_000))
def test_the_coarsest_unit_that_holds_all(sizes: list[int], blade: int) -> None:
    scale = Scale.of([size / PER_MM for size in sizes], blade / PER_MM)
    assert scale.unit_um == math.gcd(*sizes, blade)
    assert scale.blade * scale.unit_um == blade
    for size in sizes:
        grown = scale.grown(size / PER_MM)
        assert scale.real_mm(grown) == pytest.approx(size / PER_MM, abs=1e-9)
        assert scale.mm(grown) == pytest.approx((size + blade) / PER_MM, abs=1e-9)


@pytest.mark.parametrize("parts", range(1, 12))
@pytest.mark.parametrize("whole_mm", [100.0, 297.0, 8.5 * 25.4])
def test_even_shares_of_a_sheet_fit_it(whole_mm: float, parts: int) -> None:
    """A third of 100 mm is no whole number of micrometres, and yet three of them fit."""
    scale = Scale.of([whole_mm, whole_mm / parts], 0.0)
    assert parts * scale.grown(whole_mm / parts) <= scale.grown(whole_mm)


@given(st.integers(1, 400), st.integers(1, 400))
def test_sixteenths_of_an_inch_are_exact_within_a_unit(first: int, second: int) -> None:
    """An inch is 25.4 mm exactly (NIST SP 811, B.8); a sixteenth is 1587.5 micrometres, half a unit off at most."""
    inches = [Fraction(first, 16), Fraction(second, 16)]
    scale = Scale.of([float(size * IN_UM / PER_MM) for size in inches], 0.0)
    for size in inches:
        assert 0 <= size * IN_UM - scale.grown(float(size * IN_UM / PER_MM)) * scale.unit_um < 1


@pytest.mark.parametrize("size", [1 / PER_MM, 1, 297.0, LARGEST_MM])
def test_sizes_that_are_sizes(size: float) -> None:
    assert size_mm(size, "length of board, mm") == size


@pytest.mark.parametrize("size", [0, -1, 1e-4, 2 * LARGEST_MM, math.nan, math.inf, True, "ten", None])
def test_sizes_that_are_none(size: float) -> None:
    with pytest.raises(BadInput, match="length of board, mm is"):
        size_mm(size, "length of board, mm")
