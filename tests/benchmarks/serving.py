"""Answers over HTTP under load, against Datasette alone on the same file under the same load.

The page of a pile keeps its last 512 answers until the file changes, so questions asked for the first time and a
question asked again are told apart: every turn has a list of its own, longer than what is kept.
"""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random
from urllib.parse import urlencode

import servers
from load import CONNECTIONS, PROGRAM, Load, press
from table import Limit, Row, at_most, in_time, say

import matref

SECONDS, TURNS, QUESTIONS = 4, 3, 1000
_ROW = "/shelf/material_class/copier.json"
_TABLE = "/shelf/reading"
_ONE = "/-/pile.json?" + urlencode({"size": "A4", "sheets": "20", "mass": "98 g"})


def questions(count: int) -> list[str]:
    """Return so many different questions about invented piles, of six kinds of evidence in turn."""
    dice = Random(1)
    found: dict[str, None] = {}
    while len(found) < count:
        gsm = dice.uniform(60, 160)
        caliper_um = gsm * dice.uniform(1.15, 1.45)
        kind = dice.choice(("copier", "offset_uncoated", "bond_writing", "drawing_cartridge"))
        weighed = {"size": "A4", "sheets": "20", "mass": f"{20 * 0.06237 * gsm:.1f} g"}
        stack = {"stack_sheets": "100", "stack": f"{caliper_um / 10:.1f} mm"}
        book = {
            "size": "148 x 210 mm",
            "book_pages": "200",
            "book_thickness": f"{caliper_um / 10:.1f} mm",
            "book_mass": f"{3.108 * gsm:.0f} g",
            "cover": "off",
        }
        ream = {"size": "A4", "ream_sheets": "500", "ream_mass": f"{31.185 * gsm:.0f} g"}
        named = {"class": kind, "grammage": f"{gsm:.1f}"}
        evidence = (named, weighed, {"class": kind} | weighed, weighed | stack, book, ream)[len(found) % 6]
        found[f"/-/pile.json?{urlencode(evidence)}"] = None
    return list(found)


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "shelf.db"  # Datasette's addresses begin with the name of the file
        matref.open(place).close()
        with servers.matref(place) as ours, servers.plain_datasette(place) as plain:
            every = questions(QUESTIONS * TURNS)
            new = [every[i : i + QUESTIONS] for i in range(0, len(every), QUESTIONS)]
            same = [[_ONE]] * TURNS
            row, table = [[_ROW]] * TURNS, [[_TABLE]] * TURNS
            beside = "row as JSON, Datasette alone"
            yield _under_load("/-/pile.json, questions never asked before", ours, new, beside, plain, row)
            yield _under_load("/-/pile.json, one question again and again", ours, same, beside, plain, row)
            yield _under_load("row as JSON", ours, row, beside, plain, row)
            beside = "the same, Datasette alone"
            yield _under_load(f"page of the table {_TABLE}", ours, table, beside, plain, table, at_most(1.1))


def _under_load(
    what: str,
    ours: int,
    asked: Sequence[Sequence[str]],
    beside: str,
    plain: int,
    its: Sequence[Sequence[str]],
    limit: Limit | None = None,
) -> Row:
    """Press both servers in turns; compare the medians over the turns of the 95th percentile."""
    say(f"  {what}")
    for paths, port in ((asked[0], ours), (its[0], plain)):
        servers.ask(port, paths[-1])  # what is opened at the first question is open
    loads = [(press(ours, a, SECONDS), press(plain, b, SECONDS)) for a, b in zip(asked, its, strict=True)]
    mine, other = _median([a for a, _ in loads]), _median([b for _, b in loads])
    note = (
        f"{CONNECTIONS} connections by {PROGRAM}; half within {in_time(mine.p50_s)} and "
        f"{in_time(other.p50_s)}; {mine.per_second:.0f} and {other.per_second:.0f} answers a second"
    )
    what = f"{what}, 95th percentile"
    return Row(what, in_time(mine.p95_s), beside, in_time(other.p95_s), mine.p95_s / other.p95_s, limit, note)


def _median(loads: Sequence[Load]) -> Load:
    return Load(
        statistics.median(load.per_second for load in loads),
        statistics.median(load.p50_s for load in loads),
        statistics.median(load.p95_s for load in loads),
    )
