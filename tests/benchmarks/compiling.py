"""Compiling the data into a new file, against the plainest way to get the same rows into SQLite."""

from __future__ import annotations

import csv
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from itertools import count
from pathlib import Path

from table import Row
from timed import compare

from matref import workshop
from matref.catalogue.package import read_package

_WORDS = "compile the catalogue into a new file"
_PLAIN = "csv.reader and executemany: no types, no checks"


def _plainly(place: Path) -> None:
    """Put every table's cells into a new file as they are."""
    with closing(sqlite3.connect(place)) as connection, connection:
        for table in read_package().tables:
            with table.path.open(newline="", encoding="utf-8") as file:
                reader = csv.reader(file)
                heading = next(reader)
                connection.execute(f'CREATE TABLE "{table.name}" ({", ".join(heading)})')
                marks = ", ".join("?" * len(heading))
                connection.executemany(f'INSERT INTO "{table.name}" VALUES ({marks})', reader)


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    with tempfile.TemporaryDirectory() as folder:
        number = count()

        def new() -> Path:
            return Path(folder) / f"{next(number)}.db"

        yield compare(
            f"{_WORDS}, without the fit",
            lambda: workshop.connect(new(), fit=lambda _: None).close(),
            _PLAIN,
            lambda: _plainly(new()),
            turns=5,
            note="types, CHECKs, keys, indexes, views, code book and full-text search are in it",
        )
        yield compare(
            f"{_WORDS} and fit it, as on first use",
            lambda: workshop.connect(new()).close(),
            _PLAIN,
            lambda: _plainly(new()),
            turns=3,
        )
