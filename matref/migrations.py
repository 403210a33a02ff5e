"""How the personal part of the workshop file is laid out: one step per change, in order, never edited later.

`PRAGMA user_version` counts the steps a file has had. A step is SQL text or a function of the connection; it
runs inside the transaction of the upgrade. Personal tables may name a paper class, a thread or another entry
of the catalogue by its id, but without a FOREIGN KEY: the catalogue is dropped and built anew with each
edition of the data, and an entry may have gone.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from matref.sample_schema import FINISHED, HELD_BOTH_WAYS, SAMPLES
from matref.stock_schema import STOCK

CATALOGUE_FORMAT = 3
"""Raise this when the catalogue's views, its search tables or the fitted model are laid out differently."""

Migration = str | Callable[[sqlite3.Connection], None]

_SETTINGS = """
CREATE TABLE info (
  key TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE setting (
  key TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
"""

MIGRATIONS: tuple[Migration, ...] = (_SETTINGS, SAMPLES, FINISHED, HELD_BOTH_WAYS, STOCK)
