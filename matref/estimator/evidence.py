"""Evidence of a pile as typed, and its reading: the one place where what a person says becomes observations.

The fields have the names of the command's options and of the Python call. Text may carry units; bare numbers are
g/m², mm or g. What is printed is read by `matref.estimator.printed`, what was measured by `matref.estimator.measured`.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, fields

from matref.estimator.assumptions import Rules
from matref.estimator.measured import read_book, read_stack, read_weighing
from matref.estimator.named_classes import class_ids
from matref.estimator.observation import Observation
from matref.estimator.printed import read_label, read_ream
from matref.estimator.typed_fields import Fields
from matref.quantities import Typed

__all__ = ["Evidence", "Reading", "Typed", "read"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of a pile, as typed. All optional, but at least one piece is needed.

    `paper_class`: a class by id or name, or several separated by commas when it is one of them. `grammage`: g/m² or a
    basis weight ("20 lb bond"). `size`, `sheets`, `mass`, `scale_resolution`: a weighing. `stack_sheets`, `stack`,
    `with_` (ruler, vernier, micrometer), `held` (hand, clamped, gauge): a thickness; one sheet under a gauge is a stack
    of 1.
    `book_pages`, `book_thickness`, `book_mass`, `cover` (on, off): a bound book of page size `size`. `ream_sheets`,
    `ream_mass`: what is printed on a ream's wrapper (a ream that was weighed is a weighing), of sheets of `size`.
    """

    paper_class: str | None = None
    grammage: Typed | None = None
    size: Typed | None = None
    sheets: Typed | None = None
    mass: Typed | None = None
    scale_resolution: Typed | None = None
    stack_sheets: Typed | None = None
    stack: Typed | None = None
    with_: str | None = None
    held: str | None = None
    book_pages: Typed | None = None
    book_thickness: Typed | None = None
    book_mass: Typed | None = None
    cover: str | None = None
    ream_sheets: Typed | None = None
    ream_mass: Typed | None = None

    def typed(self) -> dict[str, Typed]:
        """Return the fields that were given."""
        found = {f.name: getattr(self, f.name) for f in fields(self)}
        return {name: value for name, value in found.items() if value is not None and value != ""}


@dataclass(frozen=True, slots=True)
class Reading:
    """Evidence as parsed: observations, allowed classes, and the plain numbers (SI) that a sample keeps."""

    observations: tuple[Observation, ...]
    class_ids: tuple[str, ...]
    numbers: dict[str, float]
    notes: tuple[str, ...]


def read(evidence: Evidence, connection: sqlite3.Connection, rules: Rules) -> Reading:
    """Parse `evidence`; raise BadInput in one line where it makes no sense."""
    found = Fields(evidence.typed(), connection, rules)
    named = str(found.get("paper_class") or "")
    for reader in (read_label, read_ream, read_weighing, read_stack, read_book):
        reader(found)
    found.refuse_leftovers()
    classes = class_ids(connection, named)
    return Reading(tuple(found.observations), classes, found.numbers, tuple(found.notes))
