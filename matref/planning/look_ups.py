"""What a plan takes from the workshop file: rules with the maker's own figures in place, cautions, settings."""

from __future__ import annotations

import sqlite3

from matref.book.plan_input import Caution
from matref.book.practice import Practice
from matref.catalogue.rows import fetch
from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.planning.document import Document
from matref.planning.schema import ALLOWANCES

LIMIT_SETTING = "machine_limit_mm"
"""The `setting` that holds what the maker's machine sews through, mm."""


def practice_of(connection: sqlite3.Connection, rules: Rules, document: Document) -> Practice:
    """Return the rules, the plan's own allowances in their place, and the maker's setting of the machine's limit."""
    own: dict[str, float] = {}
    setting = fetch(connection, "SELECT value FROM setting WHERE key = ?", (LIMIT_SETTING,))
    if setting:
        own["under_needle_limit"] = _setting(str(setting[0]["value"]))
    for table in (document.book, document.cover, document.sewing):
        for stem, fields in ALLOWANCES.items():
            value = table.given.get(f"{stem}_mm")
            value = value.mm if value is not None else table.given.get(stem)
            if isinstance(value, int | float):
                own |= dict.fromkeys(fields, float(value))
    return Practice.of(rules.__getitem__).with_own(own)


def cautions(connection: sqlite3.Connection) -> tuple[Caution, ...]:
    """Return the rows of `caution` that belong on a sheet of work."""
    rows = fetch(connection, "SELECT id, step, text, source_id FROM caution WHERE essential ORDER BY rowid")
    return tuple(Caution(row["id"], row["step"], row["text"], row["source_id"]) for row in rows)


def _setting(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.1 <= value <= 50:
        raise BadInput(f'the setting {LIMIT_SETTING} is "{text[:20]}"', expected="millimetres, 0.1 to 50", example="2")
    return value
