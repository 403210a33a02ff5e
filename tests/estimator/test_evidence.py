"""Evidence as typed: units in and out agree, and what makes no sense is refused in one line."""

from __future__ import annotations

import math
import sqlite3
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.errors import BadInput
from matref.estimator.caliper import CaliperResult, caliper
from matref.estimator.evidence import Evidence, Typed


def _caliper(connection: sqlite3.Connection, **typed: Any) -> CaliperResult:
    return caliper(connection, Evidence(**typed), with_advice=False)


SAME: list[tuple[dict[str, Typed], dict[str, Typed]]] = [
    # GNU units: bond basic size 17 × 22 in, 500 sheets: 3.759730 g/m² per lb
    ({"grammage": "20 lb bond"}, {"grammage": 20 * 3.759730}),
    ({"grammage": "80 g/m²"}, {"grammage": 80}),
    ({"grammage": "80 gsm"}, {"grammage": "80"}),
    ({"size": "A4", "sheets": 20, "mass": "98 g"}, {"size": "210 x 297", "sheets": "20", "mass": 98}),
    (
        {"size": "A4", "sheets": 20, "mass": "98 g", "scale_resolution": "1 g"},
        {"size": "A4", "sheets": 20, "mass": "0.098 kg", "scale_resolution": "1 g"},
    ),
    (
        {"stack_sheets": 100, "stack": "25.4 mm", "held": "clamped"},
        {"stack_sheets": 100, "stack": "2.54 cm", "held": "clamped"},
    ),
    (
        {"stack_sheets": 1, "stack": "0.104 mm", "with_": "micrometer"},
        {"stack_sheets": 1, "stack": "104 um", "with_": "micrometer"},
    ),
    ({"book_pages": 240, "book_thickness": "14.0 mm"}, {"book_pages": "240", "book_thickness": "1.40 cm"}),
]  # fmt: skip


@pytest.mark.parametrize(("one", "other"), SAME)
def test_units_in_agree(one: dict[str, Typed], other: dict[str, Typed], fitted: sqlite3.Connection) -> None:
    first, second = _caliper(fitted, **one), _caliper(fitted, **other)
    for name in ("caliper_um", "bulk_cm3_g", "grammage_gsm"):
        a, b = getattr(first, name), getattr(second, name)
        # A pound in three figures is rounded more coarsely than 75.19: ranges may differ a little, middles may not.
        assert a.value == pytest.approx(b.value, rel=2e-3)
        assert (a.low, a.high) == (pytest.approx(b.low, rel=6e-3), pytest.approx(b.high, rel=6e-3))


@settings(max_examples=40, deadline=None)
@given(gsm=st.floats(20, 300), sheets=st.integers(5, 500))
def test_units_out_agree(gsm: float, sheets: int, fitted: sqlite3.Connection) -> None:
    """What is weighed comes back as grammage, and caliper over grammage is bulk."""
    mass = gsm * sheets * 0.210 * 0.297
    found = _caliper(fitted, paper_class="offset_uncoated", size="A4", sheets=sheets, mass=f"{mass:.4f} g")
    assert found.grammage_gsm.value == pytest.approx(gsm, rel=0.01)
    assert found.bulk_cm3_g.value == pytest.approx(found.caliper_um.value / found.grammage_gsm.value, rel=0.005)


def test_order_of_evidence_does_not_matter(fitted: sqlite3.Connection) -> None:
    typed: dict[str, Typed] = {
        "grammage": 80, "size": "A4", "sheets": 20, "mass": "98 g", "stack_sheets": 100, "stack": "10.5 mm"
    }  # fmt: skip
    forwards = _caliper(fitted, **typed)
    backwards = _caliper(fitted, **dict(reversed(typed.items())))
    assert forwards.as_json() == backwards.as_json()


