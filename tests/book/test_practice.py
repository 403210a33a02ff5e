import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.book import practice as p
from matref.errors import BadInput
from matref.estimator.distribution import Exact, Uniform


def test_every_field_is_a_row_that_holds_a_number(rules):
    """data/rule.csv itself: a field of Practice without its row, or a row without a number, is a defect."""
    for name, rule_id in p.Practice.rule_ids().items():
        assert rule_id in rules, name
        assert p.least(rules[rule_id]) <= p.number(rules[rule_id]) <= p.most(rules[rule_id])
        assert rules[rule_id].source_id


def test_fields_hold_their_own_rows(practice, rules):
    assert practice.square == rules["square.common"]
    assert practice.swell_ratio_accepted.value == 0.3
    assert {getattr(practice, name).rule_id for name in p.Practice.rule_ids()} == set(p.Practice.rule_ids().values())


def test_watched_practice_remembers_what_was_asked(practice):
    watched = practice.watched()
    assert watched.seen == {}
    watched.flattening_of()
    assert p.number(watched.square) == p.number(practice.square)
    assert list(watched.seen) == ["flattening", "square"]
    assert watched.watched().seen == {}


def test_own_figures_take_a_rows_place(practice):
    mine = practice.with_own({"square": 4, "turn_in": 20.5})
    assert p.number(mine.square) == 4
    assert (mine.turn_in.rule_id, mine.turn_in.source_id) == ("turn_in", p.OWN)
    assert mine.gap is practice.gap
    assert practice.square.source_id != p.OWN
    with pytest.raises(BadInput, match="not an allowance"):
        practice.with_own({"squares": 4})
    with pytest.raises(BadInput, match="square"):
        practice.with_own({"square": -1})


def test_defaults_of_the_design(practice):
    """Flattening evenly 0.4 to 1.0 until finished books say more; pressing 0.90 to 1.00, 1 when given in the block."""
    overall = practice.flattening_of()
    assert [overall.quantile(x) for x in (0, 0.5, 1)] == pytest.approx([0.4, 0.7, 1.0])
    assert practice.pressing_of() == Uniform(0.9, 1.0)
    assert practice.pressing_of(measured_in_block=True) == Exact(1.0)
    assert practice.fold_spring_of(pressed=True) == Exact(0.0)
    assert practice.fold_spring_of(pressed=False).quantile(0.5) > 0
    assert practice.section_limit_mm("soft") == pytest.approx(0.065 * 25.4)
    assert practice.section_limit_mm() == pytest.approx(0.055 * 25.4)


def test_row_without_a_number_is_a_defect():
    with pytest.raises(ValueError, match="no number"):
        p.number(p.RuleValue("grain.spine", None, None, None, "x"))


@given(st.floats(0, 10), st.floats(0, 10), st.floats(0, 10), st.floats(0.001, 0.999))
def test_halves_stay_in_range_and_keep_their_middle(a, b, c, share):
    low, middle, high = sorted((a, b, c))
    halves = p.Halves(low, middle, high)
    assert low - 1e-9 <= halves.quantile(share) <= high + 1e-9
    assert halves.quantile(0.5) == pytest.approx(middle)
    assert halves.quantile(share) <= halves.quantile(min(0.9999, share + 0.0005)) + 1e-9


@pytest.mark.parametrize("tex", [20.0, 110.2, 275.6])
def test_thread_of_cotton_density_follows_peirce(tex):
    """Peirce 1937: cotton of specific volume 1.1 cm³/g has a diameter of 0.0374 √tex mm (from memory)."""
    thread = p.thread_from_tex(tex, 1 / 1.1, 1 / 1.1, 1 / 1.1)
    assert thread == Exact(pytest.approx(0.0374 * math.sqrt(tex), rel=0.002))


def test_densest_yarn_is_thinnest():
    thread = p.thread_from_tex(100, 0.5, 0.7, 0.9)
    assert thread.quantile(0.0) == pytest.approx(math.sqrt(4 * 100e-6 / (math.pi * 900)) * 1000)
    assert thread.quantile(1.0) == pytest.approx(math.sqrt(4 * 100e-6 / (math.pi * 500)) * 1000)
    with pytest.raises(BadInput, match="order"):
        p.thread_from_tex(100, 0.9, 0.7, 0.5)
