"""What was measured: each reading's uncertainty after the GUM, weighings against pint, instruments in order."""

from __future__ import annotations

import math
import sqlite3

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from readings import read_of

from matref.quantities import reading_uncertainty

UNITS = pint.UnitRegistry()


def test_a_reading_has_its_gum_uncertainty(fitted: sqlite3.Connection) -> None:
    # GUM 4.3.7 and F.2.2.1: d/√12 at each end; scale: the reading and the zero.
    weighing = read_of(fitted, size="A4", sheets=20, mass="98 g").observations[0]
    side = (math.sqrt(2 / 12) / 210) ** 2 + (math.sqrt(2 / 12) / 297) ** 2
    assert weighing.u == pytest.approx(math.sqrt((math.sqrt(2 / 12) / 98) ** 2 + side), rel=1e-3)
    gauge = read_of(fitted, stack_sheets=1, stack="0.104 mm", with_="micrometer").observations[0]
    assert gauge.u == pytest.approx(0.01 / math.sqrt(12) / 0.104, rel=1e-3)
    clamped = read_of(fitted, stack_sheets=100, stack="10.4 mm", held="clamped").observations[0]
    reading = math.sqrt(2 / 12) / 10.4
    held = (math.log(1.04) - math.log(0.97)) / math.sqrt(12)  # the rule row's range, taken flat
    assert clamped.u == pytest.approx(math.hypot(reading, held), rel=1e-2)


def test_a_coarser_reading_is_less_certain(fitted: sqlite3.Connection) -> None:
    fine = read_of(fitted, stack_sheets=100, stack="10 mm").observations[0].u
    coarse = read_of(fitted, stack_sheets=100, stack="3/8 in").observations[0].u
    finer = read_of(fitted, stack_sheets=100, stack="10.00 mm", with_="vernier").observations[0].u
    assert finer < fine < coarse


def test_how_a_stack_is_held_matters(fitted: sqlite3.Connection) -> None:
    by_hand, clamped, gauged = (
        read_of(fitted, stack_sheets=100, stack="10.40 mm", with_="vernier", held=held).observations[0]
        for held in ("hand", "clamped", "gauge")
    )
    # The same reading means thinner sheets the looser the stack was.
    assert by_hand.value < clamped.value < gauged.value
    assert clamped.u < by_hand.u


@settings(max_examples=40, deadline=None)
@given(
    ounces=st.decimals("0.5", "40", places=2),
    sheets=st.integers(5, 60),
    width=st.decimals("5", "17", places=1),
    height=st.decimals("5", "22", places=1),
)
def test_a_weighing_in_ounces_and_inches_against_pint(
    fitted: sqlite3.Connection, ounces: float, sheets: int, width: float, height: float
) -> None:
    gsm = (UNITS.Quantity(float(ounces), "ounce") / sheets / UNITS.Quantity(float(width * height), "inch**2")).to(
        "g/m^2"
    )
    if not 3.01 < gsm.magnitude < 2999:
        return
    found = read_of(fitted, size=f"{width} x {height} in", sheets=sheets, mass=f"{ounces} oz")
    (weighing,) = found.observations
    assert math.exp(weighing.value) == pytest.approx(gsm.magnitude, rel=1e-9)
    assert found.numbers["mass_g"] == pytest.approx(UNITS.Quantity(float(ounces), "ounce").to("g").magnitude)


def test_the_weighings_doubt_is_the_gums_product_rule(fitted: sqlite3.Connection) -> None:
    """GUM 5.1.2, equation (10): sensitivity coefficients by differences, against the weighing's own uncertainty."""
    mass, sheets, width, height = 498.6, 100, 210.0, 297.0
    (found,) = read_of(fitted, size="210.0 x 297.0 mm", sheets=sheets, mass="498.6 g").observations

    def gsm(mass_g: float, width_mm: float, height_mm: float) -> float:
        return mass_g / (sheets * width_mm * height_mm) * 1e6

    step, u_side = 1e-4, reading_uncertainty(1, ends=2)  # the ruler of the rule table shows millimetres
    terms = [
        (gsm(mass + step, width, height) - gsm(mass - step, width, height)) * reading_uncertainty(0.1, ends=2),
        (gsm(mass, width + step, height) - gsm(mass, width - step, height)) * u_side,
        (gsm(mass, width, height + step) - gsm(mass, width, height - step)) * u_side,
    ]
    by_differences = math.hypot(*(term / (2 * step) for term in terms))
    assert found.u == pytest.approx(by_differences / gsm(mass, width, height), rel=1e-4)


def test_one_sheet_is_what_the_caliper_means(fitted: sqlite3.Connection) -> None:
    """A single sheet has no looseness, however it is held (ISO 534 and TAPPI T 411 define the caliper by it)."""
    for held in ("hand", "clamped", "gauge"):
        (found,) = read_of(fitted, stack_sheets=1, stack="0.10 mm", with_="micrometer", held=held).observations
        assert found.value == pytest.approx(math.log(100))
        assert "how firmly the stack was held" not in found.shares


def test_shares_make_up_the_whole_doubt(fitted: sqlite3.Connection) -> None:
    found = read_of(
        fitted, grammage="20 lb bond", size="A4", sheets=20, mass="98 g", stack_sheets=100, stack="10.5 mm",
        book_pages=240, book_thickness="14 mm", book_mass="310 g",
    ).observations  # fmt: skip
    assert [o.about for o in found] == ["label", "weighing", "stack", "book", "book"]
    for one in found:
        assert math.fsum(one.shares.values()) == pytest.approx(one.u**2)


def test_a_book_without_its_cover_is_surer_than_with_it(fitted: sqlite3.Connection) -> None:
    bare, covered = (
        read_of(fitted, book_pages=200, size="A5", book_mass="310 g", cover=cover).observations[0]
        for cover in ("off", "on")
    )
    # Exact without the cover: 310 g over 100 leaves of A5 (ISO 216: 148 × 210 mm).
    assert math.exp(bare.value) == pytest.approx(310 / (100 * 0.148 * 0.210))
    assert covered.value < bare.value
    assert covered.u > bare.u
