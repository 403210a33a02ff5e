"""Needle numbers: US and metric numbers of machine needles both ways, and hand needles by name and number."""

from __future__ import annotations

import re
import sqlite3
from typing import Final

from matref.catalogue.conversion.question import Question
from matref.catalogue.conversion.reading import Reading
from matref.catalogue.rows import Row, fetch, fold, names_of, said

_NUMBERS: Final = re.compile(r"(?<![\d.,])(\d{1,3})(?: ?/ ?(\d{1,3}))?(?![\d.,/])", re.ASCII)
_SAID: Final = frozenset({"needle", "needles", "no", "number", "size"})
_MACHINE: Final = frozenset({"machine", "sewing"})
_METRIC: Final = frozenset({"nm", "metric"})
_US: Final = frozenset({"us", "american"})
_LEAST_METRIC, _MOST_METRIC = 50, 250


def from_needle(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Read 'needle 14', 'needle 90/14', '90/14' or '90': blade diameter in mm, with both numbers.

    The metric number is the blade's diameter in hundredths of a millimetre; the pairs with US numbers are those
    listed. A bare number is a needle only if it is a listed metric number or pair.
    """
    match = _NUMBERS.search(question.text)
    if match is None:
        return []
    words = set(fold(_NUMBERS.sub(" ", question.text, count=1)))
    named = bool(words & {"needle", "needles"})
    if words and not named:
        return []
    rows = fetch(connection, "SELECT * FROM needle WHERE kind = 'size' AND blade_mm IS NOT NULL")
    words -= _SAID
    typed = {number for number in match.groups() if number}
    if words <= _MACHINE | _METRIC | _US:
        return _machine(rows, words, typed, named)
    return [_reading(row) for row in rows if row["for_use"] == "hand" and row["number"] in typed and _is(row, words)]


def _machine(rows: list[Row], words: set[str], typed: set[str], named: bool) -> list[Reading]:
    readings, listed = [], None
    for row in sorted(rows, key=lambda row: "flag" in row):
        metric, _, us = str(row["number"]).partition("/")
        if row["for_use"] != "machine" or not us.isdigit():
            continue
        listed = listed or row
        known = {metric} if words & _METRIC or not (named or len(typed) == 2) else {metric, us}
        if typed <= ({us} if words & _US else known):
            readings.append(_reading(row))
    (number,) = typed if len(typed) == 1 else ("0",)
    if not readings and listed and named and _LEAST_METRIC <= int(number) <= _MOST_METRIC and not words & _US:
        source = listed["source_id"]
        meaning = f"machine needle, metric number {number}: hundredths of a millimetre"
        return [Reading(meaning, int(number) / 100, "mm", True, source, note="not a listed size")]
    return readings


def _is(row: Row, words: set[str]) -> bool:
    return words <= {"hand", *(word for name in names_of(row) for word in fold(name))}


def _reading(row: Row) -> Reading:
    metric, _, us = str(row["number"]).partition("/")
    machine = row["for_use"] == "machine"
    return Reading(
        f"{row['name']}: blade diameter",
        row["blade_mm"],
        "mm",
        machine and "flag" not in row,
        row["source_id"],
        entry=f"needle:{row['id']}",
        note=said(row, "flag", "note"),
        more={"metric_number": int(metric), "us_number": int(us)} if machine and us else {},
    )
