"""The rounded back, checked on arcs laid out point by point."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import rounding
from matref.errors import BadInput


def back(radius, round_deg, steps=20_000):
    """Points of a circular back from one shoulder to the other, rising towards +x."""
    half = math.radians(round_deg) / 2
    angles = [half * (2 * i / steps - 1) for i in range(steps + 1)]
    return [(radius * math.cos(u), radius * math.sin(u)) for u in angles]


def along(points):
    return math.fsum(math.dist(a, b) for a, b in pairwise(points))


@pytest.mark.parametrize("round_deg", [10, 60, 90, 120, 150, 180])
def test_laid_out_on_a_circle(round_deg):
    points = back(17.0, round_deg)
    chord = math.dist(points[0], points[-1])
    rise = max(x for x, _ in points) - points[0][0]
    assert rounding.arc_mm(chord, round_deg) == pytest.approx(along(points), rel=1e-7)
    assert rounding.sagitta_mm(chord, round_deg) == pytest.approx(rise, rel=1e-6)
    assert rounding.radius_mm(chord, round_deg) == pytest.approx(17.0)


def test_a_third_of_a_circle():
    """Zaehnsdorf 1890, ch. XI: the round of the back is about a third of a circle."""
    assert rounding.arc_ratio(120) == pytest.approx(1.2092, abs=5e-5)
    assert rounding.sagitta_mm(1, 120) == pytest.approx(0.2887, abs=5e-5)


@pytest.mark.parametrize(
    ("round_deg", "arc", "rise", "radius"),
    [
        (60, 1.0472, 0.134, 1.000),
        (90, 1.1107, 0.207, 0.707),
        (120, 1.2092, 0.289, 0.577),
        (180, 1.5708, 0.500, 0.500),
    ],
)
def test_own_table(round_deg, arc, rise, radius):
    assert rounding.arc_mm(1, round_deg) == pytest.approx(arc, abs=6e-5)
    assert rounding.sagitta_mm(1, round_deg) == pytest.approx(rise, abs=6e-4)
    assert rounding.radius_mm(1, round_deg) == pytest.approx(radius, abs=6e-4)


@pytest.mark.parametrize(("ratio", "round_deg"), [(0.10, 86), (0.20, 118), (0.25, 130), (0.30, 140), (0.2092, 120)])
def test_fan_model_own_table(ratio, round_deg):
    assert rounding.round_from_swell_deg(ratio) == pytest.approx(round_deg, abs=0.5)


def test_fan_of_sections_laid_out():
    """Sections as wedges, thread thickness at the fold: standing square to the back they fan to the angle."""
    sections, fore_edge, swell_ratio = 40, 20.0, 0.25
    total = math.radians(rounding.round_from_swell_deg(swell_ratio))
    fold = fore_edge * (1 + swell_ratio) / sections
    x = y = 0.0
    for i in range(sections):
        heading = -total / 2 + (i + 0.5) * total / sections
        x, y = x + fold * math.sin(heading), y + fold * math.cos(heading)
    assert math.hypot(x, y) == pytest.approx(fore_edge, rel=2e-4)


def test_general_solver_agrees():
    """scipy's root finder, an independent general library, on the same equation."""
    optimize = pytest.importorskip("scipy.optimize")
    for ratio in (1e-6, 0.01, 0.15, 0.4, 0.57):
        half = optimize.brentq(lambda u, r=ratio: u / math.sin(u) - 1 - r, 1e-9, math.pi / 2, xtol=1e-14)
        assert rounding.round_from_swell_deg(ratio) == pytest.approx(math.degrees(2 * half), rel=1e-6)


def test_flat_back_and_half_circle_are_the_ends():
    assert rounding.round_from_swell_deg(0) == 0
    assert rounding.arc_mm(20, 0) == 20
    assert rounding.sagitta_mm(20, 0) == 0
    assert rounding.round_from_swell_deg(rounding.MOST_RATIO) == pytest.approx(180)
    with pytest.raises(BadInput, match="half circle"):
        rounding.round_from_swell_deg(0.6)
    with pytest.raises(BadInput):
        rounding.radius_mm(20, 0)
    with pytest.raises(BadInput):
        rounding.arc_mm(20, 181)


def test_backed_back_laid_out():
    """Over a shoulder, round the back, over the other shoulder; the shoulders stand square to the chord's ends."""
    points = back(15.0, 110)
    bottom, top = points[0], points[-1]
    outline = [(bottom[0], bottom[1] - 2.5), *points, (top[0], top[1] + 2.5)]
    chord = math.dist(bottom, top)
    assert rounding.backed_arc_mm(rounding.arc_mm(chord, 110), 2.5) == pytest.approx(along(outline), rel=1e-7)


@settings(deadline=None)
@given(st.floats(1, 100), st.floats(0, 175))
def test_more_round_more_arc_more_rise(chord, round_deg):
    arc = rounding.arc_mm(chord, round_deg)
    assert arc >= chord
    assert rounding.arc_mm(chord, round_deg + 5) > arc
    assert rounding.sagitta_mm(chord, round_deg + 5) > rounding.sagitta_mm(chord, round_deg) >= 0
    assert rounding.backed_arc_mm(arc, 3) == pytest.approx(arc + 6)


@settings(deadline=None)
@given(st.floats(1, 180))
def test_angle_and_ratio_are_inverse(round_deg):
    ratio = min(rounding.arc_ratio(round_deg) - 1, rounding.MOST_RATIO)
    assert rounding.round_from_swell_deg(ratio) == pytest.approx(round_deg, abs=1e-6)
