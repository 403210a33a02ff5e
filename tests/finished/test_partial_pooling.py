"""Partial pooling against dense algebra, closed forms and simulation.

The normal model: Gelman et al., Bayesian Data Analysis, 3rd ed., 2013, ch. 3 and 5. Doubt in common: GUM 5.2.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate
from scipy.stats import multivariate_normal, norm

from matref.book.rule_row import Halves
from matref.estimator.distribution import Distribution, Exact, Normal, Uniform
from matref.finished import partial_pooling
from matref.finished.partial_pooling import Learned, Told, learn, moments

FLAT = Uniform(0.4, 1.0)
SOFT, HARD = ("soft", "linen"), ("hard", "linen")
CASES = st.lists(
    st.builds(
        Told,
        st.tuples(st.sampled_from(["soft", "hard"]), st.sampled_from(["linen", "cotton"])),
        st.sampled_from(["thin", "thick", "waxed"]),
        st.floats(0.45, 0.95),
        st.floats(0.01, 0.2),
        st.just(0.1),
    ),
    min_size=1,
    max_size=9,
)


def ranges(distribution: Distribution) -> tuple[float, float, float]:
    low, middle, high = (distribution.quantile(p) for p in (0.05, 0.5, 0.95))
    return low, middle, high


def width(distribution: Distribution) -> float:
    low, _, high = ranges(distribution)
    return high - low


def test_without_cases_the_prior_itself_comes_back() -> None:
    assert learn(FLAT, [], SOFT) is FLAT
    certain = Exact(1.0)
    assert learn(certain, [Told(SOFT, "a", 0.5, 0.01, 0.0)], SOFT) is certain


@settings(deadline=None)
@given(CASES)
def test_the_blocks_give_what_dense_algebra_gives(told: list[Told]) -> None:
    """Against scipy and numpy with one row and column for every case."""
    mean, variance, shares = 0.7, 0.03, (0.2, 0.3, 0.4, 0.1)
    own, common, surface, fibre = (s * variance for s in shares)
    about: dict[tuple[object, ...], list[float]] = {}
    for t in told:
        about.setdefault((t.kinds, t.batch), []).append(t.value)

    def alike(a: tuple[str, ...], b: tuple[str, ...]) -> float:
        return common + surface * (a[0] == b[0]) + fibre * (a[1] == b[1])

    def of_batch(t: Told) -> float:
        return t.batch_u * float(np.mean(about[t.kinds, t.batch]))

    dense = np.array(
        [
            [alike(a.kinds, b.kinds) + (of_batch(a) * of_batch(b) if a.batch == b.batch else 0) for b in told]
            for a in told
        ]
    )
    dense += np.diag([own + t.u**2 for t in told])
    values = np.array([t.value for t in told])
    reach = np.array([alike(t.kinds, SOFT) for t in told])
    gain = np.linalg.solve(dense, reach)
    evidence, found_mean, found_variance = partial_pooling._update(
        partial_pooling._blocks(FLAT, told), SOFT, shares, mean, variance
    )
    assert evidence == pytest.approx(multivariate_normal(np.full(len(told), mean), dense).logpdf(values), abs=1e-8)
    assert found_mean == pytest.approx(mean + gain @ (values - mean), rel=1e-9)
    assert found_variance == pytest.approx(variance - gain @ reach, rel=1e-9)


def test_one_case_against_the_integral() -> None:
    """φ of the case given φ wanted is normal with correlation r: the likelihood is a normal density in φ wanted."""
    told = Told(SOFT, "a", 0.55, 0.03, 0.0)
    mean, sd = moments(FLAT)

    def likelihood(phi: float, kinds: tuple[str, ...]) -> float:
        total = 0.0
        for own, common, *alike in partial_pooling._shares(2):
            r = common + sum(a for a, x, y in zip(alike, kinds, SOFT, strict=True) if x == y)
            scale = math.hypot(sd * math.sqrt(1 - r**2), told.u)
            total += norm.pdf(told.value, mean + r * (phi - mean), scale)
            assert own + common + sum(alike) == pytest.approx(1)
        return total

    for kinds in (SOFT, HARD, ("hard", "cotton")):
        whole, _ = integrate.quad(likelihood, 0.4, 1.0, args=(kinds,))
        for p in (0.05, 0.5, 0.95):
            below, _ = integrate.quad(likelihood, 0.4, learn(FLAT, [told], kinds).quantile(p), args=(kinds,))
            assert below / whole == pytest.approx(p, abs=2e-3)


def test_the_shares_are_all_ways_of_sharing_out_and_fair_to_each_kind() -> None:
    for ways in (0, 1, 2):
        shares = list(partial_pooling._shares(ways))
        assert all(sum(s) == pytest.approx(1) and min(s) > 0 for s in shares)
        columns = list(zip(*shares, strict=True))[1:]
        assert all(sum(c) == pytest.approx(sum(columns[0])) for c in columns)


def test_a_like_kind_tells_more_than_another() -> None:
    told = [Told(SOFT, str(i), 0.5, 0.03, 0.05) for i in range(4)]
    same, fibre, neither = (learn(FLAT, told, kinds) for kinds in (SOFT, HARD, ("hard", "cotton")))
    assert width(same) < width(fibre) < width(neither) < width(FLAT)
    assert ranges(same)[1] < ranges(fibre)[1] < ranges(neither)[1] < 0.7


def test_more_cases_narrow_and_one_thread_does_not_beat_its_own_doubt() -> None:
    def cases(n: int, threads: int) -> list[Told]:
        return [Told(SOFT, str(i % threads), 0.6, 0.02, 0.1) for i in range(n)]

    widths = [width(learn(FLAT, cases(n, n), SOFT)) for n in (1, 4, 16, 64)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.15
    # 64 books with one thread leave the doubt about that thread: 10 % of 0.6, a standard uncertainty
    assert width(learn(FLAT, cases(64, 1), SOFT)) > 2 * 1.645 * 0.06 * 0.8


@pytest.mark.parametrize("prior", [FLAT, Uniform(0.9, 1.0), Halves(0.4, 0.5, 0.7)])
def test_nothing_leaves_the_range_of_the_prior(prior: Distribution) -> None:
    low, high = prior.quantile(0.0), prior.quantile(1.0)
    for value in (-3.0, 0.0, 0.65, 5.0):
        found = learn(prior, [Told((), "a", value, 0.02, 0.05)] * 3, ())
        quantiles = [found.quantile(p) for p in (0.0005, 0.05, 0.5, 0.95, 0.9995)]
        assert low <= quantiles[0]
        assert quantiles == sorted(quantiles)
        assert quantiles[-1] <= high


def test_a_normal_prior_is_the_conjugate_posterior() -> None:
    """Bayesian Data Analysis, eq. 2.11 for each share, mixed by the evidence: here without ways of grouping."""
    prior = Normal(0.7, 0.1)
    value, u = 0.6, 0.05
    found = partial_pooling._update(
        partial_pooling._blocks(prior, [Told((), "a", value, u, 0.0)]), (), (0.3, 0.7), 0.7, 0.01
    )
    gain = 0.007 / (0.01 + u**2)
    assert found[1:] == pytest.approx((0.7 + gain * (value - 0.7), 0.01 - gain * 0.007))


@given(CASES, st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=20)
def test_the_order_of_cases_hardly_matters(told: list[Told], shuffler: random.Random) -> None:
    other = told[:]
    shuffler.shuffle(other)
    assert ranges(learn(FLAT, other, SOFT)) == pytest.approx(ranges(learn(FLAT, told, SOFT)), rel=1e-9)


@pytest.mark.parametrize(("books", "own"), [(1, 0.2), (6, 0.05), (6, 0.5), (20, 0.1)])
def test_ranges_cover_the_truth(books: int, own: float) -> None:
    """Books drawn from the model (kept where all factors lie in the range): 90 % ranges hold 90 % of next books.

    120 drawings: the share covered has a standard deviation of 2.7 %; bounds lie three of them out.
    """
    source = random.Random(f"{books} {own}")
    mean, sd = moments(FLAT)
    weights = [math.sqrt(share) * sd for share in (own, (1 - own) / 3, (1 - own) / 3, (1 - own) / 3)]
    covered = drawn = 0
    widths = []
    while drawn < 120:
        effects = {
            name: source.gauss(0, 1) for name in ("all", "soft", "hard", "linen", "cotton", "t0", "t1", "t2", "t3")
        }
        kinds = [(source.choice(["soft", "hard"]), source.choice(["linen", "cotton"])) for _ in range(books + 1)]
        factors = [
            mean
            + weights[0] * source.gauss(0, 1)
            + sum(w * effects[e] for w, e in zip(weights[1:], ("all", *k), strict=True))
            for k in kinds
        ]
        if not all(0.4 <= f <= 1.0 for f in factors):
            continue
        drawn += 1
        told = []
        for kind, factor in zip(kinds[:-1], factors[:-1], strict=True):
            batch = f"t{2 * (kind[1] == 'linen') + source.randrange(2)}"
            told.append(Told(kind, batch, factor * (1 + 0.1 * effects[batch]) + 0.05 * source.gauss(0, 1), 0.05, 0.1))
        found = learn(FLAT, told, kinds[-1])
        low, _, high = ranges(found)
        covered += low <= factors[-1] <= high
        widths.append(high - low)
    assert 0.82 <= covered / drawn <= 0.985
    assert sum(widths) / drawn < width(FLAT)


def test_bins_with_nothing_in_them() -> None:
    gap = Learned((0.0, 1.0, 2.0, 3.0), (0.0, 0.5, 0.5, 1.0))
    assert gap.quantile(0.25) == 0.5
    assert gap.quantile(0.75) == 2.5
    assert 0.0 <= gap.quantile(1e-9) < gap.quantile(1 - 1e-9) <= 3.0
