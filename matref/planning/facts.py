"""The key facts of a finished book from its plan's file, so that they need not be typed again."""

from __future__ import annotations

import sqlite3
from typing import Any

from matref.book.block import sections_for_pages
from matref.book.structures import structure
from matref.catalogue.grades import sheet_sizes
from matref.errors import BadInput
from matref.planning.document import Document, Source, read_document
from matref.planning.paper import paper_evidence


def facts_of(connection: sqlite3.Connection, plan: Source) -> dict[str, Any]:
    """Return sections, sheets_per_section, thread, sewing and paper as far as the plan states them.

    What the planner would choose (sheets in a section that the plan leaves open) is not stated. BadInput for a plan
    that makes no sense, and for a caliper measured in the block, which tells nothing of how far pressing closes leaves.
    """
    document = read_document(plan, sheet_sizes(connection))
    if document.paper.flag("in_block", False):
        raise BadInput(
            "the plan's paper is told by in_block, which says nothing of a finished book",
            expected="the paper given apart",
            example="--caliper 104",
        )
    facts = {
        "thread": document.sewing.text("thread"),
        "sewing": _sewing(document),
        "paper": paper_evidence(connection, document.paper),
    }
    return {**_extent(document), **{name: fact for name, fact in facts.items() if fact}}


def _extent(document: Document) -> dict[str, int]:
    """Return sections and sheets in one; a pamphlet has one section, and as many sheets as its pages take."""
    book, found = document.book, {}
    for name in ("sections", "sheets_per_section"):
        if (number := book.whole(name)) is not None:
            found[name] = number
    pages = book.whole("pages")
    if book.text("structure") == "pamphlet":
        found["sections"] = 1
        if pages is not None:
            found.setdefault("sheets_per_section", sections_for_pages(pages, 1))
    elif pages is not None and "sheets_per_section" in found:
        found["sections"] = sections_for_pages(pages, found["sheets_per_section"])
    return found


def _sewing(document: Document) -> str | None:
    """Return how the sections are sewn, in the words of `matref.book.swell`; None where nothing tells."""
    named = document.book.text("structure")
    by = document.sewing.text("by") or (None if named is None else structure(named).by[0])
    if by == "hand":
        return "two-on" if document.sewing.flag("two_on", False) else "all-along"
    return by
