"""Plans of any size: whatever is typed, the answer is a sound plan or one clear line."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book.leaf_supply import Salvage
from matref.book.plan import plan
from matref.book.stitching import Wish
from matref.book.structures import STRUCTURES
from matref.errors import BadInput
from matref.estimator.distribution import Exact, LogNormal

NAMES = st.sampled_from(sorted(STRUCTURES))
ODD_NUMBERS = st.sampled_from([0, -1, 1e-12, 1e12, math.nan, math.inf, -math.inf, True, "wide"])


def sound(found):
    """What holds for every plan."""
    made, spine, sewn = found.sections, found.spine, found.stitching
    assert made.pages == 4 * made.sheets_per_section * made.sections
    assert spine.fore_edge_mm.low <= spine.fore_edge_mm.value <= spine.fore_edge_mm.high
    assert spine.spine_mm.value >= spine.fore_edge_mm.value
    assert sorted(sewn.order) == sorted(sewn.lines_mm)
    assert list(sewn.lines_mm) == pytest.approx([-line for line in reversed(sewn.lines_mm)])
    assert all(0 <= station <= found.wanted.page_height_mm for station in sewn.stations_mm)
    assert list(sewn.stations_mm) == sorted(sewn.stations_mm)
    assert sewn.thread_length_mm > 0
    assert found.sheet.width_mm > 2 * found.wanted.page_width_mm
    assert found.sheet.height_mm >= found.wanted.page_height_mm
    for part in found.parts:
        assert part.width_mm > 0
        assert part.height_mm > 0
        assert part.moved_by_spine_mm >= 0
        assert sum(mm for _, mm in part.width_chain) == pytest.approx(part.width_mm)
        assert sum(mm for _, mm in part.height_chain) == pytest.approx(part.height_mm)
    for said in found.warnings:
        assert "\n" not in said
        assert "nan" not in said
        assert "{" not in said
    assert len(set(found.warnings)) == len(found.warnings)


def planned_or_told(asked):
    try:
        found = plan(asked)
    except BadInput as wrong:
        return str(wrong)
    sound(found)
    return "sound"


@settings(max_examples=60, deadline=None)
@given(
    name=NAMES,
    width=st.floats(20, 400),
    height=st.floats(20, 500),
    leaf=st.floats(25, 600),
    size=st.one_of(
        st.tuples(st.just("sections"), st.integers(1, 40)),
        st.tuples(st.just("pages"), st.integers(1, 900)),
        st.tuples(st.just("whole_pile"), st.just(True)),
    ),
    sheets=st.one_of(st.none(), st.integers(1, 14)),
    grain=st.sampled_from(["long", "short", "unknown"]),
    leaves=st.integers(1, 300),
    surface=st.sampled_from(["soft", "hard", "mixed"]),
    by_machine=st.booleans(),
)
def test_any_book(chandler, name, width, height, leaf, size, sheets, grain, leaves, surface, by_machine):
    by = "machine" if by_machine and "machine" in STRUCTURES[name].by else "hand"
    told = planned_or_told(
        chandler(
            name,
            by=by,
            page_width_mm=width,
            page_height_mm=height,
            sheets_per_section=sheets,
            paper_known={
                "caliper_um": LogNormal(math.log(leaf), 0.05),
                "pile": Salvage(620, 450, grain, 4, leaves),
                "surface": surface,
            },
            **{size[0]: size[1]},
        )
    )
    assert "\n" not in told
    assert len(told) < 400


@pytest.mark.parametrize("field", ["page_width_mm", "page_height_mm", "sections", "pages", "sheets_per_section"])
@settings(max_examples=9, deadline=None)
@given(value=ODD_NUMBERS)
def test_odd_numbers_are_told(chandler, field, value):
    with pytest.raises(BadInput) as told:
        plan(chandler("flat-back-case", **{field: value}))
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("wish", [{"end_mm": 75.0}, {"end_mm": -1.0}, {"stations": 1}, {"kind": "three-on"}])
def test_impossible_wishes_are_told(chandler, wish):
    for name in ("flat-back-case", "long-stitch"):
        if name == "flat-back-case" and wish == {"stations": 1}:
            continue  # one tape is possible
        with pytest.raises(BadInput):
            plan(chandler(name, sewing={"wish": Wish(**wish)}))


@settings(max_examples=15, deadline=None)
@given(st.floats(60, 160), st.integers(3, 9), st.floats(1.0, 1.3))
def test_thicker_paper_never_makes_a_thinner_book(chandler, leaf, sections, times):
    def book(caliper):
        asked = chandler("flat-back-case", sections=sections, sheets_per_section=4)
        return plan(replace(asked, paper=replace(asked.paper, caliper_um=Exact(caliper))))

    thin, thick = book(leaf), book(leaf * times)
    assert thick.spine.spine_mm.value >= thin.spine.spine_mm.value - 1e-9
    assert thick.spine.swell_ratio.value <= thin.spine.swell_ratio.value + 1e-9
    wider = {part.name: part.width_mm for part in thick.parts}
    for before in thin.parts:
        assert wider[before.name] >= before.width_mm - 1e-9


@settings(max_examples=15, deadline=None)
@given(NAMES, st.floats(0.5, 0.98), st.floats(0.005, 0.019))
def test_surer_intervals_are_wider(chandler, name, level, more):
    narrow, wide = (plan(replace(chandler(name), level=one)) for one in (level, level + more))
    assert wide.spine.spine_mm.low <= narrow.spine.spine_mm.low
    assert wide.spine.spine_mm.high >= narrow.spine.spine_mm.high
