"""Uncertainty and rounding against the worked examples of the GUM and of the Particle Data Group; formats read back."""

import math
import statistics

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.errors import BadInput
from matref.quantities import (
    decimals_for,
    format_length,
    format_number,
    format_range,
    parse_length,
    reading_uncertainty,
    round_to,
)


def test_resolution_of_a_display():
    # GUM F.2.2.1: a display whose last digit is δx contributes 0.29 δx; a scale showing whole grams, 0.29 g.
    assert reading_uncertainty(1) == pytest.approx(0.29, abs=0.005)
    assert reading_uncertainty(1) ** 2 == pytest.approx(1 / 12)


def test_rectangular_half_width():
    # GUM 4.3.7, example 1: copper's expansion within ± 0.40e-6 /°C gives u = 0.23e-6 /°C, u² = 53.3e-15.
    u = reading_uncertainty(2 * 0.40e-6)
    assert u == pytest.approx(0.23e-6, abs=0.005e-6)
    assert u**2 == pytest.approx(53.3e-15, rel=1e-3)


def test_rule_read_at_both_ends():
    # The sum of two independent rectangular errors of width 1 is triangular with half-width 1: u = 1/√6, GUM 4.3.9.
    u = reading_uncertainty(1, ends=2)
    assert u == pytest.approx(1 / math.sqrt(6))
    assert u == pytest.approx(0.41, abs=0.005)
    # A stack of n sheets: 0.004 mm a sheet at n = 100, 0.041 mm at n = 10.
    assert u / 100 == pytest.approx(0.004, abs=0.0005)
    assert u / 10 == pytest.approx(0.041, abs=0.0005)


def test_both_ends_by_exhaustive_rounding():
    # A length laid at every offset along a rule divided in 1: scatter of the readings about the truth.
    steps = 200
    errors = [
        (round(start / steps + length / steps) - round(start / steps)) - length / steps
        for start in range(steps)
        for length in range(5 * steps, 6 * steps)
    ]
    assert statistics.pstdev(errors) == pytest.approx(reading_uncertainty(1, ends=2), rel=0.02)


@pytest.mark.parametrize(("resolution", "ends"), [(-1, 1), (math.nan, 1), (math.inf, 1), (1, 0)])
def test_senseless_readings(resolution, ends):
    with pytest.raises(BadInput, match="a resolution of 0 or more"):
        reading_uncertainty(resolution, ends)


@pytest.mark.parametrize(
    ("value", "u", "rounded"),
    [
        (10.05762, 0.027, 10.058),  # GUM 7.2.6
        (100.021474, 0.00035, 100.02147),  # GUM 7.2.2: 100.021 47 g with 0.35 mg
        (50.0008381, 0.000032, 50.000838),  # GUM H.1.7: 50.000 838 mm with 32 nm
        (0.827, 0.119, 0.83),  # Review of Particle Physics, introduction: 0.827 ± 0.119 is 0.83 ± 0.12
        (0.827, 0.367, 0.8),  # and 0.827 ± 0.367 is 0.8 ± 0.4
        (12.2135, 0.03215, 12.214),  # pdground's own two examples of the same rule
        (12.2135, 0.06515, 12.21),
        (1454, 65, 1450),
        (5, 0, 5),
        (5.1, 1e-300, 5.1),
        (9.45, 0.4, 9.5),
        (-9.45, 0.4, -9.5),
        (0.1, 0.00960, 0.1),
        (0.123456, 0.0098, 0.123),  # 0.0098 is 0.010: third decimal
    ],
)
def test_rounding_to_what_the_uncertainty_supports(value, u, rounded):
    assert round_to(value, u) == rounded


@given(u=st.floats(1e-9, 1e9))
def test_uncertainty_keeps_one_or_two_digits(u):
    shown = round(u / 10.0 ** -decimals_for(u))
    assert 4 <= shown <= 35


@pytest.mark.parametrize("u", [0, -1, math.nan, math.inf])
def test_senseless_uncertainty(u):
    with pytest.raises(BadInput, match="expected a number above 0"):
        decimals_for(u)


@pytest.mark.parametrize(
    ("value", "low", "high", "unit", "shown"),
    [
        (104.2, 98.1, 111.3, "um", "104 µm (98 to 111)"),
        (9.06, 8.55, 9.45, "mil", "9.1 mil (8.6 to 9.5)"),
        (75.19, 72.31, 78.23, "g/m2", "75.2 g/m² (72.3 to 78.2)"),
        (75.19, 71.2, 79.4, "g/m2", "75 g/m² (71 to 79)"),
        (1.30, 1.214, 1.391, "cm3/g", "1.30 cm³/g (1.21 to 1.39)"),
        (1454, 1390, 1520, "pages/in", "1450 pages/in (1390 to 1520)"),
        (0.02, -0.4, 0.4, "mm", "0.0 mm (-0.4 to 0.4)"),
        (-0.01, -0.4, 0.4, "mm", "0.0 mm (-0.4 to 0.4)"),
        (0.25, 0.21, 0.29, "1", "0.25 (0.21 to 0.29)"),
        (19.0, 19.0, 19.0, "mm", "19 mm"),
        (0.1 + 0.2, 0.3, 0.1 + 0.2, "mm", "0.3 mm"),
        (0, 0, 0, "mm", "0 mm"),
    ],
)
def test_ranges(value, low, high, unit, shown):
    assert format_range(value, low, high, unit) == shown


