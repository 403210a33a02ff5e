"""Readings far from anything usual, against what the trade and a museum's data base say of papers and boards."""

import math

import pytest

from matref.estimator.assumptions import Rules
from matref.estimator.caliper import caliper
from matref.estimator.evidence import Evidence, read
from matref.estimator.far_off import FarOff

A4_M2 = 0.21 * 0.297


def doubts(connection, **typed):
    evidence = Evidence(**typed)
    return FarOff(connection).doubts(read(evidence, connection, Rules(connection)))


def test_sheets_and_mass_changed_round(fitted):
    """98 sheets weighing 20 g would be 3.27 g/m², half of the 6 g/m² of repair tissue (a museum's data base)."""
    (said,) = doubts(fitted, size="A4", sheets=98, mass="20 g")
    assert f"{20 / (98 * A4_M2):.3g} g/m² is far below what any paper or board comes in, 6 to 3500" in said
    assert f"20 sheets weighing 98 g make {98 / (20 * A4_M2):.0f} g/m²" in said
    assert doubts(fitted, size="A4", sheets=20, mass="98 g") == []


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"paper_class": "copier", "grammage": 250}, "far above what Copier paper comes in"),
        ({"paper_class": "tracing", "grammage": 900}, "40 to 115"),
        ({"paper_class": "copier", "stack": "3 mm", "stack_sheets": 10}, "µm a sheet is far above"),
        ({"stack": "0.9 mm", "stack_sheets": 100}, "below what any paper or board comes in"),
        ({"paper_class": "copier, offset_uncoated", "size": "A4", "sheets": 98, "mass": "20 g"}, "changed round"),
        ({"paper_class": "blotting", "size": "A4", "sheets": 98, "mass": "20 g"}, "Blotting paper comes in"),
    ],
)
def test_what_is_far(fitted, typed, words):
    said = doubts(fitted, **typed)
    assert len(said) == 1
    assert words in said[0]
    assert "\n" not in said[0]


@pytest.mark.parametrize(
    "typed",
    [
        {"paper_class": "copier", "grammage": 80},
        {"paper_class": "copier", "grammage": 160},  # office card is sold as such: less than twice the usual
        {"paper_class": "japanese", "grammage": 6},
        {"paper_class": "watercolour", "grammage": 850},
        {"paper_class": "greyboard", "grammage": 1250, "stack": "2 mm", "stack_sheets": 1, "with_": "vernier"},
        {"grammage": 12},
        {"stack": "10.4 mm", "stack_sheets": 100},
        {"paper_class": "copier"},
    ],
)
def test_what_is_usual_is_let_be(fitted, typed):
    assert doubts(fitted, **typed) == []


def test_the_threshold_is_the_catalogues(fitted):
    """Twice the most and half the least that is known of a class, by a row of the rules."""
    (factor,) = fitted.execute("SELECT value FROM rule WHERE id = 'measuring.sample.far'").fetchone()
    low, high = fitted.execute(
        """SELECT min(low), max(high) FROM usual_range WHERE class_id = 'bible_thin' AND quantity = 'grammage'"""
    ).fetchone()
    own = "SELECT count(*) FROM reading WHERE class_id = 'bible_thin' AND used_in_fit"
    assert fitted.execute(own).fetchone()[0] == 0
    for gsm, far in ((high * factor * 1.01, True), (high * factor * 0.99, False), (low / factor * 0.9, True)):
        assert bool(doubts(fitted, paper_class="bible_thin", grammage=gsm)) is far
    assert math.isclose(factor, 2.0)


def test_the_estimate_says_it_too(fitted):
    found = caliper(fitted, Evidence(size="A4", sheets=98, mass="20 g"), with_advice=False)
    assert any("changed round" in line for line in found.warnings)
