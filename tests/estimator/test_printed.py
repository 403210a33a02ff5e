"""What is printed: labels and basis weights against pint, reams, and a wrapper that counts once."""

from __future__ import annotations

import math
import sqlite3

import pint
import pytest
from readings import read_of

from matref.catalogue.grades import basis_factors

UNITS = pint.UnitRegistry()


def test_whole_ream(fitted: sqlite3.Connection) -> None:
    # 500 sheets of A4 at 80 g/m² weigh 80 · 0.210 · 0.297 · 500 = 2494.8 g: exact.
    found = read_of(fitted, size="A4", ream_sheets=500, ream_mass="2.495 kg")
    (ream,) = found.observations
    label = read_of(fitted, grammage=80).observations[0]
    assert ream.value == pytest.approx(label.value, abs=1e-3)
    assert ream.u == pytest.approx(label.u, rel=0.01)
    assert found.numbers["label_gsm"] == pytest.approx(80.0, abs=0.01)
    rounded = read_of(fitted, size="A4", ream_sheets=500, ream_mass="2.5 kg").observations[0]
    assert rounded.u > ream.u  # 2.5 kg is known to 100 g only


def test_a_wrapper_counts_once(fitted: sqlite3.Connection) -> None:
    both = read_of(fitted, size="A4", ream_sheets=500, ream_mass="2.5 kg", grammage=80)
    assert len(both.observations) == 1
    assert any("counts once" in note for note in both.notes)


def test_every_basis_weight_against_pint(fitted: sqlite3.Connection) -> None:
    """Pounds of each grade that the catalogue lists by its basic size, through pint's pound and inch."""
    rows = fitted.execute(
        "SELECT name, width_in, height_in, sheets FROM basis_size WHERE width_in > 0 AND sheets > 0 ORDER BY id"
    ).fetchall()
    known, tolerance, checked = basis_factors(fitted), 0.0, 0
    for name, width_in, height_in, sheets in rows:
        area = UNITS.Quantity(width_in * height_in * sheets, "inch**2")
        factor = (UNITS.Quantity(1.0, "pound") / area).to("g/m^2").magnitude
        if not math.isclose(known[name.lower()], factor, rel_tol=1e-3):
            continue  # a name that an earlier, more usual size has
        (label,) = read_of(fitted, grammage=f"50 lb {name}").observations
        tolerance = tolerance or label.value - math.log(50 * known[name.lower()])
        assert label.value == pytest.approx(math.log(50 * factor) + tolerance, rel=1e-4)
        checked += 1
    assert checked >= 8


def test_a_basis_weight_is_rounded_and_a_figure_in_grams_is_not(fitted: sqlite3.Connection) -> None:
    pounds, grams = (read_of(fitted, grammage=text).observations[0] for text in ("20 lb bond", "75.2 g/m2"))
    assert pounds.value == pytest.approx(grams.value, abs=1e-3)
    # One pound of bond is 3.76 g/m² (GNU units), known to half a pound either way: 3.76/√12 (GUM 4.3.7).
    rounding = 3.759730 / math.sqrt(12) / 75.2
    assert pounds.u**2 - grams.u**2 == pytest.approx(rounding**2, rel=5e-3)
