"""Bayes' rule on a line against numpy's linear algebra."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.estimator.line import Line, Totals, log_ratio

LINE = Line(4.6, 0.95, 0.01, 0.0004, 0.0025)


def _totals(x: list[float], y: list[float], w: list[float]) -> Totals:
    a, b, c = np.array(x), np.array(y), np.array(w)
    return Totals(len(x), float(c.sum()), float(c @ a), float(c @ b), float((c * a) @ a), float((c * a) @ b))


def test_variance_is_that_of_the_linear_combination() -> None:
    cov = np.array([[LINE.var_intercept, LINE.cov], [LINE.cov, LINE.var_slope]])
    for x in (-1.0, 0.0, 0.7):
        row = np.array([1.0, x])
        assert LINE.variance(x) == pytest.approx(row @ cov @ row)
        assert LINE.mean(x) == pytest.approx(row @ [LINE.intercept, LINE.slope])


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(3, 6), st.floats(0.5, 400)), min_size=1, max_size=6))
def test_update_is_generalised_least_squares_with_the_line_as_prior(rows: list[tuple[float, float, float]]) -> None:
    x, y, w = (list(column) for column in zip(*rows, strict=True))
    prior = np.linalg.inv([[LINE.var_intercept, LINE.cov], [LINE.cov, LINE.var_slope]])
    design = np.column_stack([np.ones(len(x)), x])
    precision = prior + design.T @ np.diag(w) @ design
    mean = np.linalg.solve(precision, prior @ [LINE.intercept, LINE.slope] + design.T @ (np.array(w) * y))
    cov = np.linalg.inv(precision)
    found = LINE.updated(_totals(x, y, w))
    assert found.intercept == pytest.approx(mean[0], rel=1e-7)
    assert found.slope == pytest.approx(mean[1], rel=1e-6, abs=1e-8)
    assert found.var_intercept == pytest.approx(cov[0, 0], rel=1e-6)
    assert found.cov == pytest.approx(cov[0, 1], rel=1e-5, abs=1e-12)
    assert found.var_slope == pytest.approx(cov[1, 1], rel=1e-6)
    assert found.variance(0.3) <= LINE.variance(0.3) * (1 + 1e-9)


def test_nothing_added_changes_nothing() -> None:
    assert LINE.updated(Totals()) is LINE


def test_a_line_with_a_fixed_slope_learns_its_intercept_alone() -> None:
    fixed = Line(4.6, 0.95, 0.01, 0.0, 0.0)
    found = fixed.updated(_totals([0.5], [5.2], [100.0]))
    # one datum y − 0.95·0.5 = 4.725 of variance 0.01 against a prior of the same variance: half way
    assert found.intercept == pytest.approx((4.6 + 4.725) / 2)
    assert found.var_intercept == pytest.approx(0.005)
    assert (found.slope, found.var_slope) == (0.95, 0.0)


def test_log_ratio_is_nought_at_an_office_sheet() -> None:
    assert log_ratio(160.0) == pytest.approx(np.log(2))
