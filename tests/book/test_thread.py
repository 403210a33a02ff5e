import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import swell, thread
from matref.errors import BadInput
from matref.estimator.distribution import Exact

LEA_TEX = 453.59237 / (300 * 0.9144) * 1000  # one pound in 300 yards, g/km; by definition of the linen lea
PEIRCE_DENSITY = 1000 / 1.1  # yarn specific volume 1.1 cm³/g


@pytest.mark.parametrize(("number", "yards_per_pound"), [(16, 4800), (50, 15_000)])
def test_linen_numbers(number, yards_per_pound):
    """R&E 1982, 'sewing thread': number 16 runs 4,800 yards to the pound, number 50 runs 15,000."""
    tex = thread.tex_from_indirect_count(number, LEA_TEX)
    kilometres = yards_per_pound * 0.9144 / 1000
    assert tex * kilometres == pytest.approx(453.59237)


def test_lea_factor_in_general_reference_libraries():
    """pint and GNU units: tex = 1653.5155 / lea, 590.5412 / Ne, 1000 / Nm."""
    assert pytest.approx(1653.5155, abs=1e-3) == LEA_TEX
    pint = pytest.importorskip("pint")
    units = pint.UnitRegistry()
    assert units.Quantity(1, "tex").to("dtex").magnitude == pytest.approx(10)
    assert thread.tex_from_direct_count(10, 0.1) == pytest.approx(1)
    assert thread.tex_from_direct_count(1, units.Quantity(1, "denier").to("tex").magnitude) == pytest.approx(1 / 9)


def test_peirce_cotton():
    """Peirce 1937, d = 0.0374 √tex mm for cotton (from memory)."""
    assert thread.diameter_mm(100, PEIRCE_DENSITY) == pytest.approx(0.374, abs=0.0005)


@pytest.mark.parametrize(
    ("number", "plies", "diameter"),
    [(18, 3, 0.62), (25, 3, 0.53), (30, 3, 0.48), (40, 3, 0.42), (60, 3, 0.34)],
)
def test_table_of_linen_diameters(number, plies, diameter):
    """Own table, yarn density 900 kg/m³."""
    tex = thread.tex_from_indirect_count(number, LEA_TEX, plies)
    assert thread.diameter_mm(tex, 900) == pytest.approx(diameter, abs=0.006)


def test_two_plies_of_three_are_not_two_thirds_of_the_diameter():
    """The mass is 2/3, the diameter √(2/3) = 0.816; a supplier's page that says 2/3 is wrong."""
    two, three = (thread.diameter_mm(thread.tex_from_indirect_count(18, LEA_TEX, p), 900) for p in (2, 3))
    assert two / three == pytest.approx(0.816, abs=0.001)


def test_jones_pencil_test():
    """Jones, long stitch: thread about 1 mm loose winds to 0.5 mm; 19 sections swell 9.5 mm."""
    wound = thread.wound_mm(10, 20)
    assert wound == 0.5
    assert swell.swell_mm(19, 1.0, wound / 1.0) == pytest.approx(9.5)


@settings(deadline=None)
@given(st.floats(1, 2000), st.floats(200, 1600))
def test_a_thread_weighs_what_it_should(tex, density):
    radius_m = thread.diameter_mm(tex, density) / 2000
    assert math.pi * radius_m**2 * 1000 * density == pytest.approx(tex / 1000)  # kg in a kilometre


@settings(deadline=None)
@given(st.floats(0.05, 3), st.floats(0.8, 5))
def test_pinching_keeps_the_area(diameter, widening):
    width = widening * diameter
    height = thread.pinched_mm(diameter, width)
    assert height * width == pytest.approx(math.pi * diameter**2 / 4)
    assert 0 < height <= diameter


def test_pinching_cannot_thicken():
    with pytest.raises(BadInput, match="thicker") as refused:
        thread.pinched_mm(2, 1)
    assert refused.value.expected == "a flattened width of 1.571 mm or more"
    assert thread.pinched_mm(2, float(refused.value.example)) == pytest.approx(math.pi / 3)


@settings(deadline=None)
@given(st.floats(1, 100), st.floats(100, 2000), st.integers(1, 6))
def test_indirect_and_direct_counts_turn_opposite_ways(number, factor, plies):
    assert thread.tex_from_indirect_count(number + 1, factor) < thread.tex_from_indirect_count(number, factor)
    assert thread.tex_from_direct_count(number + 1, factor) > thread.tex_from_direct_count(number, factor)
    assert thread.tex_from_indirect_count(number, factor, plies) == pytest.approx(
        plies * thread.tex_from_indirect_count(number, factor)
    )
    strands = [thread.tex_from_direct_count(number, factor)] * plies
    assert thread.tex_from_direct_count(number, factor, plies) == pytest.approx(sum(strands))


@pytest.mark.parametrize("tex", [20.0, 110.2, 275.6])
def test_thread_of_cotton_density_follows_peirce(tex):
    """Peirce 1937: cotton of specific volume 1.1 cm³/g has a diameter of 0.0374 √tex mm (from memory)."""
    found = thread.thread_from_tex(tex, 1 / 1.1, 1 / 1.1, 1 / 1.1)
    assert found == Exact(pytest.approx(0.0374 * math.sqrt(tex), rel=0.002))


def test_densest_yarn_is_thinnest():
    found = thread.thread_from_tex(100, 0.5, 0.7, 0.9)
    assert found.quantile(0.0) == pytest.approx(math.sqrt(4 * 100e-6 / (math.pi * 900)) * 1000)
    assert found.quantile(1.0) == pytest.approx(math.sqrt(4 * 100e-6 / (math.pi * 500)) * 1000)
    with pytest.raises(BadInput, match="order"):
        thread.thread_from_tex(100, 0.9, 0.7, 0.5)


@pytest.mark.parametrize("place", range(4))
@pytest.mark.parametrize("nonsense", [-1, 0, math.nan, math.inf, True, "many", None])
def test_a_thread_of_nonsense_is_refused(place, nonsense):
    numbers = [100, 0.5, 0.7, 0.9]
    numbers[place] = nonsense
    with pytest.raises(BadInput, match=r"tex|density"):
        thread.thread_from_tex(*numbers)
