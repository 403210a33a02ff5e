import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import sections as s
from matref.book.rule_row import RuleValue, least, most
from matref.errors import BadInput


def test_fold_thickness_of_the_worksheet(practice):
    """Brighton worksheet: a squeezed section of 1 to 2 mm. Folded and counted: 2 leaves a sheet."""
    low, high = least(practice.section_squeezed), most(practice.section_squeezed)
    fewest, top = s.sheets_by_fold(80, low, high)
    assert fewest * 2 * 0.08 >= low > (fewest - 1) * 2 * 0.08
    assert top * 2 * 0.08 <= high < (top + 1) * 2 * 0.08


@pytest.mark.parametrize(
    ("rule_id", "paper_um", "expected"),
    [
        ("section.sheets.copier", 100, (4, 5)),
        ("section.sheets.paperback", 100, (5, 6)),
        ("section.sheets.book", 130, (3, 4)),
        ("section.sheets.heavy", 200, (2, 3)),
    ],
)
def test_counts_of_the_indiana_manual(practice, rules, rule_id, paper_um, expected):
    """Indiana University Libraries: copy paper 4-5 sheets, paperback 5-6, average book paper 3-4, bag paper 2-3."""
    found = s.choose(s.Wanted(sections=5), paper_um, practice, sheets_rule=rules[rule_id])
    assert expected[0] <= found.sheets_per_section <= expected[1]
    assert rule_id in found.reasons[0]


def test_usual_section_is_four_sheets(practice):
    assert s.choose(s.Wanted(sections=5), 130, practice).sheets_per_section == 4


def test_handbook_limit(practice):
    """R&E, 'section': at most 0.055 in, bulky paper 0.065 in. Laid up and measured."""
    for surface, limit in (("mixed", 0.055), ("soft", 0.065)):
        found = s.choose(s.Wanted(sections=5), 200, practice, surface=surface)
        assert found.sheets_per_section * 2 * 0.2 <= limit * 25.4
        assert (found.sheets_per_section + 1) * 2 * 0.2 > limit * 25.4 or found.sheets_per_section == 4
    assert s.choose(s.Wanted(sections=5), 900, practice).sheets_per_section == 1


def test_machine_limit_counts_every_layer(practice):
    layers, limit, leaf = [0.3, 0.2, 0.4], 1.3, 0.1
    most_sheets = s.machine_sheets(1000 * leaf, sum(layers), limit)
    assert sum(layers) + most_sheets * leaf <= limit < sum(layers) + (most_sheets + 1) * leaf + 1e-12
    found = s.choose(s.Wanted(sections=5, most_sheets=3), 100, practice)
    assert found.sheets_per_section == 3
    assert "go through the machine" in found.reasons[-1]
    with pytest.raises(BadInput, match="cover alone"):
        s.choose(s.Wanted(sections=5, most_sheets=0), 100, practice)
    assert s.machine_sheets(100, 3, 2) == 0


def test_odd_count_where_a_centre_line_is_wanted(practice):
    asked = {"sheets_per_section": 4, "odd": True}
    assert s.choose(s.Wanted(pages=80, **asked), 100, practice).sections == 5
    more = s.choose(s.Wanted(pages=96, **asked), 100, practice)
    assert more.sections == 7
    assert more.warnings == ("96 pages asked, 112 given: 7 sections of 16 pages",)
    even = s.choose(s.Wanted(sections=4, **asked), 100, practice)
    assert even.sections == 4
    assert "3 or 5 would" in even.warnings[0]
    assert "3 or 3 would" in s.choose(s.Wanted(sections=2, **asked), 100, practice).warnings[0]
    assert s.choose(s.Wanted(pages=96, sheets_per_section=4), 100, practice).sections == 6


@settings(max_examples=60, deadline=None)
@given(st.integers(12, 400), st.booleans(), st.floats(60, 200))
def test_pile_is_used_and_the_rest_is_told(practice, pile, odd, leaf_um):
    found = s.choose(s.Wanted(pile_sheets=pile, odd=odd), leaf_um, practice)
    assert found.sheets + found.left_over_sheets == pile
    assert found.left_over_sheets >= 0
    assert found.sections % 2 == 1 or not odd
    assert bool(found.warnings) == (found.left_over_sheets > 0)
    step = 2 if odd else 1
    assert found.left_over_sheets < step * found.sheets_per_section


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 900), st.booleans(), st.floats(60, 200))
def test_pages_are_never_short(practice, pages, odd, leaf_um):
    found = s.choose(s.Wanted(pages=pages, odd=odd), leaf_um, practice)
    assert found.pages == 4 * found.sheets_per_section * found.sections >= pages
    spare = found.pages - pages
    assert spare < 4 * found.sheets_per_section * (2 if odd else 1)
    assert bool(found.warnings) == (spare > 0)


