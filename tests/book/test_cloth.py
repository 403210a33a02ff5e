import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import cloth
from matref.errors import BadInput

LENGTH, SHARE = st.floats(10, 3000), st.floats(0, 0.3)


def test_wash_test():
    """Fabric shrinkage test (wash test, read): to finish 360 mm after 10 % cut 400 mm; 8.3 to 10.2 % measured."""
    assert cloth.cut_for_shrinkage_mm(360, 0.10) == pytest.approx(400)
    low, high = cloth.cut_for_shrinkage_mm(360, 0.083), cloth.cut_for_shrinkage_mm(360, 0.102)
    assert low < 400 < high


def test_adding_the_percentage_is_not_enough():
    assert 360 * 1.10 * 0.90 < 360
    assert cloth.cut_for_shrinkage_mm(360, 0.10) * 0.90 == pytest.approx(360)


@pytest.mark.parametrize(("expansion", "low", "high"), [((0.002, 0.004), 0.4, 0.8), ((0.001, 0.002), 0.2, 0.4)])
def test_bond_paper_movement(expansion, low, high):
    """Own example on published expansions: 210 mm of bond moves 0.4-0.8 mm across the grain, half that along it."""
    moved = [cloth.moisture_movement_mm(210, a, 38, 38) for a in expansion]
    assert moved == pytest.approx([low, high], abs=0.05)


@pytest.mark.parametrize("change", [-101, 150])
def test_humidity_has_limits(change):
    with pytest.raises(BadInput):
        cloth.moisture_movement_mm(210, 0.003, change, 38)


def test_interfacing_that_vanishes_is_refused():
    with pytest.raises(BadInput, match="meet"):
        cloth.interfacing_size_mm(5, 156, 3)
    with pytest.raises(BadInput, match="below 1"):
        cloth.cut_for_shrinkage_mm(100, 1)


@settings(deadline=None)
@given(LENGTH, LENGTH, SHARE, SHARE)
def test_shrinking_the_cut_gives_the_finished_size(width, height, across, along):
    cut = cloth.cut_size_mm(width, height, across, along)
    assert cut.width_mm - across * cut.width_mm == pytest.approx(width)
    assert cut.height_mm - along * cut.height_mm == pytest.approx(height)
    assert cut.width_mm >= width
    assert cloth.cut_size_mm(width, height, across + 0.1, along).width_mm > cut.width_mm
    assert cloth.cut_size_mm(width + 1, height, across, along).width_mm > cut.width_mm


@settings(deadline=None)
@given(LENGTH, st.floats(0, 0.03), st.floats(-50, 50), st.floats(5, 60))
def test_movement_turns_with_the_air_and_scales(length, expansion, change, test):
    moved = cloth.moisture_movement_mm(length, expansion, change, test)
    assert cloth.moisture_movement_mm(length, expansion, -change, test) == pytest.approx(-moved)
    assert cloth.moisture_movement_mm(2 * length, expansion, change, test) == pytest.approx(2 * moved)
    assert cloth.moisture_movement_mm(length, expansion, test, test) == pytest.approx(length * expansion)


@settings(deadline=None)
@given(LENGTH, LENGTH, st.floats(0, 4))
def test_interfacing_lies_inside_with_the_same_margin_all_round(width, height, clearance):
    size = cloth.interfacing_size_mm(width, height, clearance)
    margins = ((width - size.width_mm) / 2, (height - size.height_mm) / 2)
    assert margins == pytest.approx((clearance, clearance), abs=1e-9)
