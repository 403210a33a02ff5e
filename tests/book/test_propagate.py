import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from matref.book import propagate as p
from matref.estimator.distribution import Exact, LogNormal, LogNormalMixture, Normal, Uniform
from matref.estimator.estimate import Estimate


def run(inputs, function, level=0.9):
    return p.propagate(inputs, lambda d: {"y": function(d)}, level)["y"]


def trapezoid(half_a, half_b, share):
    """Quantile of the sum of two uniforms centred on 0, half widths a > b, for a small share: x²/(8ab) below."""
    return math.sqrt(8 * half_a * half_b * share) - half_a - half_b


def test_sum_of_two_uniforms_is_a_trapezoid():
    found = run({"a": Uniform(-3, 3), "b": Uniform(-1, 1)}, lambda d: d["a"] + d["b"])
    assert found.low == pytest.approx(trapezoid(3, 1, 0.05), abs=0.01)
    assert found.high == pytest.approx(-trapezoid(3, 1, 0.05), abs=0.01)
    assert found.value == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("level", [0.5, 0.8, 0.9, 0.95])
def test_product_of_log_normals_is_log_normal(level):
    inputs = {str(i): LogNormal(math.log(2 + i), s) for i, s in enumerate((0.05, 0.1, 0.02, 0.07))}
    found = run(inputs, lambda d: math.prod(d.values()), level)
    exact = Estimate.of(LogNormal(math.log(120), math.hypot(0.05, 0.1, 0.02, 0.07)), level)
    off = [got - want for got, want in zip(found.as_json().values(), exact.as_json().values(), strict=True)]
    assert max(map(abs, off)) < 0.015 * (exact.high - exact.low)


def test_accuracy_over_many_sums_is_as_stated():
    """180 weighted sums of two to six normals, whose quantiles are exact: half a per cent of the width as a rule."""
    rng, off = np.random.default_rng(0), []
    columns = np.array(p.draw({str(i): Normal(0, 1) for i in range(8)}).columns)
    for k in np.repeat([2, 3, 4, 5, 6], 36):
        weights = np.zeros(8)
        weights[rng.permutation(8)[:k]] = np.sqrt(rng.dirichlet(np.ones(k)))
        found = p.estimate(list(weights @ columns))
        off += [(got - want) / 3.2897 for got, want in zip(found.as_json().values(), (0, -1.6449, 1.6449), strict=True)]
    assert math.sqrt(np.mean(np.square(off))) < 0.0065
    assert max(map(abs, off)) < 0.035


GUM_S1 = {  # JCGM 101:2008, 9.2 additive model Y = X1 + X2 + X3 + X4: distributions, u(y), 95 % interval by Monte Carlo
    "9.2.2, four normals": ([Normal(0, 1)] * 4, 2.00, 3.92),
    "9.2.3, four rectangulars": ([Uniform(-math.sqrt(3), math.sqrt(3))] * 4, 2.00, 3.88),
    "9.2.4, one rectangular ten times wider": (
        [Uniform(-math.sqrt(3), math.sqrt(3))] * 3 + [Uniform(-10 * math.sqrt(3), 10 * math.sqrt(3))],
        10.1,
        17.0,
    ),
}


@pytest.mark.parametrize("name", GUM_S1)
def test_additive_model_of_the_gum_supplement(name):
    parts, u, half = GUM_S1[name]
    inputs = {str(i): part for i, part in enumerate(parts)}
    found = run(inputs, lambda d: sum(d.values()), 0.95)
    assert (found.low, found.high) == pytest.approx((-half, half), abs=0.02 * 2 * half)
    values = p.draw(inputs).evaluate(lambda d: sum(d.values()))
    assert np.std(values) == pytest.approx(u, rel=0.01)


def test_mass_calibration_of_the_gum_supplement():
    """JCGM 101:2008, 9.3: δm with air buoyancy, 1.2341 mg, 95 % interval 1.0834 to 1.3825 mg by Monte Carlo (a plain
    first-order GUM gives 1.1285 to 1.3395). Masses in mg, densities in kg/m³."""
    inputs = {
        "m_rc": Normal(100_000.000, 0.050),
        "dm_rc": Normal(1.234, 0.020),
        "air": Uniform(1.10, 1.30),
        "weight": Uniform(7000, 9000),
        "reference": Uniform(7950, 8050),
    }

    def delta(d):
        buoyancy = (d["air"] - 1.2) * (1 / d["weight"] - 1 / d["reference"])
        return (d["m_rc"] + d["dm_rc"]) * (1 + buoyancy) - 100_000

    found = run(inputs, delta, 0.95)
    assert found.value == pytest.approx(1.234, abs=0.003)
    assert (found.low, found.high) == pytest.approx((1.0834, 1.3825), abs=0.008)


def test_against_random_draws_of_a_crooked_function():
    inputs = {"a": LogNormal(0, 0.3), "b": Uniform(0.4, 1), "c": Normal(5, 0.5), "d": Uniform(1, 2)}

    def crooked(d):
        return d["a"] * d["b"] ** 2 + math.sin(d["c"]) + max(d["b"], d["d"] / 2)

    found = run(inputs, crooked, 0.9)
    rng = np.random.default_rng(20260101)
    n = 400_000
    a, b = np.exp(rng.normal(0, 0.3, n)), rng.uniform(0.4, 1, n)
    c, d = rng.normal(5, 0.5, n), rng.uniform(1, 2, n)
    low, middle, high = np.quantile(a * b**2 + np.sin(c) + np.maximum(b, d / 2), [0.05, 0.5, 0.95])
    width = high - low
    assert (found.low, found.value, found.high) == pytest.approx((low, middle, high), abs=0.02 * width)


