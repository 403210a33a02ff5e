import re

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from matref.book.leaf_supply import Salvage, sheet_to_cut, supply
from matref.errors import BadInput


def cut(pile, width, height, **more):
    sheet = sheet_to_cut(width, height, 4, 100, 2, **more)
    return supply(pile, sheet, width, height)


def laid_out(long, short, width, height):
    """Count by laying rectangles on a grid of mm, spine along the long side."""
    count, y = 0, 0.0
    while y + height <= long + 1e-9:
        x = 0.0
        while x + width <= short + 1e-9:
            count, x = count + 1, x + width
        y += height
    return count


@settings(max_examples=60, deadline=None)
@given(st.floats(200, 800), st.floats(150, 600), st.floats(40, 150), st.floats(40, 200))
def test_yield_by_laying_out(a, b, width, height):
    long, short = max(a, b), min(a, b)
    sheet = sheet_to_cut(width, height, 4, 100, 2)
    by_long = laid_out(long, short, sheet.width_mm, sheet.height_mm)
    by_short = laid_out(short, long, sheet.width_mm, sheet.height_mm)
    assume(by_long or by_short)
    found = supply(Salvage(long, short, "unknown", leaves=7), sheet, width, height)
    assert found.per_leaf == max(by_long, by_short)
    assert found.available == 7 * found.per_leaf
    assert {found.per_leaf, found.other_way} == {by_long, by_short}


def test_grain_along_the_spine_is_preferred_and_told():
    along = cut(Salvage(297, 210, "short"), 95, 140)
    assert along.turn.grain_along_spine is True
    assert along.per_leaf == 1
    assert "2 sheets instead of 1" in along.warnings[0]
    across = cut(Salvage(297, 210, "short"), 90, 250)
    assert across.turn.grain_along_spine is False
    assert "grain runs across the spine" in across.warnings[0]
    nearest = re.search(r"a page of (\d+) x (\d+) mm", across.warnings[0])
    again = cut(Salvage(297, 210, "short"), float(nearest[1]), float(nearest[2]))
    assert again.turn.grain_along_spine is True
    assert "bend a leaf" in cut(Salvage(297, 210), 95, 140).warnings[0]
    assert cut(Salvage(297, 210, "long"), 95, 140).warnings == ()


@pytest.mark.parametrize(("width", "height"), [(160, 200), (120, 400), (400, 400)])
def test_page_wider_than_the_leaf_is_refused_with_one_that_fits(width, height):
    pile = Salvage(297, 210, "long", 5)
    with pytest.raises(BadInput, match="does not give") as refused:
        cut(pile, width, height)
    pages = re.findall(r"(\d+) x (\d+) mm", refused.value.expected)
    assert len(pages) == 2
    for wide, high in pages:
        assert cut(pile, float(wide), float(high)).per_leaf >= 1


def test_head_and_tail_trim_adds_to_the_sheet():
    assert sheet_to_cut(95, 140, 4, 100, 2, head_tail_mm=3).height_mm == 146
    with pytest.raises(BadInput):
        sheet_to_cut(95, 140, 4, 100, 2, head_tail_mm=-1)


def test_json_counts_leaves():
    found = cut(Salvage(420, 297, "long", leaves=30), 100, 140)
    plain = found.as_json(25)
    assert plain["sheets_per_leaf"] == plain["columns"] * plain["rows"]
    assert (plain["leaves_needed"] - 1) * plain["sheets_per_leaf"] < 25
    assert plain["leaves_needed"] * plain["sheets_per_leaf"] >= 25
    assert 0 <= plain["waste_share"] < 1