def test_best_count_for_the_pages_or_the_pile(practice, rules):
    rule = rules["section.sheets.copier"]
    assert s.choose(s.Wanted(pages=60), 125, practice, sheets_rule=rule).sheets_per_section == 5
    assert s.choose(s.Wanted(pages=64), 125, practice, sheets_rule=rule).sheets_per_section == 4
    assert s.choose(s.Wanted(pile_sheets=24), 125, practice, sheets_rule=rule).sheets_per_section == 4


def test_pamphlet_in_one_section(practice):
    """Ten sheets by hand (one maker), twelve by machine (Book-Arts-L 2004)."""
    assert s.choose(s.Wanted(pages=30, single=True), 100, practice).sheets == 8
    assert "multiple of 4" in s.choose(s.Wanted(pages=30, single=True), 100, practice).warnings[0]
    thick = s.choose(s.Wanted(pages=44, single=True), 100, practice)
    assert (thick.sections, thick.sheets) == (1, 11)
    assert "stop at" in thick.warnings[0]
    assert s.choose(s.Wanted(pages=44, single=True, most_sheets=15), 100, practice).warnings == ()
    whole = s.choose(s.Wanted(pile_sheets=25, single=True), 100, practice)
    assert (whole.sheets, whole.left_over_sheets) == (10, 15)
    assert s.choose(s.Wanted(pile_sheets=25, single=True, most_sheets=6), 100, practice).sheets == 6
    given_count = s.choose(s.Wanted(sections=1, sheets_per_section=7, single=True), 100, practice)
    assert (given_count.sections, given_count.sheets) == (1, 7)
    with pytest.raises(BadInput, match="one section"):
        s.choose(s.Wanted(sections=3, single=True), 100, practice)


def test_pamphlet_of_asked_sheets_keeps_to_pages_or_pile(practice):
    """Sheets asked and pages that do not fit them contradict each other in one section; the pile leaves a rest."""
    short = s.choose(s.Wanted(pages=40, sheets_per_section=7, single=True), 100, practice)
    assert (short.sheets, "28" in short.warnings[0]) == (7, True)
    rest = s.choose(s.Wanted(pile_sheets=25, sheets_per_section=7, single=True), 100, practice)
    assert (rest.sheets, rest.left_over_sheets) == (7, 18)
    with pytest.raises(BadInput, match="less than the 7 asked"):
        s.choose(s.Wanted(pile_sheets=6, sheets_per_section=7, single=True), 100, practice)


@pytest.mark.parametrize(
    "wanted", [{}, {"sections": 5, "pages": 80}, {"pages": 0}, {"sections": 0}, {"pile_sheets": 0}, {"pile_sheets": 2}]
)
def test_refusals(practice, wanted):
    with pytest.raises(BadInput):
        s.choose(s.Wanted(**wanted), 100, practice)


def test_small_pile_names_what_is_missing(practice):
    with pytest.raises(BadInput, match="less than one section"):
        s.choose(s.Wanted(pile_sheets=2, sheets_per_section=4), 100, practice)


def test_json(practice):
    found = s.choose(s.Wanted(pages=80, sheets_per_section=4), 100, practice).as_json()
    assert (found["count"], found["sheets"], found["pages"], found["pages_per_section"]) == (5, 20, 80, 16)
    assert found["sheets"] * 4 == found["pages"]


def test_applies_reads_the_rule_table():
    assert s.applies("heavy paper: kraft; drawing; map_chart", "map_chart")
    assert not s.applies("hand sewing, any text paper", "copier")
    assert not s.applies("paperback paper: newsprint", "news")


def test_rule_without_range(practice):
    rule = RuleValue("own", None, 6.0, None, "maker's own")
    assert s.choose(s.Wanted(sections=3), 100, practice, sheets_rule=rule).sheets_per_section == 6
    assert math.isclose(least(rule), 6)