BAD: list[tuple[dict[str, Typed], str]] = [
    ({}, "nothing is known"),
    ({"grammage": -80}, "80"),
    ({"grammage": 0}, "0"),
    ({"grammage": 5000}, "beyond any sheet material"),
    ({"grammage": "heavy"}, "heavy"),
    ({"grammage": "20 lb cheese"}, "cheese"),
    ({"grammage": math.nan}, "nan"),
    ({"grammage": math.inf}, "inf"),
    ({"paper_class": "unobtainium"}, "unobtainium"),
    ({"paper_class": "copier,unobtainium"}, "unobtainium"),
    ({"size": "A4"}, "alone says nothing"),
    ({"size": "A4", "sheets": 20}, "without their mass"),
    ({"sheets": 20, "mass": "98 g"}, "needs the size"),
    ({"size": "A4", "mass": "98 g"}, "needs the size"),
    ({"size": "A4", "sheets": 0, "mass": "98 g"}, "sheet"),
    ({"size": "A4", "sheets": -3, "mass": "98 g"}, "sheet"),
    ({"size": "A4", "sheets": 2.5, "mass": "98 g"}, "2.5"),
    ({"size": "A4", "sheets": 20, "mass": "-98 g"}, "98"),
    ({"size": "A4", "sheets": 20, "mass": "98 mm"}, "mm"),
    ({"size": "A4", "sheets": 20, "mass": "98 kg"}, "beyond any sheet material"),
    ({"size": "A4", "sheets": 1, "mass": "5 g", "scale_resolution": "10 g"}, "cannot weigh"),
    ({"scale_resolution": "1 g"}, "without a mass"),
    ({"size": "elephantine", "sheets": 20, "mass": "98 g"}, "elephantine"),
    ({"size": "1 x 1", "sheets": 20, "mass": "98 g"}, "width"),
    ({"stack": "10 mm"}, "number of sheets"),
    ({"stack_sheets": 100}, "number of sheets"),
    ({"stack_sheets": 0, "stack": "10 mm"}, "sheet"),
    ({"stack_sheets": 100, "stack": "0 mm"}, "0"),
    ({"stack_sheets": 100, "stack": "10 g"}, "g"),
    ({"stack_sheets": 2, "stack": "100 mm"}, "beyond any sheet material"),
    ({"stack_sheets": 100, "stack": "10 mm", "with_": "eye"}, "eye"),
    ({"stack_sheets": 100, "stack": "10 mm", "held": "lovingly"}, "lovingly"),
    ({"with_": "ruler"}, "without a thickness"),
    ({"held": "hand"}, "without a thickness"),
    ({"book_thickness": "14 mm"}, "number of pages"),
    ({"book_pages": 240}, "thickness or a mass"),
    ({"book_pages": 2, "book_thickness": "14 mm"}, "make no book"),
    ({"book_pages": 240, "book_thickness": "14 mm", "cover": "maybe"}, "maybe"),
    ({"book_pages": 240, "book_mass": "310 g"}, "page size"),
    ({"ream_sheets": 500}, "a ream needs"),
    ({"ream_sheets": 500, "ream_mass": "2.5 kg"}, "a ream needs"),
    ({"ream_sheets": 0, "ream_mass": "2.5 kg", "size": "A4"}, "sheets in the ream"),
    ({"ream_sheets": 500, "ream_mass": "250 kg", "size": "A4"}, "beyond any sheet material"),
    ({"ream_sheets": 500, "ream_mass": "2.5 kg", "size": "A4", "grammage": 120}, "wrapper"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "words"), BAD)
def test_bad_input_is_one_line(typed: dict[str, Typed], words: str, fitted: sqlite3.Connection) -> None:
    with pytest.raises(BadInput) as caught:
        _caliper(fitted, **typed)
    message = str(caught.value)
    assert "\n" not in message
    assert words in message
    assert len(message) < 1000


FIELDS = tuple(f.name for f in fields(Evidence))


@settings(max_examples=300, deadline=None)
@given(
    typed=st.dictionaries(
        st.sampled_from(FIELDS),
        st.one_of(
            st.floats(),
            st.integers(-5, 500),
            st.text(max_size=12),
            st.sampled_from(["A4", "98 g", "10 mm", "20 lb bond", "copier", "ruler", "hand", "on"]),
        ),
        max_size=6,
    )
)
def test_whatever_is_typed_gives_an_answer_or_one_line(fitted: sqlite3.Connection, typed: dict[str, Typed]) -> None:
    said, answer = "", None
    try:
        answer = _caliper(fitted, **typed).caliper_um
    except BadInput as error:
        said = str(error)
    assert "\n" not in said
    assert said or (answer and 0 < answer.low <= answer.value <= answer.high < math.inf)
