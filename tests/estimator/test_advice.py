"""Advice is worked out: taking the advised measurement brings what was promised, and sheet counts are minimal."""

from __future__ import annotations

import math
import sqlite3

import pytest

from matref.estimator.advice import (
    Advice,
    Measurement,
    Target,
    advise,
    candidates,
    expected_half_width,
    reach,
    ruler_enough,
)
from matref.estimator.assumptions import Rules
from matref.estimator.caliper import caliper
from matref.estimator.evidence import Evidence, Typed, read
from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import Posterior, posterior

PILES: dict[str, dict[str, Typed]] = {
    "copier, labelled": {"paper_class": "copier", "grammage": 80},
    "watercolour, labelled": {"paper_class": "watercolour", "grammage": 300},
    "bond or ledger, weighed": {"paper_class": "bond_writing,ledger", "size": "A4", "sheets": 20, "mass": "98 g"},
}
WAYS = (("weigh", ""), ("hand", "ruler"), ("clamped", "ruler"), ("clamped", "vernier"), ("gauge", "micrometer"))


def _known(
    name: str, model: Model, fitted: sqlite3.Connection, rules: Rules
) -> tuple[Model, list[Observation], Posterior]:
    reading = read(Evidence(**PILES[name]), fitted, rules)  # type: ignore[arg-type]
    some = model.only(list(reading.class_ids))
    observations = list(reading.observations)
    return some, observations, posterior(some, observations)


@pytest.mark.parametrize("name", PILES)
def test_the_advised_measurement_brings_what_was_promised(
    name: str, model: Model, fitted: sqlite3.Connection, rules: Rules
) -> None:
    """Typed in as a person would, with the value to expect, at the same uncertainty."""
    some, observations, known = _known(name, model, fitted, rules)
    middle_um, middle_gsm = known.caliper_um.quantile(0.5), known.grammage_gsm.quantile(0.5)
    advice = advise(some, observations, known, rules, 0.9)
    assert advice
    by_words = {c.words: c for c in candidates()}
    for one in advice:
        way = by_words[one.words]
        further: dict[str, Typed]
        if way.key == "weigh":
            mass = f"{way.sheets * middle_gsm * 0.210 * 0.297:.4f} g"
            further = {"size": "A4", "sheets": way.sheets, "mass": mass, "scale_resolution": "1 g"}
        else:
            further = {
                "stack_sheets": way.sheets,
                "stack": f"{way.sheets * middle_um / 1000:.5f} mm",
                "with_": way.instrument,
                "held": way.key,
            }
        if "size" in PILES[name] and "size" in further:
            continue
        found = caliper(fitted, Evidence(**{**PILES[name], **further})).caliper_um  # type: ignore[arg-type]
        assert 100 * found.half_width / found.value == pytest.approx(one.half_width_pct, rel=0.12), one.words


@pytest.mark.parametrize("name", PILES)
def test_advice_helps_and_comes_best_first(name: str, model: Model, fitted: sqlite3.Connection, rules: Rules) -> None:
    some, observations, known = _known(name, model, fitted, rules)
    now = caliper(fitted, Evidence(**PILES[name])).caliper_um  # type: ignore[arg-type]
    advice = advise(some, observations, known, rules, 0.9)
    shares = [a.half_width_pct for a in advice]
    assert shares == sorted(shares)
    assert shares[-1] < 95 * now.half_width / now.value
    best = min(expected_half_width(some, observations, known, c, rules, 0.9)[1] for c in candidates())
    assert shares[0] <= 1.12 * best  # more sheets for less than a tenth are not advised


def test_what_would_not_narrow_the_range_is_not_advised(fitted: sqlite3.Connection) -> None:
    """One thick sheet under a micrometer is known to 0.3 %: no stack under a ruler can add to that."""
    gauged = {"stack_sheets": 1, "stack": "1.04 mm", "with_": "micrometer", "held": "gauge"}
    found = caliper(fitted, Evidence(paper_class="watercolour", **gauged))  # type: ignore[arg-type]
    assert not any("ruler" in a.words or "weigh" in a.words for a in found.advice)


@pytest.mark.parametrize("name", PILES)
@pytest.mark.parametrize("target_pct", [1.5, 3.5, 5.0, 8.0])
def test_target_counts_are_minimal(
    name: str, target_pct: float, model: Model, fitted: sqlite3.Connection, rules: Rules
) -> None:
    some, observations, known = _known(name, model, fitted, rules)

    def after(way: tuple[str, str], n: int) -> float:
        return expected_half_width(some, observations, known, Measurement(way[0], "", n, way[1]), rules, 0.9)[1]

    for way, target in zip(WAYS, reach(some, observations, known, rules, 0.9, target_pct), strict=True):
        if target.sheets is None:
            assert after(way, 1) > target_pct
            assert after(way, 5000) > target_pct
            assert target.half_width_pct == pytest.approx(after(way, 5000))
        else:
            assert after(way, target.sheets) <= target_pct
            assert target.half_width_pct == pytest.approx(after(way, target.sheets))
            assert target.sheets == 1 or after(way, target.sheets - 1) > target_pct


def test_one_sheet_under_a_gauge_may_do_what_no_pack_does(
    model: Model, fitted: sqlite3.Connection, rules: Rules
) -> None:
    """A pack nests by an unknown few per cent; a single thick sheet is what the caliper means."""
    found = reach(*_known("watercolour, labelled", model, fitted, rules), rules, 0.9, 2.0)
    assert found[-1].sheets == 1
    assert found[2].sheets is None


def test_is_a_ruler_good_enough(model: Model, fitted: sqlite3.Connection, rules: Rules) -> None:
    some, observations, known = _known("copier, labelled", model, fitted, rules)

    def ruler(n: int) -> float:
        return expected_half_width(some, observations, known, Measurement("clamped", "", n, "ruler"), rules, 0.9)[1]

    for_five = ruler_enough(some, observations, known, rules, 0.9, 5.0)
    assert for_five.sheets is not None
    assert ruler(for_five.sheets) <= 5.0 < ruler(for_five.sheets - 1)
    assert for_five.words.startswith("yes, from ")
    for_two = ruler_enough(some, observations, known, rules, 0.9, 2.0)
    assert (for_two.sheets, for_two.as_json()["enough"]) == (None, False)
    assert for_two.words.startswith("no")
    beside = ruler_enough(some, observations, known, rules, 0.9)
    assert beside.sheets is not None
    assert ruler(beside.sheets) <= 1.1 * beside.micrometer_half_width_pct


def test_answers_for_json_are_plain() -> None:
    assert Advice("weigh", 1.0, 2.0).as_json() == {"measure": "weigh", "half_width_um": 1.0, "half_width_pct": 2.0}
    assert Target("a ruler", None, 3.0).as_json() == {"measure": "a ruler", "sheets": None, "half_width_pct": 3.0}


def test_target_without_a_wish_is_not_worked_out(fitted: sqlite3.Connection) -> None:
    found = caliper(fitted, Evidence(grammage=80))
    assert (found.targets, found.ruler) == ((), None)
    wished = caliper(fitted, Evidence(paper_class="copier", grammage=80), target_pct=5.0)
    assert wished.ruler is not None
    assert len(wished.targets) == len(WAYS)
    assert math.isfinite(wished.targets[0].half_width_pct)
