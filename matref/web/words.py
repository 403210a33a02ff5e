"""Glossary words and sources, looked up for the pages on which they appear."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Sequence

from matref.api import Workshop


def explain(workshop: Workshop, term_ids: Sequence[str]) -> dict[str, dict[str, str]]:
    """Return the glossary's word and meaning of these terms, by id; terms that the glossary lacks are left out."""
    marks = ", ".join("?" * len(term_ids))
    rows = workshop.connection.execute(f"SELECT id, term, meaning FROM term WHERE id IN ({marks})", list(term_ids))
    known = {row[0]: {"term": row[1], "meaning": row[2]} for row in rows}
    return {term_id: known[term_id] for term_id in term_ids if term_id in known}


def source_titles(connection: sqlite3.Connection, source_ids: Collection[str]) -> dict[str, str]:
    """Return the titles of sources by id, with the year where it is known."""
    marks = ", ".join("?" * len(source_ids))
    rows = connection.execute(f"SELECT id, title, year FROM source WHERE id IN ({marks})", list(source_ids))
    return {row[0]: f"{row[1]} ({row[2]})" if row[2] else row[1] for row in rows}
