import pytest

from matref.book import practice as p
from matref.book.rule_row import least, most, number
from matref.errors import BadInput
from matref.estimator.distribution import Exact, Uniform


def test_every_field_is_a_row_that_holds_a_number(rules):
    """data/rule.csv itself: a field of Practice without its row, or a row without a number, is a defect."""
    for name, rule_id in p.Practice.rule_ids().items():
        assert rule_id in rules, name
        assert least(rules[rule_id]) <= number(rules[rule_id]) <= most(rules[rule_id])
        assert rules[rule_id].source_id


def test_fields_hold_their_own_rows(practice, rules):
    assert practice.square == rules["square.common"]
    assert practice.swell_ratio_accepted.value == 0.3
    assert {getattr(practice, name).rule_id for name in p.Practice.rule_ids()} == set(p.Practice.rule_ids().values())


def test_watched_practice_remembers_what_was_asked(practice):
    watched = practice.watched()
    assert watched.seen == {}
    watched.flattening_of()
    assert number(watched.square) == number(practice.square)
    assert list(watched.seen) == ["flattening", "square"]
    assert watched.watched().seen == {}


def test_own_figures_take_a_rows_place(practice):
    mine = practice.with_own({"square": 4, "turn_in": 20.5})
    assert number(mine.square) == 4
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
