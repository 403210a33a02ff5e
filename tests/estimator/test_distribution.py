"""Quantiles against scipy."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from matref.errors import BadInput
from matref.estimator.distribution import Exact, LogNormal, LogNormalMixture, Normal, Uniform
from matref.estimator.estimate import Estimate

LEVELS = (0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99)
PARTS = st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(2.0, 8.0), st.floats(0.005, 0.6)), min_size=1, max_size=8)


@pytest.mark.parametrize("p", LEVELS)
def test_simple_kinds(p: float) -> None:
    assert Normal(10.0, 2.0).quantile(p) == pytest.approx(stats.norm(10, 2).ppf(p))
    assert LogNormal(math.log(100), 0.1).quantile(p) == pytest.approx(stats.lognorm(0.1, scale=100).ppf(p))
    assert Uniform(0.4, 1.0).quantile(p) == pytest.approx(stats.uniform(0.4, 0.6).ppf(p))
    assert Exact(7.0).quantile(p) == 7.0


@given(PARTS, st.sampled_from(LEVELS))
def test_mixture_quantile_inverts_its_distribution(parts: list[tuple[float, float, float]], p: float) -> None:
    total = sum(w for w, _, _ in parts)
    mixture = LogNormalMixture(tuple((w / total, mu, s) for w, mu, s in parts))
    x = math.log(mixture.quantile(p))
    share = sum(w / total * stats.norm.cdf(x, mu, s) for w, mu, s in parts)
    # Where the mixture has a gap its distribution is flat, and any point of the gap will do.
    assert share == pytest.approx(p, abs=1e-7)


@given(PARTS)
def test_mixture_quantile_against_a_root_finder(parts: list[tuple[float, float, float]]) -> None:
    total = sum(w for w, _, _ in parts)
    mixture = LogNormalMixture(tuple((w / total, mu, s) for w, mu, s in parts))

    def excess(x: float) -> float:
        return float(sum(w / total * stats.norm.cdf(x, mu, s) for w, mu, s in parts)) - 0.9

    root = optimize.brentq(excess, -20, 30, xtol=1e-12)
    assert excess(math.log(mixture.quantile(0.9))) == pytest.approx(excess(root), abs=1e-8)


@given(PARTS)
def test_quantiles_rise(parts: list[tuple[float, float, float]]) -> None:
    total = sum(w for w, _, _ in parts)
    mixture = LogNormalMixture(tuple((w / total, mu, s) for w, mu, s in parts))
    found = [mixture.quantile(p) for p in LEVELS]
    assert found == sorted(found)


def test_log_sd_is_that_of_the_mixture() -> None:
    mixture = LogNormalMixture(((0.5, 4.0, 0.1), (0.5, 5.0, 0.2)))
    # Var = E[Var] + Var[E]
    assert mixture.log_sd == pytest.approx(math.sqrt((0.01 + 0.04) / 2 + 0.25))


@pytest.mark.parametrize("level", [0.0, 0.3, 1.0, 90.0, -1.0, math.nan])
def test_unusable_levels_are_refused(level: float) -> None:
    with pytest.raises(BadInput, match="level"):
        Estimate.of(Uniform(0, 1), level)
