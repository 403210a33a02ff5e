"""What finished books have taught of pressing and flattening, for the paper and thread of a plan."""

from __future__ import annotations

import sqlite3
from dataclasses import replace

from matref.book.plan_input import PaperKnown
from matref.estimator.support import Support
from matref.materials import Thread


def with_learnt(
    connection: sqlite3.Connection, known: PaperKnown, thread: Thread, pressed: bool
) -> tuple[PaperKnown, tuple[Support, ...]]:
    """Return the paper with what the maker's finished books say of it, and the words for it; unchanged without any.

    Unpressed books and a caliper measured in the block keep the rules.
    """
    from matref.finished import fibre_of, flattening_posterior, pressing_posterior, taught

    books, swollen = taught(connection)
    if not pressed:
        return known, ()
    found: list[Support] = []
    if books and not known.in_block:
        known = replace(known, pressing=pressing_posterior(connection))
        found.append(Support("finished books", f"pressing learnt from {_count(books)}"))
    if swollen:
        known = replace(known, flattening=flattening_posterior(connection, known.surface, fibre_of(connection, thread)))
        found.append(Support("finished books", f"flattening of the thread learnt from {_count(swollen)}"))
    return known, tuple(found)


def _count(books: int) -> str:
    return "1 finished book" if books == 1 else f"{books} finished books"
