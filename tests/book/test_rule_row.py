"""What a row of `rule` says: its ends, its figure, and its distribution against scipy's."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import uniform

from matref.book.rule_row import Halves, RuleValue, even, least, most, number, spread
from matref.estimator.distribution import Exact


def test_row_without_a_number_is_a_defect():
    with pytest.raises(ValueError, match="no number"):
        number(RuleValue("grain.spine", None, None, None, "x"))


@given(st.floats(0, 10), st.floats(0, 10), st.floats(0, 10), st.floats(0.001, 0.999))
def test_halves_stay_in_range_and_keep_their_middle(a, b, c, share):
    low, middle, high = sorted((a, b, c))
    halves = Halves(low, middle, high)
    assert low - 1e-9 <= halves.quantile(share) <= high + 1e-9
    assert halves.quantile(0.5) == pytest.approx(middle)
    assert halves.quantile(share) <= halves.quantile(min(0.9999, share + 0.0005)) + 1e-9


@given(st.floats(0, 10), st.floats(0.01, 10), st.floats(0.01, 10), st.floats(0.01, 0.99))
def test_halves_are_two_flat_ranges_of_equal_chance(low, below, above, share):
    """Against scipy's uniform distributions, mixed half and half."""
    middle, high = low + below, low + below + above
    at = Halves(low, middle, high).quantile(share)
    mixed = 0.5 * uniform(low, below).cdf(at) + 0.5 * uniform(middle, above).cdf(at)
    assert mixed == pytest.approx(share, abs=1e-9)


@given(st.floats(-5, 5), st.floats(0.01, 10), st.floats(0.01, 0.99))
def test_a_range_without_a_figure_is_flat(low, width, share):
    row = RuleValue("x", low, None, low + width, "own-derivation")
    assert spread(row) == even(row)
    assert spread(row).quantile(share) == pytest.approx(uniform(low, width).ppf(share))
    assert number(row) == pytest.approx(uniform(low, width).mean())


def test_the_figure_alone_is_exact_and_stands_for_missing_ends():
    row = RuleValue("x", None, 3.0, None, "own-derivation")
    assert (least(row), number(row), most(row)) == (3.0, 3.0, 3.0)
    assert spread(row) == even(row) == Exact(3.0)
    half_open = RuleValue("x", 2.0, 3.0, None, "own-derivation")
    assert (least(half_open), most(half_open)) == (2.0, 3.0)
    assert even(half_open).quantile(0.5) == 2.5  # its figure is no more likely than the rest
    assert spread(half_open).quantile(0.5) == 3.0
