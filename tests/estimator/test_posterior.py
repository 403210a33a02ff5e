"""The closed-form posterior against numerical integration, Monte Carlo and its own promises."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from matref.estimator.distribution import LogNormalMixture
from matref.estimator.estimate import Estimate
from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import Posterior, posterior


def about_grammage(gsm: float, u: float) -> Observation:
    return Observation("weighing", "weighed", 1.0, 0.0, math.log(gsm), u)


def about_caliper(um: float, u: float) -> Observation:
    return Observation("stack", "stacked", 0.0, 1.0, math.log(um), u)


def _grid(model: Model, observations: list[Observation]) -> tuple[NDArray[np.float64], ...]:
    """Return (log grammage axis, log caliper axis, joint posterior on the grid), unnormalised, by brute force.

    The prior of every class is written out as in the model's definition, with the doubt about the line taken at each
    grid point's own grammage: the one thing the closed form simplifies.
    """
    g = np.linspace(math.log(10), math.log(1500), 1201)[:, None]
    c = np.linspace(math.log(8), math.log(5000), 1401)[None, :]
    joint = np.zeros((g.size, c.size))
    for m in model.classes.values():
        x = g - math.log(80.0)
        prior_g = np.exp(-0.5 * ((g - m.log_grammage_mean) / m.log_grammage_sd) ** 2) / m.log_grammage_sd
        scatter = model.scatter[m.family]
        mean = m.line.intercept + m.line.slope * x
        line = m.line.var_intercept + 2 * x * m.line.cov + x**2 * m.line.var_slope
        given_g = np.zeros_like(joint)
        for share, factor in scatter.nodes:
            sd = np.sqrt(line + (factor * scatter.sd) ** 2)
            given_g += share * np.exp(-0.5 * ((c - mean) / sd) ** 2) / sd
        joint += m.weight * prior_g * given_g
    for o in observations:
        joint *= np.exp(-0.5 * ((o.value - o.grammage_part * g - o.caliper_part * c) / o.u) ** 2) / o.u
    return g[:, 0], c[0], joint


def _quantile(axis: NDArray[np.float64], density: NDArray[np.float64], p: float) -> float:
    total = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2)])
    return float(np.exp(np.interp(p, total / total[-1], axis)))


CASES = {
    "copier paper with a label": (["copier"], [about_grammage(80, 0.029)]),
    "writing paper in a stack": (["bond_writing"], [about_caliper(105, 0.05)]),
    "both, of three classes": (
        ["copier", "offset_uncoated", "newsprint"],
        [about_grammage(60, 0.01), about_caliper(85, 0.05)],
    ),
    "nobody's class, weighed": (["watercolour"], [about_grammage(300, 0.01)]),
    "card, gauged": (["cover_uncoated", "index_bristol"], [about_caliper(300, 0.01)]),
    "book: bulk alone": (["book_bulky"], [Observation("book", "", -1.0, 1.0, math.log(1.7), 0.03)]),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_against_brute_force_integration(name: str, model: Model) -> None:
    classes, observations = CASES[name]
    some = model.only(classes)
    g, c, joint = _grid(some, observations)
    found = posterior(some, observations)
    for p in (0.05, 0.25, 0.5, 0.75, 0.95):
        assert found.caliper_um.quantile(p) == pytest.approx(_quantile(c, joint.sum(axis=0), p), rel=0.006), p
        assert found.grammage_gsm.quantile(p) == pytest.approx(_quantile(g, joint.sum(axis=1), p), rel=0.006), p


def test_class_probabilities_against_brute_force(model: Model) -> None:
    classes, observations = CASES["both, of three classes"]
    mass = {c: float(_grid(model.only([c]), observations)[2].sum()) for c in classes}
    total = sum(mass.values())
    found = posterior(model.only(classes), observations).classes()
    for c in classes:
        assert found.get(c, 0.0) == pytest.approx(mass[c] / total, abs=0.005)


def test_against_monte_carlo(model: Model) -> None:
    """Draw piles from the prior, keep those that explain the evidence (importance weights), compare."""
    rng = np.random.default_rng(3)
    n = 2_000_000
    classes, observations = ["offset_uncoated", "bond_writing"], [about_grammage(75, 0.02), about_caliper(98, 0.06)]
    some = model.only(classes)
    share = np.array([some.classes[c].weight for c in classes])
    pick = rng.choice(2, n, p=share / share.sum())
    scatter = some.scatter["paper"]
    factor = rng.choice([f for _, f in scatter.nodes], n, p=[w for w, _ in scatter.nodes])
    log_g, log_c = np.empty(n), np.empty(n)
    for k, class_id in enumerate(classes):
        own = pick == k
        m = some.classes[class_id]
        log_g[own] = rng.normal(m.log_grammage_mean, m.log_grammage_sd, own.sum())
        cov = [[m.line.var_intercept, m.line.cov], [m.line.cov, m.line.var_slope]]
        a, b = rng.multivariate_normal([m.line.intercept, m.line.slope], cov, own.sum()).T
        log_c[own] = a + b * (log_g[own] - math.log(80.0)) + scatter.sd * factor[own] * rng.normal(size=own.sum())
    weight = np.exp(
        -0.5 * ((observations[0].value - log_g) / 0.02) ** 2 - 0.5 * ((observations[1].value - log_c) / 0.06) ** 2
    )
    order = np.argsort(log_c)
    cumulative = np.cumsum(weight[order]) / weight.sum()
    found = posterior(some, observations)
    effective = weight.sum() ** 2 / (weight**2).sum()
    assert effective > 20_000
    for p in (0.05, 0.5, 0.95):
        drawn = math.exp(float(np.interp(p, cumulative, log_c[order])))
        assert found.caliper_um.quantile(p) == pytest.approx(drawn, rel=0.004)
    assert found.classes()["bond_writing"] == pytest.approx(weight[pick == 1].sum() / weight.sum(), abs=0.015)


def test_bulk_is_caliper_over_grammage(model: Model) -> None:
    classes, observations = CASES["writing paper in a stack"]
    some = model.only(classes)
    g, c, joint = _grid(some, observations)
    bulk = (c[None, :] - g[:, None]).ravel()
    order = np.argsort(bulk)
    share = np.cumsum(joint.ravel()[order]) / joint.sum()
    for p in (0.05, 0.5, 0.95):
        expected = math.exp(float(np.interp(p, share, bulk[order])))
        assert posterior(some, observations).bulk_cm3_g.quantile(p) == pytest.approx(expected, rel=0.006)


EVIDENCE = [about_grammage(80, 0.03), about_grammage(78, 0.01), about_caliper(100, 0.05), about_caliper(104, 0.02)]


def test_order_of_evidence_does_not_matter(model: Model) -> None:
    found = {posterior(model, order) for order in itertools.permutations(EVIDENCE)}
    assert len(found) == 1  # the same to the last digit


def test_two_equal_readings_are_one_of_half_the_variance(model: Model) -> None:
    some = model.only(["copier"])
    twice = posterior(some, [about_caliper(100, 0.04)] * 2)
    once = posterior(some, [about_caliper(100, 0.04 / math.sqrt(2))])
    assert twice.caliper_um.quantile(0.9) == pytest.approx(once.caliper_um.quantile(0.9), rel=1e-6)


def test_shares_sum_to_one(model: Model) -> None:
    found = posterior(model, EVIDENCE[:1])
    assert math.fsum(p.weight for p in found.parts) == pytest.approx(1.0)
    assert math.fsum(found.classes().values()) == pytest.approx(1.0)
    assert list(found.classes().values()) == sorted(found.classes().values(), reverse=True)


def test_evidence_density_integrates_to_one(model: Model) -> None:
    """exp(log_evidence) is the density of the reading: over all readings it sums to one."""
    some = model.only(["copier", "book_bulky"])
    axis = np.linspace(math.log(5), math.log(5000), 4001)
    density = [math.exp(posterior(some, [about_caliper(math.exp(v), 0.05)]).log_evidence) for v in axis]
    assert np.trapezoid(density, axis) == pytest.approx(1.0, rel=1e-3)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_more_evidence_that_agrees_never_widens(data: st.DataObject, model: Model) -> None:
    """Within a class, a further reading at the expected value narrows the range or leaves it."""
    class_id = data.draw(st.sampled_from(sorted(model.classes)))
    some = model.only([class_id])
    gsm = math.exp(some.classes[class_id].log_grammage_mean) * data.draw(st.floats(0.7, 1.4))
    known = posterior(some, [about_grammage(gsm, data.draw(st.floats(0.005, 0.05)))])
    before = known.caliper_um
    further = about_caliper(before.quantile(0.5), data.draw(st.floats(0.005, 0.3)))
    after = posterior(some, [about_grammage(gsm, 0.02), further]).caliper_um
    wide = posterior(some, [about_grammage(gsm, 0.02)]).caliper_um
    assert _log_width(after) <= _log_width(wide) * 1.001


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_evidence_widens_no_more_than_contradiction_justifies(data: st.DataObject, model: Model) -> None:
    """A reading z standard deviations off may widen the range: by Student's tails, no more than about 1 + z²/ν."""
    class_id = data.draw(st.sampled_from(sorted(model.classes)))
    some = model.only([class_id])
    label = about_grammage(math.exp(some.classes[class_id].log_grammage_mean), 0.03)
    known = posterior(some, [label])
    u = data.draw(st.floats(0.01, 0.2))
    z = data.draw(st.floats(-4, 4))
    spread = math.hypot(known.caliper_um.log_sd, u)
    off = about_caliper(known.caliper_um.quantile(0.5) * math.exp(z * spread), u)
    after = posterior(some, [label, off])
    assert _log_width(after.caliper_um) <= _log_width(known.caliper_um) * math.sqrt(1.001 + z * z / 4)


