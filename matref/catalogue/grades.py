"""Basic sizes and sheet sizes by name, as the parsers of `matref.quantities` want them.

Apart from `convert`, so that an estimate does not load every converter.
"""

from __future__ import annotations

import sqlite3

from matref.catalogue.rows import fetch, names_of


def basis_factors(connection: sqlite3.Connection) -> dict[str, float]:
    """Map each grade's name and synonyms, in lower case, to g/m² per lb; the most usual where a name has several.

    For `matref.quantities.parse_grammage`.
    """
    factors: dict[str, float] = {}
    rows = fetch(connection, "SELECT * FROM basis_size")
    for row in rows:
        for name in names_of(row):
            factors.setdefault(name.lower(), row["gsm_per_lb"])
    return factors


def sheet_sizes(connection: sqlite3.Connection) -> dict[str, tuple[float, float]]:
    """Map each name and synonym of a sheet size, in lower case, to width and height in mm.

    Of several sizes the ISO one stands, then the first listed; names go before synonyms, and flagged rows serve
    only names that no other row has. For `matref.quantities.parse_size`.
    """
    rows = fetch(connection, "SELECT * FROM sheet_size")
    rows.sort(key=lambda row: ("flag" in row, not str(row.get("system", "")).startswith("ISO")))
    sizes: dict[str, tuple[float, float]] = {}
    own = [(names_of(row)[0], row) for row in rows]
    other = [(name, row) for row in rows for name in names_of(row)[1:]]
    for name, row in own + other:
        sizes.setdefault(name.lower(), (row["width_mm"], row["height_mm"]))
    return sizes
