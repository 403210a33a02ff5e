"""Cells that a spreadsheet would take for formulas (OWASP, CSV injection): made harmless, and back exactly."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from matref.samples.cells import incoming, outgoing

SIGNS = "=+-@\t\r\n＝＋－＠"


@given(st.text(alphabet=st.sampled_from(SIGNS + "' \u00a0a1"), max_size=8) | st.text(max_size=20))
@example("'")
@example(" \t=1")
def test_back_exactly_and_never_a_formula(cell: str) -> None:
    out = outgoing(cell)
    assert incoming(out) == cell
    assert not out.startswith(tuple(SIGNS))
    assert not out.strip().startswith(tuple("=+-@＝＋－＠"))


@given(st.text(st.characters(categories=["L", "N"]), max_size=20))
def test_ordinary_cells_are_left_alone(cell: str) -> None:
    assert outgoing(cell) == incoming(cell) == cell


@pytest.mark.parametrize("cell", ["'tis high tide", "98 g", "a=b", "2024-02-29", "5-6", "''", ""])
def test_what_needs_nothing(cell: str) -> None:
    assert outgoing(cell) == incoming(cell) == cell