@settings(max_examples=100, deadline=None)
@given(level=st.floats(0.5, 0.99), more=st.floats(0.001, 0.009), name=st.sampled_from(sorted(CASES)))
def test_intervals_nest_with_level(level: float, more: float, name: str, model: Model) -> None:
    classes, observations = CASES[name]
    known = posterior(model.only(classes), observations)
    for distribution in (known.caliper_um, known.grammage_gsm, known.bulk_cm3_g):
        inner, outer = Estimate.of(distribution, level), Estimate.of(distribution, level + more)
        assert outer.low <= inner.low <= inner.value <= inner.high <= outer.high


def test_more_grammage_never_gives_less_caliper_within_a_class(model: Model) -> None:
    """For every class of paper and board, over a fiftyfold range of grammage, at low, middle and high quantile."""
    for class_id in model.classes:
        some = model.only([class_id])
        middle = some.classes[class_id].log_grammage_mean
        found: list[tuple[float, float, float]] = []
        for step in range(-10, 11):
            known = posterior(some, [about_grammage(math.exp(middle + 0.2 * step), 0.02)]).caliper_um
            found.append((known.quantile(0.05), known.quantile(0.5), known.quantile(0.95)))
        for lower, higher in itertools.pairwise(found):
            assert all(a < b for a, b in zip(lower, higher, strict=True)), class_id


def test_more_weight_means_more_probable(model: Model) -> None:
    some = model.only(["copier", "offset_uncoated"])
    common = Model({**some.classes, "copier": some.classes["copier"]._replace(weight=0.6)}, some.scatter)
    assert posterior(common, EVIDENCE).classes()["copier"] > posterior(some, EVIDENCE).classes()["copier"]


def test_the_name_of_a_class_does_not_matter(model: Model) -> None:
    twin = model.classes["copier"]._replace(class_id="twin", name="the same by another name")
    twins = Model({**model.classes, "twin": twin}, model.scatter)

    def answer(class_id: str) -> Posterior:
        known = posterior(twins.only([class_id]), [about_grammage(100, 0.03)])
        return known._replace(parts=tuple(p._replace(class_id="") for p in known.parts))

    assert answer("twin") == answer("copier")


def _log_width(distribution: LogNormalMixture) -> float:
    return math.log(distribution.quantile(0.95) / distribution.quantile(0.05))
