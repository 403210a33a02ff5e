"""The fit: a known truth comes back, intervals cover, slips do not drag, tails are Student's."""

from __future__ import annotations

import math
import sqlite3
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from simulated import Truth, readings

from matref.estimator.fit import FamilyFit, Reading, Settings, collapse_calculated, fit_family
from matref.estimator.line import log_ratio
from matref.estimator.store import family_readings

NO_SLIPS = Settings(series="document", slip_share=0.0)
SEEDS = range(12)
TRUTH = Truth()


@pytest.fixture(scope="module")
def simulated_fits() -> list[FamilyFit]:
    return [fit_family(readings(TRUTH, seed), NO_SLIPS) for seed in SEEDS]


def test_variance_components_are_recovered(simulated_fits: list[FamilyFit]) -> None:
    """Mean over the seeds within three standard errors of the truth; the standard error is that seen over seeds."""
    found = {
        "class": ([f.variances.class_factor[0, 0] for f in simulated_fits], TRUTH.class_sd),
        "group": ([f.variances.group_sd for f in simulated_fits], TRUTH.group_sd),
        "series": ([f.variances.series_sd for f in simulated_fits], TRUTH.series_sd),
        "specified": ([f.variances.kind_sd[0] for f in simulated_fits], TRUTH.specified_sd),
        "nominal": ([f.variances.kind_sd[1] for f in simulated_fits], TRUTH.nominal_sd),
        "slope": ([f.unpublished.slope for f in simulated_fits], TRUTH.slope),
    }
    for name, (values, truth) in found.items():
        mean, se = np.mean(values), np.std(values, ddof=1) / math.sqrt(len(values))
        assert abs(mean - truth) < 3 * se + 0.03 * truth, name
        # and each single fit within what 25 classes or 12 groups allow: a chi-square range of a standard deviation
        assert all(0.4 * truth < v < 1.8 * truth for v in values), name


def test_class_slopes_are_recovered() -> None:
    truth = Truth(slope_sd=0.1)
    fits = [fit_family(readings(truth, seed), replace(NO_SLIPS, class_slope=True)) for seed in range(6)]
    sds = [math.hypot(*f.variances.class_factor[1]) for f in fits]
    assert np.mean(sds) == pytest.approx(0.1, rel=0.2)


