"""Ids, words and days of personal records."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.errors import BadInput
from matref.personal_entry import OWN_ID, clean_day, clean_id, clean_text, new_id, now


@pytest.fixture
def table() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:")
    connection.execute("CREATE TABLE sample (id TEXT PRIMARY KEY)")
    return connection


def test_ids_are_base32_of_rfc_4648_in_lower_case_and_begin_with_a_letter(table: sqlite3.Connection) -> None:
    made = {new_id(table, "sample") for _ in range(500)}
    assert len(made) == 500
    assert all(OWN_ID.fullmatch(i) and set(i) <= set("abcdefghijklmnopqrstuvwxyz234567") for i in made)


def test_an_id_that_was_given_is_not_given_again(table: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch) -> None:
    table.execute("INSERT INTO sample VALUES (?)", ("a" * 12,))
    letters = iter("a" * 12 + "b" * 12)
    monkeypatch.setattr("secrets.choice", lambda _: next(letters))
    assert new_id(table, "sample") == "b" * 12


@pytest.mark.parametrize("text", ["", "abc", "-abcd", "ab cd", "a" * 41, "café-1", "=1+1", "a/bcd"])
def test_what_is_no_id(text: str) -> None:
    with pytest.raises(BadInput, match="is no id"):
        clean_id(text)


def test_days() -> None:
    today = date.today()
    assert clean_day(None) == clean_day("") == today.isoformat()
    assert clean_day(date(2024, 2, 29)) == clean_day(datetime(2024, 2, 29, 12)) == clean_day(" 2024-02-29 ")
    assert clean_day(today + timedelta(days=1))  # it may be tomorrow where the user is
    for bad in ("2024-2-9", "20240209", "2023-02-29", "1899-12-31", (today + timedelta(days=2)).isoformat(), 7, b"x"):
        with pytest.raises(BadInput, match="year-month-day"):
            clean_day(bad)  # type: ignore[arg-type]


@given(st.text(max_size=300))
def test_text_is_clean_or_refused(text: str) -> None:
    try:
        plain = clean_text(text, "note", 200, lines=True)
    except BadInput:
        return
    assert plain == clean_text(plain, "note", 10_000, lines=True)
    assert "\r" not in plain
    plain.encode()


def test_moments_sort_as_text() -> None:
    first, second = now(), now()
    assert first <= second
    assert datetime.fromisoformat(first).utcoffset() == timedelta(0)
