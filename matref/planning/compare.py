"""Candidates side by side before buying: papers, threads, structures; or whole plan files."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matref.catalogue.grades import sheet_sizes
from matref.errors import BadInput
from matref.planning.document import Document, Source, read_document
from matref.planning.planned import PlannedBook
from matref.planning.run import planned


@dataclass(frozen=True, slots=True)
class Candidate:
    """One candidate: its name, and either its book or the one line that says why there is none."""

    name: str
    book: PlannedBook | None
    refused: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return the figures that decide, as plain values."""
        if self.book is None:
            return {"name": self.name, "refused": self.refused}
        made, cloth = self.book.plan, self.book.need("cloth")
        return {
            "name": self.name,
            "paper": made.paper,
            "thread": made.stitching.thread,
            "spine_mm": made.spine.spine_mm.as_json(),
            "swell_ratio": made.spine.swell_ratio.as_json(),
            "sections": made.sections.sections,
            "sheets_per_section": made.sections.sheets_per_section,
            "pages": made.sections.pages,
            "cloth_m2": None if cloth is None else cloth.area_m2,
            "cloth": None if cloth is None else (cloth.buy.words if cloth.buy else ", ".join(_largest(cloth))),
            "cost": None if self.book.cost is None else self.book.cost.as_json(),
            "weight_g": self.book.weight_g.as_json(),
            "warnings": list(self.book.warnings),
        }


@dataclass(frozen=True, slots=True)
class Comparison:
    """Candidates in the order given."""

    candidates: tuple[Candidate, ...]

    def as_json(self) -> dict[str, Any]:
        """Return plain values: {candidates: [...]}."""
        return {"candidates": [candidate.as_json() for candidate in self.candidates]}


def compare(connection: sqlite3.Connection, sources: Sequence[Source]) -> Comparison:
    """Return several plan files (or mappings) side by side, the candidates that each names after it.

    A file that cannot be read is an error; one that asks for what cannot be made is told in its place.
    """
    sizes = sheet_sizes(connection)
    documents = [read_document(source, sizes) for source in sources]
    found = [_candidate(connection, one) for document in documents for one in (document, *document.candidates)]
    return Comparison(tuple(found))


def beside(connection: sqlite3.Connection, made: PlannedBook, documents: Sequence[Document]) -> Comparison:
    """Return a planned book with the candidates beside it."""
    return Comparison((Candidate(made.title, made), *(_candidate(connection, one) for one in documents)))


def _candidate(connection: sqlite3.Connection, document: Document) -> Candidate:
    try:
        return Candidate(document.name, planned(connection, document))
    except BadInput as error:
        return Candidate(document.name, None, str(error))


def _largest(cloth: Any) -> list[str]:
    return [f"{part.count} of {part.width_mm:.0f} x {part.length_mm:.0f} mm" for part in cloth.parts]
