"""Errors are one line, whatever was typed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from matref.errors import BadInput, shown


@given(st.text(max_size=200), st.integers(2, 80))
def test_what_is_shown_is_one_printable_line(text: str, most: int) -> None:
    assert shown(text, most).isprintable()
    assert len(shown(text, most)) == min(len(text), most)
    if len(text) <= most and text.isprintable():
        assert shown(text, most) == text


@given(st.text(max_size=100), st.text(max_size=100), st.text(max_size=100))
def test_an_error_is_one_line(wrong: str, expected: str, example: str) -> None:
    text = str(BadInput(shown(wrong), expected=shown(expected), example=shown(example)))
    assert len(text.splitlines()) <= 1