def test_intervals_for_new_products_cover_at_the_stated_level() -> None:
    """New series of known classes from new groups: 50 % and 90 % intervals hold their share, by binomial bounds."""
    inside = {0.5: 0, 0.9: 0}
    asked = 0
    rng = np.random.default_rng(99)
    truth = replace(TRUTH, specified_sd=0.03)
    for seed in SEEDS:
        rows = readings(truth, seed)
        last = sorted({r.source_group for r in rows})[-2:]
        fit = fit_family([r for r in rows if r.source_group not in last], replace(NO_SLIPS, tail=math.inf))
        unseen = {(r.source_group, r.series_id): r for r in rows if r.source_group in last}
        for r in unseen.values():  # one reading per new series: the rest would share its luck
            if r.class_id not in fit.lines or rng.random() < 0.5:
                continue
            x = log_ratio(r.grammage_gsm)
            line = fit.lines[r.class_id]
            z = (math.log(r.caliper_um) - line.mean(x)) / math.sqrt(line.variance(x) + fit.product_sd**2)
            asked += 1
            for level in inside:
                inside[level] += abs(z) < stats.norm.ppf((1 + level) / 2)
    assert asked > 100
    for level, hits in inside.items():
        # Series of one group share its effect; half the number is counted as independent.
        low, high = stats.binom.interval(0.998, asked // 2, level)
        assert low <= hits / asked * (asked // 2) <= high, (level, hits / asked)


@pytest.mark.parametrize("class_id", ["offset_uncoated", "bond_writing", "coated_gloss", "copier", "offset_recycled"])
def test_a_reading_typed_ten_times_too_large_cannot_drag_its_class(fitted: sqlite3.Connection, class_id: str) -> None:
    """The line moves by less than a tenth of its standard uncertainty from where it is without that reading."""
    rows = family_readings(fitted, "paper")
    own = [i for i, r in enumerate(rows) if r.class_id == class_id and not r.calculated]
    for i in own[:: max(1, len(own) // 6)]:
        typed = replace(rows[i], caliper_um=10 * rows[i].caliper_um)
        fit = fit_family([*rows[:i], typed, *rows[i + 1 :]])
        without = fit_family([*rows[:i], *rows[i + 1 :]])
        shift = fit.lines[class_id].mean(0.0) - without.lines[class_id].mean(0.0)
        assert abs(shift) < 0.1 * math.sqrt(without.lines[class_id].variance(0.0)), rows[i]
        assert typed in fit.slips
        assert len(fit.slips) == 1  # its neighbours are not blamed


def test_without_the_treatment_a_slip_would_drag_its_class(fitted: sqlite3.Connection) -> None:
    rows = family_readings(fitted, "paper")
    i = next(i for i, r in enumerate(rows) if r.class_id == "bond_writing")
    slipped = [*rows[:i], replace(rows[i], caliper_um=10 * rows[i].caliper_um), *rows[i + 1 :]]
    clean, naive = fit_family(rows), fit_family(slipped, Settings(slip_share=0.0))
    shift = naive.lines["bond_writing"].mean(0.0) - clean.lines["bond_writing"].mean(0.0)
    assert abs(shift) > math.sqrt(clean.lines["bond_writing"].variance(0.0))


def test_no_published_reading_is_taken_for_a_slip(fitted: sqlite3.Connection) -> None:
    for family in ("paper", "board"):
        assert fit_family(family_readings(fitted, family)).slips == ()


@pytest.mark.parametrize("tail", [3.0, 4.0, 5.0, 8.0])
@pytest.mark.parametrize("p", [0.05, 0.25, 0.75, 0.95])
def test_nodes_stand_for_students_t(tail: float, p: float, simulated_fits: list[FamilyFit]) -> None:
    """Quantiles of the five normal components against scipy.stats.t."""
    nodes = replace(simulated_fits[0], tail=tail).nodes(5)
    assert math.fsum(w for w, _ in nodes) == pytest.approx(1.0)
    t = stats.t(tail).ppf(p)
    below = sum(w * stats.norm.cdf(t / factor) for w, factor in nodes)
    assert below == pytest.approx(p, abs=0.006)


def test_nodes_have_the_variance_of_students_t(simulated_fits: list[FamilyFit]) -> None:
    nodes = replace(simulated_fits[0], tail=8.0).nodes(5)
    # E[factor²] is an inverse-gamma moment: exact in the limit of many nodes, 8/6 here.
    assert sum(w * f * f for w, f in nodes) == pytest.approx(8 / 6, rel=0.02)
    assert replace(simulated_fits[0], tail=math.inf).nodes(5) == [(1.0, 1.0)]


def test_a_calculated_column_counts_as_one_statement() -> None:
    rows = readings(TRUTH, 3)
    chart = [Reading("class 00", g, 1.3 * g, "nominal", "chart", "printer", calculated=True) for g in range(50, 250)]
    middle = math.exp(sum(math.log(r.grammage_gsm) for r in chart) / len(chart))
    few = fit_family([*rows, Reading("class 00", middle, 1.3 * middle, "nominal", "chart", "printer")], NO_SLIPS)
    many = fit_family([*rows, *chart], NO_SLIPS)
    assert (few.statements, many.statements) == (len(rows) + 1, len(rows) + 1)
    assert many.lines["class 00"].var_intercept == pytest.approx(few.lines["class 00"].var_intercept, rel=1e-4)
    assert len(collapse_calculated(chart)) == 1


def test_order_of_readings_does_not_matter(fitted: sqlite3.Connection) -> None:
    rows = family_readings(fitted, "paper")
    one, other = fit_family(rows), fit_family(rows[::-1])
    for class_id, line in one.lines.items():
        assert other.lines[class_id].intercept == pytest.approx(line.intercept, abs=1e-5)
        assert other.lines[class_id].slope == pytest.approx(line.slope, abs=1e-5)


def test_a_class_is_pulled_towards_the_rest_and_less_the_more_it_has(fitted: sqlite3.Connection) -> None:
    fit = fit_family(family_readings(fitted, "paper"))
    for class_id in ("book_bulky", "offset_uncoated"):
        assert fit.lines[class_id].var_intercept < fit.unpublished.var_intercept
    assert fit.lines["offset_uncoated"].var_intercept < fit.lines["book_bulky"].var_intercept


def test_too_few_readings_are_refused() -> None:
    with pytest.raises(ValueError, match="too few"):
        fit_family(readings(TRUTH, 1)[:2])
