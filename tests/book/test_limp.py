"""Limp covers: the wrap's middle line is laid out point by point round the block and measured."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import limp, rounding

INCH = 25.4


def along(points):
    return math.fsum(math.dist(a, b) for a, b in pairwise(points))


def bend(centre, radius, start_deg, end_deg, steps=4000):
    angles = (math.radians(start_deg + (end_deg - start_deg) * i / steps) for i in range(steps + 1))
    return [(centre[0] + radius * math.cos(u), centre[1] + radius * math.sin(u)) for u in angles]


def wrap(page, thickness, round_deg, cover):
    """Middle of a cover `cover` thick round a block: fore-edge, shoulder bend, back, shoulder bend, fore-edge.

    Block faces at y = ± thickness/2, leaves running to x = page, the back bulging to minus x on an arc of
    round_deg (0: flat). At each shoulder the cover bends sharply by what the arc leaves of the right angle.
    """
    top, r = thickness / 2, cover / 2
    first = bend((0, top), r, 90, 180 - round_deg / 2)
    if round_deg:
        radius = thickness / 2 / math.sin(math.radians(round_deg) / 2)
        centre = (radius * math.cos(math.radians(round_deg) / 2), 0)
        back = bend(centre, radius + r, 180 - round_deg / 2, 180 + round_deg / 2)
    else:
        back = [(-r, top), (-r, -top)]
    last = bend((0, -top), r, 180 + round_deg / 2, 270)
    for end, start in ((first[-1], back[0]), (back[-1], last[0])):
        assert math.dist(end, start) < 1e-9, "the drawing must hang together"
    return [(page, top + r), *first, *back, *last, (page, -top - r)]


@pytest.mark.parametrize("round_deg", [0, 30, 60, 90, 120, 180])
@pytest.mark.parametrize("cover", [0.2, 0.6, 1.5])
def test_wrap_measured(round_deg, cover):
    """Square, rounded and half-round backs alike: the outline and (π/2)·c, because the whole turn is half a circle."""
    page, thickness = 100, 9.0
    spine = rounding.arc_mm(thickness, round_deg)
    size = limp.limp_cover_size_mm(page, 150, spine, cover)
    assert size.width_mm == pytest.approx(along(wrap(page, thickness, round_deg, cover)), abs=1e-5)


def test_a5_slip_on_cover():
    """A5 slip-on cloth cover (Fluffy Sheep Quilting): 8 1/4 high, wrap 11 3/4: cut 9 1/4 x 13 in.

    Seams 1/4 in; what is left of the 1 and 1 1/4 in added is ease.
    """
    size = limp.slip_on_cover_size_mm(8.25 * INCH, 11.75 * INCH, INCH / 4, INCH / 2, 3 * INCH / 4)
    assert (size.height_mm / INCH, size.width_mm / INCH) == pytest.approx((9.25, 13))


def test_slip_on_cover_with_flaps():
    """kakprosto.ru: height + 2 cm + 0.5 cm; two pages, spine, two flaps + 0.7 cm + 2 cm."""
    page, spine, flap, height = 148, 15, 60, 210
    size = limp.slip_on_cover_size_mm(height, 2 * page + spine, 10, 5, 7, flap)
    assert size == pytest.approx((2 * page + spine + 2 * flap + 27, height + 25))


@settings(deadline=None)
@given(
    st.floats(40, 300), st.floats(40, 400), st.floats(0.5, 60), st.floats(0.05, 3), st.floats(0, 10), st.floats(0, 40)
)
def test_cover_reaches_over_the_book_and_grows_with_it(page, height, spine, cover, overhang, turn_in):
    base = limp.limp_cover_size_mm(page, height, spine, cover, overhang, turn_in)
    assert base.width_mm > 2 * page + spine
    assert base.height_mm == pytest.approx(height + 2 * (overhang + turn_in))
    wider = limp.limp_cover_size_mm(page + 1, height, spine, cover, overhang, turn_in)
    assert wider.width_mm - base.width_mm == pytest.approx(2)
    assert wider.height_mm == base.height_mm
    assert limp.limp_cover_size_mm(page, height, spine + 1, cover, overhang, turn_in).width_mm > base.width_mm
    assert limp.limp_cover_size_mm(page, height, spine, cover + 0.1, overhang, turn_in).width_mm > base.width_mm