def test_range_upside_down():
    with pytest.raises(BadInput, match="the lower end first"):
        format_range(1, 2, 1, "mm")


@settings(deadline=None)
@given(value=st.floats(1e-3, 1e5), below=st.floats(1e-6, 0.5), above=st.floats(1e-6, 0.5))
def test_shown_range_stays_near_the_computed_one(value, below, above):
    low, high = value * (1 - below), value * (1 + above)
    text = format_range(value, low, high, "mm")
    number, _, rest = text.partition(" mm (")
    shown_low, shown_high = map(float, rest.rstrip(")").split(" to "))
    half = (high - low) / 2
    for shown, exact in ((float(number), value), (shown_low, low), (shown_high, high)):
        assert abs(shown - exact) <= 0.15 * half  # half a step, when half the range is 3.55 steps


@given(value=st.floats(1e-9, 1e12))
def test_plain_numbers_read_back(value):
    text = format_number(value)
    assert "e" not in text
    assert float(text) == pytest.approx(value, rel=5.1e-6)


@pytest.mark.parametrize(
    ("mm", "options", "shown"),
    [
        (215.9, {}, "215.9 mm"),
        (210, {}, "210 mm"),
        (0.0, {}, "0 mm"),
        (0.1044, {}, "0.104 mm"),
        (-4.0, {}, "-4 mm"),
        (131.72, {"u_mm": 0.41}, "131.7 mm"),
        (131.72, {"u_mm": 4}, "132 mm"),
        (1317.2, {"u_mm": 41}, "1320 mm"),
        (215.9, {"preference": "in"}, "8 1/2 in"),
        (279.4, {"preference": "in"}, "11 in"),
        (3.175, {"preference": "in"}, "1/8 in"),
        (-3.175, {"preference": "in"}, "-1/8 in"),
        (209.55, {"preference": "in"}, "8 1/4 in"),
        (131.7625, {"preference": "in"}, "5 3/16 in"),
        (25.4 * 17 / 64, {"preference": "in", "finest": 64}, "17/64 in"),
        (25.4 * 15.99, {"preference": "in"}, "16 in"),
        (131.0, {"preference": "in", "u_mm": 2.0}, "5 3/16 in"),  # 2 mm is 0.08 in: sixteenths
        (131.0, {"preference": "in", "u_mm": 20.0}, "5 in"),
        (131.0, {"preference": "in", "finest": 0}, "5.16 in"),
        (131.0, {"preference": "in", "finest": 0, "u_mm": 0.05}, "5.1575 in"),
        (0.0, {"preference": "in"}, "0 in"),
    ],
)
def test_lengths_for_people(mm, options, shown):
    assert format_length(mm, **options) == shown


@pytest.mark.parametrize(
    ("options", "reason"),
    [
        ({"preference": "cm"}, "'cm' as unit"),
        ({"finest": 10}, "fractions of 1/10"),
        ({"u_mm": -1}, "uncertainty of -1 mm"),
    ],
)
def test_senseless_formats(options, reason):
    with pytest.raises(BadInput, match=reason):
        format_length(10, **options)
    with pytest.raises(BadInput, match="finite"):
        format_length(math.nan)


@settings(deadline=None)
@given(mm=st.floats(1e-3, 1e5))
def test_printed_lengths_read_back(mm):
    half_of_the_last_digit = max(0.05, 0) if mm >= 10 else mm * 0.00501
    assert abs(parse_length(format_length(mm)).value - mm) <= half_of_the_last_digit * (1 + 1e-9)
    for finest in (2, 8, 32, 64):
        text = format_length(mm, "in", finest=finest)
        step_mm = 25.4 / finest
        if text != "0 in":
            assert abs(parse_length(text).value - mm) <= step_mm / 2 * (1 + 1e-9)
        assert abs(parse_length(format_length(mm, "in", finest=0)).value - mm) <= max(0.13, 0.00501 * mm)


@settings(deadline=None)
@given(mm=st.floats(100, 1e4), u=st.floats(0.01, 10))
def test_lengths_with_uncertainty_read_back_within_it(mm, u):
    assert abs(parse_length(format_length(mm, u_mm=u)).value - mm) <= 0.15 * u
    assert abs(parse_length(format_length(mm, "in", u_mm=u)).value - mm) <= max(u, 25.4 / 32) / 2 * (1 + 1e-9)
