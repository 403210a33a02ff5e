"""The classes that a person names: by id, by name, or by one of the other names that the trade has for them."""

from __future__ import annotations

import sqlite3

from matref.catalogue.rows import Row, fetch, fold, names_of


def class_ids(connection: sqlite3.Connection, typed: str) -> tuple[str, ...]:
    """Return the ids of the classes named, separated by commas where the paper is one of several.

    A name that several classes go by ("card") means any of them. What is no name stays as it was typed, and the model
    refuses it.
    """
    parts = [part.strip() for part in typed.split(",") if part.strip()]
    ids = {row[0] for row in connection.execute("SELECT id FROM material_class")} if parts else set()
    if all(part.lower() in ids for part in parts):
        return tuple(dict.fromkeys(part.lower() for part in parts))
    rows = fetch(connection, "SELECT id, name, synonyms FROM material_class ORDER BY id")
    whole = _called(rows, typed)  # some names hold a comma
    if whole:
        return whole
    found = [(part.lower(),) if part.lower() in ids else _called(rows, part) or (part,) for part in parts]
    return tuple(dict.fromkeys(class_id for several in found for class_id in several))


def _called(rows: list[Row], typed: str) -> tuple[str, ...]:
    """Return the classes of that name, or else those that also go by it."""
    words = fold(typed)
    named = tuple(row["id"] for row in rows if fold(row["name"]) == words)
    return named or tuple(row["id"] for row in rows if words in map(fold, names_of(row)))