def test_every_input_runs_evenly_through_its_range():
    names = [str(i) for i in range(16)]
    draws = p.draw({name: Uniform(0, 1) for name in names})
    even = [(i + 0.5) / p.POINTS for i in range(p.POINTS)]
    for column in draws.columns:
        assert sorted(column) == pytest.approx(even)
    assert len({column[:8] for column in draws.columns}) == 16


def test_inputs_are_uncorrelated():
    """Random draws of this number would have correlations up to 0.07; the lattice must do better."""
    draws = p.draw({str(i): Normal(0, 1) for i in range(16)})
    for some, most in ((draws, 0.035), (draws.thinned(4), 0.07)):
        table = np.corrcoef(np.array(some.columns))
        assert np.abs(table - np.eye(16)).max() < most
    whole = np.abs(np.corrcoef(np.array(draws.columns))[:8, :8] - np.eye(8))
    assert whole.max() < 0.025


def test_generator_is_the_best_of_its_search():
    """Component-by-component search (Sloan and Reztsov 2002) for 2048 and 512 points at once, done again here."""
    odd, weight, sizes = np.arange(1, 1024, 2), 0.02, (512, 2048)
    kernels = [2 * np.pi**2 * ((np.arange(n) / n) ** 2 - np.arange(n) / n + 1 / 6) for n in sizes]
    products, found = [np.ones(n) for n in sizes], []
    for dimension in range(len(p.GENERATOR)):
        worst = np.zeros(len(odd))
        for n, kernel, product in zip(sizes, kernels, products, strict=True):
            factors = 1 + weight * kernel[(odd[:, None] * np.arange(n)) % n]
            error = (factors * product).mean(axis=1) - 1
            worst = np.maximum(worst, error / error.min()) if dimension else worst
        best = int(odd[int(np.argmin(np.round(worst, 9)))])
        found.append(best)
        products = [
            product * (1 + weight * kernel[(best * np.arange(n)) % n])
            for n, kernel, product in zip(sizes, kernels, products, strict=True)
        ]
    assert tuple(found) == p.GENERATOR


def test_same_draws_serve_all_results():
    inputs = {"t": Normal(100, 5), "k": Uniform(0.9, 1)}
    both = p.propagate(inputs, lambda d: {"gap": d["t"] * d["k"] - d["k"] * d["t"], "t": d["t"]})
    assert both["gap"].high - both["gap"].low == 0
    assert p.propagate(inputs, lambda d: {"t": d["t"]})["t"] == both["t"]


def test_mixture_columns_follow_its_own_quantiles():
    mixture = LogNormalMixture(((0.6, math.log(100), 0.03), (0.3, math.log(125), 0.05), (0.1, math.log(90), 0.2)))
    column = sorted(p.draw({"t": mixture}).columns[0])
    for i in range(0, p.POINTS, 97):
        assert column[i] == pytest.approx(mixture.quantile((i + 0.5) / p.POINTS), rel=0.002)


def test_shares_of_a_linear_model_are_its_variances():
    draws = p.draw({"a": Normal(0, 3), "b": Normal(0, 2), "c": Normal(0, 1), "d": Exact(7)})
    found = p.shares(draws, lambda d: d["a"] + d["b"] - d["c"] + d["d"])
    assert list(found) == ["a", "b", "c"]
    assert found == pytest.approx({"a": 9 / 14, "b": 4 / 14, "c": 1 / 14}, abs=0.03)
    assert p.shares(p.draw({"d": Exact(7)}), lambda d: d["d"]) == {}


def test_estimate_matches_a_reference_quantile():
    """Positions (i - 1/2)/n are 'hazen' in numpy (Hyndman and Fan 1996, type 5)."""
    values = list(np.random.default_rng(3).gamma(2, 1, 501))
    found = p.estimate(values, 0.8)
    assert (found.low, found.value, found.high) == pytest.approx(np.quantile(values, [0.1, 0.5, 0.9], method="hazen"))
    assert p.estimate([4.0]) == Estimate(4.0, 4.0, 4.0, 0.9)


@settings(max_examples=25, deadline=None)
@given(st.floats(-50, 50), st.floats(0.1, 20), st.floats(0.1, 5), st.sampled_from([0.5, 0.9, 0.99]))
def test_normal_sums_have_normal_intervals(mean, first, second, level):
    found = run({"a": Normal(mean, first), "b": Normal(0, second)}, lambda d: d["a"] + d["b"], level)
    sd = math.hypot(first, second)
    half = stats.norm.ppf((1 + level) / 2) * sd
    assert (found.low, found.high) == pytest.approx((mean - half, mean + half), abs=max(0.06 * sd, 0.04 * half))


def test_too_many_doubtful_inputs():
    with pytest.raises(ValueError, match="16"):
        p.draw({str(i): Uniform(0, 1) for i in range(17)})
    assert len(p.draw({str(i): Exact(1.0) for i in range(17)}).columns) == 17
