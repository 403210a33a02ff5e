"""Titles, meanings, units, facets and order of every table and view, as Datasette's metadata.

What columns mean is read from the file's own codebook; nothing of it is written a second time here. Facets and order
are this page's choices.
"""

from __future__ import annotations

import re
import sqlite3
from typing import Any

from matref.catalogue.package import data_folder, read_descriptor, read_package
from matref.catalogue.views import VIEWS
from matref.web.privacy import personal_tables
from matref.web.queries import ready_queries

ROUTE = "shelf"
"""The name of the database in addresses, whatever the file is called."""

_FACETS = {
    "readings": ("class", "kind"),
    "papers": ("surface",),
    "boards": ("kind",),
    "cloths": ("fibre", "weave"),
    "interfacings": ("base",),
    "threads": ("fibre",),
    "needles": ("for",),
    "sheet_sizes": ("system", "period"),
    "rules": ("topic", "confidence"),
    "source": ("kind", "grade"),
    "material_class": ("family", "surface"),
    "reading": ("kind", "quality"),
    "caution": ("step",),
    "unit": ("quantity",),
}
_SORT = {
    "readings": "grammage (g/m²)",
    "papers": "name",
    "boards": "name",
    "cloths": "name",
    "interfacings": "name",
    "threads": "name",
    "needles": "blade (mm)",
    "sheet_sizes": "name",
    "rules": "topic",
    "source": "title",
    "material_class": "name",
    "reading": "grammage_gsm",
    "term": "term",
}
_LATEST_FIRST = {"sample": "added_at", "stock": "added_at", "finished_book": "added_at"}
_BACKSTAGE = ("codebook", "info", "setting", "entry", "entry_fts", "entry_vocab", "pile_line", "sample_total")
_BEHIND = {
    "sample": ("My samples", "What was measured of each pile here, as parsed, with the values that follow from it."),
    "stock": ("My shelf", "Piles on the shelf."),
    "finished_book": ("Finished books", "Books made here: planned and measured."),
}
_SYMBOLS = {"g/m2": "g/m²", "um": "µm", "g/cm3": "g/cm³", "cm3/g": "cm³/g", "1": "", "%": "%"}
_SUFFIXES = {"gsm": "g/m²", "um": "µm", "mm": "mm", "g": "g", "pct": "%", "c": "°C", "deg": "°"}
_SUFFIX = re.compile(r"_(gsm|um|mm|g|pct|c|deg)$")


class Described(dict[str, Any]):
    """The description of one table. Datasette copies all of its metadata for every question of leave; this never
    changes, so it need not be copied with it."""

    def __deepcopy__(self, memo: dict[int, Any]) -> Described:
        """Return itself."""
        return self


def symbol(unit: str) -> str:
    """Return a unit as people write it.

    >>> symbol("g/m2"), symbol("mm")
    ('g/m²', 'mm')
    """
    return _SYMBOLS.get(unit, unit)


def headings(connection: sqlite3.Connection) -> dict[str, dict[str, str]]:
    """Return table to column to the heading that people see, its unit in brackets."""
    found: dict[str, dict[str, str]] = {}
    for table, column, unit, title in connection.execute("SELECT table_name, column_name, unit, title FROM codebook"):
        shown = symbol(unit)
        heading = title if not shown or f"({shown})" in title else f"{title} ({shown})"
        found.setdefault(table, {})[column] = heading
    for table in personal_tables(connection):
        found[table] = {row[1]: _plain_heading(row[1]) for row in connection.execute(f'PRAGMA table_info("{table}")')}
    return found


def metadata(connection: sqlite3.Connection) -> dict[str, Any]:
    """Return Datasette's metadata for a workshop file: instance, tables, views and ready queries."""
    descriptor = read_descriptor(data_folder())
    licence = descriptor["licenses"][0]
    edition = connection.execute("SELECT value FROM info WHERE key = 'edition'").fetchone()[0]
    common = {
        "license": licence["title"],
        "license_url": licence["path"],
        "source": f"matref data, edition {edition}; every row names its own source",
        "source_url": f"/{ROUTE}/source",
    }
    shelf = {
        "title": "The reference shelf",
        "description": descriptor["description"],
        "tables": _tables(connection),
        "queries": Described(ready_queries()),
        **common,
    }
    return {"title": "matref", "description": descriptor["title"], "databases": {ROUTE: shelf}, **common}


def _tables(connection: sqlite3.Connection) -> dict[str, Described]:
    titles = {table.name: (table.title, table.description) for table in read_package().tables}
    titles |= {view.name: _title_and_more(view.title) for view in VIEWS}
    titles |= _BEHIND
    meanings, shown = _meanings(connection), headings(connection)
    names = [
        name
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_schema WHERE type IN ('table', 'view') AND name NOT LIKE 'sqlite_%'"
        )
    ]
    found = {name: _table(name, titles.get(name), meanings.get(name, {})) for name in names}
    for name, table in found.items():
        if "hidden" not in table:
            table["headings"] = shown.get(name, {})
    return found


def _table(name: str, words: tuple[str, str] | None, meanings: dict[str, str]) -> Described:
    if name in _BACKSTAGE or words is None:
        return Described(hidden=True)
    found = Described(title=words[0], description=words[1])
    if meanings:
        found["columns"] = meanings
    if name in _FACETS:
        found["facets"] = list(_FACETS[name])
    if name in _SORT:
        found["sort"] = _SORT[name]
    if name in _LATEST_FIRST:
        found["sort_desc"] = _LATEST_FIRST[name]
    return found


def _meanings(connection: sqlite3.Connection) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    rows = connection.execute(
        "SELECT table_name, column_name, unit, description, origin FROM codebook ORDER BY table_name, position"
    )
    for table, column, unit, description, origin in rows:
        text = description if not symbol(unit) else f"{description} Unit: {symbol(unit)}."
        found.setdefault(table, {})[column] = f"Worked out: {text}" if origin == "computed" else text
    return found


def _title_and_more(text: str) -> tuple[str, str]:
    title, _, more = text.partition(": ")
    return title, more[:1].upper() + more[1:] + "." if more else ""


def _plain_heading(column: str) -> str:
    """Return a heading for a personal column, whose unit is at the end of its name.

    >>> _plain_heading("stack_resolution_mm"), _plain_heading("grammage_u_gsm")
    ('stack resolution (mm)', 'grammage, uncertainty (g/m²)')
    """
    match = _SUFFIX.search(column)
    words = (column[: match.start()] if match else column).removesuffix("_id")
    words = words.removesuffix("_u") + ", uncertainty" if words.endswith("_u") else words
    return words.replace("_", " ") + (f" ({_SUFFIXES[match[1]]})" if match else "")
