"""What the rows of finished books say to the pooling, and that it comes to what the formulas say."""

from __future__ import annotations

import math

import pytest

from matref.api import Workshop
from matref.finished import FinishedBooks, learning, pressing_posterior
from matref.finished.partial_pooling import moments
from matref.materials import thread


def test_what_a_book_tells(shop: Workshop) -> None:
    """S = N·m·φ·d and T = leaves·k·caliper turned round, with both readings' doubt (GUM 5.1.2)."""
    FinishedBooks(shop.connection).add(
        sheets_per_section=4,
        sections=8,
        thread="30/3 linen",
        sewing="two-on",
        caliper_um="100 µm",
        fore_edge_mm="6.10 mm",
        spine_mm="7.30 mm",
        endpaper_leaves=2,
        measured_with="vernier",
    )
    (pressing,) = learning._pressings(shop.connection)
    (flattening,) = learning._flattenings(shop.connection)
    u = 0.05 * math.sqrt(2 / 12)
    assert pressing.kinds == ()
    assert pressing.value == pytest.approx(6.1 / (66 * 0.1))
    assert pressing.u == pytest.approx(u / (66 * 0.1))
    assert pressing.batch_u == pytest.approx(0.01 / math.sqrt(12), rel=1e-3)  # "100 µm": half a micrometre either way
    diameter, doubt = moments(thread(shop.connection, "30/3 linen").diameter_mm)
    assert flattening.kinds == ("mixed", "linen")
    assert flattening.value == pytest.approx((7.3 - 6.1) / (8 * 0.5 * diameter))
    assert flattening.u == pytest.approx(math.hypot(u, u) / (8 * 0.5 * diameter))
    assert flattening.batch_u == pytest.approx(doubt / diameter)


def test_a_finely_measured_book_fixes_pressing_near_its_own(shop: Workshop) -> None:
    for _ in range(5):
        FinishedBooks(shop.connection).add(
            sheets_per_section=8,
            sections=20,
            thread="0.5 mm",
            caliper_um="100.0 µm",
            fore_edge_mm=0.93 * 32,
            measured_with="vernier",
        )
    known = pressing_posterior(shop.connection)
    assert known.quantile(0.5) == pytest.approx(0.93, abs=0.003)
    assert 0.9 < known.quantile(0.05) < 0.93 < known.quantile(0.95) < 0.97
