"""Evidence that does not fit together is refused or doubted, and the likeliest slip is named."""

from __future__ import annotations

import sqlite3
from typing import Any

import pytest

from matref.errors import BadInput
from matref.estimator.caliper import CaliperResult, caliper
from matref.estimator.contradiction import DOUBTFUL, IMPOSSIBLE, doubts
from matref.estimator.evidence import Evidence, Typed
from matref.estimator.model import Model
from matref.estimator.observation import Observation


def _caliper(connection: sqlite3.Connection, **typed: Any) -> CaliperResult:
    return caliper(connection, Evidence(**typed), with_advice=False)


REFUSED: list[tuple[dict[str, Typed], str]] = [
    # ten sheets of tissue cannot stand 20 mm high
    ({"paper_class": "tissue", "stack_sheets": 10, "stack": "20 mm"}, "10 sheets 20 mm thick"),
    # 100 sheets of A4 at 80 g/m² weigh 499 g: half of that means leaves counted for sheets
    ({"grammage": 80, "size": "A4", "sheets": 100, "mass": "250 g"}, "leaves were counted as sheets"),
    # and twice means that a folded sheet counted as one
    ({"grammage": 80, "size": "A4", "sheets": 100, "mass": "998 g"}, "folded sheets were counted once"),
    # 100 sheets of A4 at 120 g/m² weigh 748 g, 26.4 oz
    ({"grammage": 120, "size": "A4", "sheets": 100, "mass": 26.4}, "ounces"),
    # A4 is 8.3 × 11.7 in; taken as cm it makes 2.54² times the grammage
    ({"grammage": 80, "size": "8.3 x 11.7 cm", "sheets": 100, "mass": "499 g"}, "inches, not centimetres"),
    # one nought lost: 10 sheets for 100
    ({"grammage": 80, "size": "A4", "sheets": 10, "mass": "499 g"}, "a nought too few in the number"),
    # "20" meant pounds of bond paper, 75 g/m²
    ({"grammage": 20, "size": "A4", "sheets": 20, "mass": "94 g"}, "pounds of bond paper"),
    # a stack of 100 folded sheets is 200 thick
    ({"paper_class": "copier", "grammage": 80, "stack_sheets": 100, "stack": "20 mm"}, "folded sheets were counted"),
    # an inch gauge: 3.8 thousandths is 0.0965 mm
    (
        {"paper_class": "copier", "grammage": 80, "stack_sheets": 1, "stack": "0.038 mm", "with_": "micrometer"},
        "thousandths of an inch",
    ),
]


@pytest.mark.parametrize(("typed", "words"), REFUSED)
def test_impossible_evidence_is_refused_and_the_slip_named(
    typed: dict[str, Typed], words: str, fitted: sqlite3.Connection
) -> None:
    with pytest.raises(BadInput) as caught:
        _caliper(fitted, **typed)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_slip_when_mended_is_accepted(fitted: sqlite3.Connection) -> None:
    found = _caliper(fitted, grammage=80, size="A4", sheets=50, mass="250 g")
    assert not any("does not fit" in w for w in found.warnings)


DOUBTED: list[tuple[dict[str, Typed], str]] = [
    ({"paper_class": "copier", "size": "A4", "sheets": 20, "mass": "49 g"}, "leaves were counted as sheets"),
    ({"grammage": 80, "stack_sheets": 50, "stack": "10.4 mm"}, "folded sheets were counted once"),
]


@pytest.mark.parametrize(("typed", "words"), DOUBTED)
def test_doubtful_evidence_is_answered_with_a_warning(
    typed: dict[str, Typed], words: str, fitted: sqlite3.Connection
) -> None:
    found = _caliper(fitted, **typed)
    (warning,) = (w for w in found.warnings if "does not fit" in w)
    assert words in warning


ORDINARY: list[dict[str, Typed]] = [
    {"paper_class": "copier", "grammage": 80},
    {"paper_class": "copier", "grammage": 75, "stack_sheets": 1, "stack": "0.095 mm", "with_": "micrometer"},
    {"stack_sheets": 1, "stack": "3.0 mm", "with_": "vernier"},  # a board, no class named
    {"stack_sheets": 1, "stack": "0.03 mm", "with_": "micrometer"},  # tissue, no class named
    {"paper_class": "watercolour", "grammage": 640},  # a heavy but common watercolour paper
    {"paper_class": "watercolour", "grammage": 640, "stack_sheets": 1, "stack": "1 mm"},
    {"paper_class": "tissue", "grammage": 17},
    {"paper_class": "bible_thin", "grammage": 28, "stack_sheets": 100, "stack": "4 mm"},
    {"book_pages": 240, "book_thickness": "14 mm", "size": "A5", "book_mass": "310 g"},
]


@pytest.mark.parametrize("typed", ORDINARY)
def test_ordinary_evidence_is_not_doubted(typed: dict[str, Typed], fitted: sqlite3.Connection) -> None:
    assert not any("does not fit" in w for w in _caliper(fitted, **typed).warnings)


def test_a_grammage_alone_is_carried_on_never_refused(fitted: sqlite3.Connection, model: Model) -> None:
    for class_id in model.classes:
        for gsm in (10, 40, 300, 1200):
            assert _caliper(fitted, paper_class=class_id, grammage=gsm).caliper_um.value > 0
    assert any("carried on beyond" in w for w in _caliper(fitted, paper_class="copier", grammage=300).warnings)


def test_impossible_density_is_refused(fitted: sqlite3.Connection) -> None:
    # 100 sheets of A4 of 500 g and 2.5 mm: 80 g/m² at 25 µm, twice as dense as solid cellulose (1.5 g/cm³)
    with pytest.raises(BadInput, match=r"density|does not fit"):
        _caliper(fitted, size="A4", sheets=100, mass="500 g", stack_sheets=100, stack="2.5 mm", with_="vernier")


def test_doubts_are_sorted_and_probabilities(model: Model) -> None:
    weighed = Observation("weighing", "w", 1.0, 0.0, 4.38, 0.01)
    label = Observation("label", "l", 1.0, 0.0, 5.4, 0.03)
    gauged = Observation("gauge", "g", 0.0, 1.0, 4.6, 0.01)
    found = doubts(model, [weighed, label, gauged])
    assert [(-d.slip_gain, d.probability) for d in found] == sorted((-d.slip_gain, d.probability) for d in found)
    assert all(0 <= d.probability < DOUBTFUL for d in found)
    assert min(d.probability for d in found) < IMPOSSIBLE
    assert doubts(model, [weighed], class_named=False) == []


def test_tail_probability_of_a_fair_reading_is_uniform(model: Model) -> None:
    """Readings drawn from the model itself are doubted one time in a hundred: the level means what it says."""
    import numpy as np

    from matref.estimator.posterior import posterior

    some = model.only(["offset_uncoated"])
    label = Observation("label", "l", 1.0, 0.0, 4.4, 0.03)
    known = posterior(some, [label]).caliper_um
    rng = np.random.default_rng(4)
    n, u, hits = 1500, 0.05, 0
    parts = known.parts
    pick = rng.choice(len(parts), n, p=[w for w, _, _ in parts])
    for k in pick:
        value = rng.normal(parts[k][1], float(np.hypot(parts[k][2], u)))
        found = doubts(some, [label, Observation("stack", "s", 0.0, 1.0, value, u)])
        hits += any(d.observation.about == "stack" for d in found)
    # binomial 99.8 % bounds for 1500 draws at 1 %
    assert 5 <= hits <= 28
