"""The table of what lies on the shelf: piles of paper, remnants, boards. Migrations only ever add to it."""

STOCK = """
CREATE TABLE stock (
    id TEXT PRIMARY KEY CHECK (length(id) BETWEEN 4 AND 40),
    label TEXT NOT NULL DEFAULT '',
    material TEXT NOT NULL,
    width_mm REAL NOT NULL CHECK (width_mm > 0),
    height_mm REAL NOT NULL CHECK (height_mm > 0),
    count INTEGER NOT NULL CHECK (count >= 0),
    grain TEXT NOT NULL CHECK (grain IN ('long', 'short', 'none', 'unknown')),
    price REAL CHECK (price >= 0),
    sample TEXT,
    entry TEXT,
    note TEXT NOT NULL DEFAULT '',
    added_at TEXT NOT NULL,
    removed_at TEXT
) STRICT;
CREATE INDEX stock_by_material ON stock (material);
"""
