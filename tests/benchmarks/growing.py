"""Pages over a file of a million samples, against the same pages over a thousand.

Before every request the file changes a little, as it does when somebody adds a sample, so no answer kept from before
is timed.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from itertools import count
from pathlib import Path

import many_samples
import servers
from table import Row, at_most, say
from timed import compare, seconds

FEW, MANY = 1_000, 1_000_000
PAGES = {
    "home page": "/",
    "page of the samples by class, a tenth of them": f"/shelf/sample?class_id={many_samples.A_TENTH}",
    "page of the samples by class, seven tenths of them": f"/shelf/sample?class_id={many_samples.MOST}",
    "page of a pile, with its picture": "/-/pile?class=copier&size=A4&sheets=20&mass=98+g",
}


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    with tempfile.TemporaryDirectory() as folder:
        few, many = Path(folder) / "few.db", Path(folder) / "many.db"
        many_samples.make(few, FEW)
        say(f"  making a file of {MANY:,} samples")
        took = seconds(lambda: many_samples.make(many, MANY))
        say(f"  {many.stat().st_size / 2**20:.0f} MiB, made in {took:.0f} s")
        number = count()

        def change() -> None:
            for place in (few, many):
                with closing(sqlite3.connect(place)) as connection, connection:
                    connection.execute("INSERT OR REPLACE INTO setting VALUES ('touched', ?)", (str(next(number)),))

        with servers.matref(few) as small, servers.matref(many) as large:
            for what, path in PAGES.items():
                for port in (small, large):
                    servers.ask(port, path)  # what is opened at the first question is open
                yield compare(
                    f"{what}, {MANY:,} samples",
                    lambda path=path: servers.ask(large, path),  # type: ignore[misc]
                    f"at {FEW:,}",
                    lambda path=path: servers.ask(small, path),  # type: ignore[misc]
                    before=change,
                    limit=at_most(2),
                    turns=15,
                )
