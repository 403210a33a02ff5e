"""Repeated readings of one pile: what shrinks and what does not (JCGM 100:2008, 5.2, correlated inputs)."""

from __future__ import annotations

import math
import sqlite3

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.api import Workshop
from matref.estimator.assumptions import Rules
from matref.estimator.evidence import Evidence, read
from matref.estimator.observation import Observation
from matref.samples.draft import derived
from matref.samples.pile import COMMON, pooled

EVERY_KIND = (
    Evidence(grammage="80", size="A4", sheets=20, mass="98 g", stack_sheets=100, stack="11 mm"),
    Evidence(stack_sheets=1, stack="0.1 mm", with_="micrometer"),
    Evidence(book_pages=240, book_thickness="14 mm", book_mass="310 g", size="A5"),
    Evidence(ream_sheets=500, ream_mass="2.5 kg", size="A4"),
)


def observations_of(connection: sqlite3.Connection) -> list[Observation]:
    rules = Rules(connection)
    return [o for evidence in EVERY_KIND for o in read(evidence, connection, rules).observations]


def test_the_names_of_common_doubts_are_those_the_evidence_uses(shop: Workshop) -> None:
    """Were one renamed, repeated readings would shrink what they have in common."""
    used = {name for o in observations_of(shop.connection) for name in o.shares}
    assert used >= COMMON
    reading = {"the scale", "the size of the sheet", "the size of the page", "rounding of the label"}
    assert all(name in COMMON | reading or name.startswith("reading the") for name in used)


def test_readings_of_different_kinds_come_back_as_they_are(shop: Workshop) -> None:
    known = observations_of(shop.connection)[:3]
    assert pooled(known) == tuple(known)
    assert pooled([]) == ()


def stack(value: float, own: float, held: float) -> Observation:
    shares = {"reading the ruler": own**2, "how firmly the stack was held": held**2}
    return Observation("stack", f"{value:.3f}", 0.0, 1.0, value, math.hypot(own, held), shares)


@given(st.lists(st.tuples(st.floats(4, 5), st.floats(0.005, 0.1)), min_size=2, max_size=6), st.floats(0.005, 0.1))
def test_pooling_is_generalised_least_squares(readings: list[tuple[float, float]], held: float) -> None:
    """Against numpy: with covariance own² on the diagonal plus held² everywhere, the mean and variance of GLS."""
    (one,) = pooled([stack(value, own, held) for value, own in readings])
    covariance = np.diag([own**2 for _, own in readings]) + held**2
    weights = np.linalg.solve(covariance, np.ones(len(readings)))
    assert one.value == pytest.approx(weights @ [value for value, _ in readings] / weights.sum(), rel=1e-9)
    assert one.u**2 == pytest.approx(1 / weights.sum(), rel=1e-6)
    assert sum(one.shares.values()) == pytest.approx(one.u**2, rel=1e-6)


def test_another_hold_is_another_kind() -> None:
    assert len(pooled([stack(4.6, 0.04, 0.03), stack(4.6, 0.04, 0.02)])) == 2


def test_labels_repeated_tell_nothing_new(shop: Workshop) -> None:
    rules = Rules(shop.connection)
    (label,) = read(Evidence(grammage="80"), shop.connection, rules).observations
    (ten,) = pooled([label] * 10)
    assert ten.u == pytest.approx(label.u, rel=1e-3)
    assert ten.words.startswith("10 readings: label 80 g/m²")


def test_derived_values_weigh_by_the_inverse_square_of_their_uncertainty() -> None:
    """JCGM 100:2008, H.5 and Bevington & Robinson, ch. 4: the weighted mean, here on the logarithms."""
    coarse = Observation("stack", "", 0.0, 1.0, math.log(110.0), 0.04)
    fine = Observation("gauge", "", 0.0, 1.0, math.log(100.0), 0.02)
    both = derived([coarse, fine])
    assert both is not None
    assert both.value == pytest.approx(110 ** (1 / 5) * 100 ** (4 / 5))
    assert both.u / both.value == pytest.approx(1 / math.sqrt(1 / 0.04**2 + 1 / 0.02**2), rel=1e-3)
