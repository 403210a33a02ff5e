"""Observations and their uncertainties against the GUM (JCGM 100:2008) and against simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from matref.estimator import observation as obs
from matref.estimator.observation import Factor

EXACT = Factor(1.0, 1.0, "test")


def test_a_flat_range_has_a_twelfth_of_its_square_as_variance() -> None:
    # GUM 4.3.7: u² = (a₊ − a₋)²/12, here on the logarithm.
    factor = Factor(0.9, 1.1, "test")
    rng = np.random.default_rng(1)
    draws = rng.uniform(math.log(0.9), math.log(1.1), 200_000)
    assert factor.mu == pytest.approx(draws.mean(), abs=5e-4)
    assert factor.u == pytest.approx(draws.std(), rel=5e-3)


def test_digital_resolution_as_in_gum_f221() -> None:
    # GUM F.2.2.1: a display of resolution δx has the standard uncertainty 0.29 δx.
    scale = obs.weighing(100.0, 1, 1000.0, 1000.0, u_mass_g=0.29)
    assert scale.u == pytest.approx(0.29 / 100, rel=1e-3)
    assert math.exp(scale.value) == pytest.approx(100.0)


def test_relative_uncertainties_of_a_product_add_in_squares() -> None:
    # GUM 5.1.6, equation (12): Y = c X₁^p₁ X₂^p₂…: [u(y)/y]² = Σ [pᵢ u(xᵢ)/xᵢ]².
    w = obs.weighing(98.0, 20, 210.0, 297.0, u_mass_g=0.41, u_width_mm=0.4, u_height_mm=0.4)
    assert math.exp(w.value) == pytest.approx(98 / (20 * 0.210 * 0.297))
    expected = math.sqrt((0.41 / 98) ** 2 + (0.4 / 210) ** 2 + (0.4 / 297) ** 2)
    assert w.u == pytest.approx(expected, rel=1e-4)
    assert sum(w.shares.values()) == pytest.approx(w.u**2)


def test_stack_against_simulation() -> None:
    """Draw readings to the nearest millimetre at both ends and a flat looseness: spread and centre agree."""
    rng = np.random.default_rng(2)
    n, sheets, true_um = 200_000, 100, 104.0
    loose = np.exp(rng.uniform(math.log(1.0), math.log(1.1), n))
    start = rng.uniform(0, 1, n)
    stop = start + sheets * true_um * loose / 1000
    seen = np.round(stop) - np.round(start)
    spread = np.log(seen / loose).std()  # what the reading alone adds
    s = obs.stack(10.4, sheets, EXACT, u_thickness_mm=math.sqrt(2 / 12))
    assert s.u == pytest.approx(spread, rel=0.03)
    held = obs.stack(10.4, sheets, Factor(1.0, 1.1, "test"), u_thickness_mm=math.sqrt(2 / 12))
    inferred = np.log(seen * 1000 / sheets) - Factor(1.0, 1.1, "test").mu
    assert held.u == pytest.approx(inferred.std(), rel=0.03)
    assert inferred.mean() == pytest.approx(math.log(true_um), abs=2e-3)


def test_a_coarse_reading_stays_positive_and_wide() -> None:
    # sqrt(log(1 + r²)) is the log sd of the log-normal whose coefficient of variation is r.
    assert obs.log_u(1.0, 1.0) == pytest.approx(math.sqrt(math.log(2)))
    assert obs.log_u(100.0, 1.0) == pytest.approx(0.01, rel=1e-4)


def test_one_sheet_is_a_gauge_reading_and_has_nothing_to_be_held() -> None:
    one = obs.stack(0.104, 1, EXACT, u_thickness_mm=0.0029, with_="micrometer")
    assert one.about == "gauge"
    assert math.exp(one.value) == pytest.approx(104.0)
    assert list(one.shares) == ["reading the micrometer"]


def test_label_has_the_mills_tolerance() -> None:
    # ±5 % taken flat: 5/√3 %
    found = obs.label(80.0, Factor(0.95, 1.05, "test"))
    assert found.u == pytest.approx(0.05 / math.sqrt(3), rel=2e-3)
    assert math.exp(found.value) == pytest.approx(80.0, rel=2e-3)


def test_book_block_and_book_mass() -> None:
    block = obs.book_thickness(14.0, 120, Factor(0.98, 0.98, "test"), u_thickness_mm=0.4)
    assert math.exp(block.value) == pytest.approx(14_000 / 120 / 0.98)
    mass = obs.book_mass(310.0, 120, 130.0, 200.0, Factor(0.85, 0.85, "test"), u_mass_g=0.4, u_side_mm=0.4)
    assert math.exp(mass.value) == pytest.approx(310 * 0.85 / (120 * 0.13 * 0.2))
