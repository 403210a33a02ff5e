"""The key facts of a finished book from its plan's file (TOML read into a dict)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from matref.book.block import sections_for_pages
from matref.errors import BadInput
from matref.samples.draft import EVIDENCE

_SEWING = {"machine": "machine", "hand": "all-along"}
_ALSO = {"class": "paper_class", "with": "with_"}
_UNITS = {"_mm": " mm", "_in": " in", "_gsm": " g/m2", "_g": " g"}
_NOT_EVIDENCE = ("name", "leaves", "leaf_size", "grain", "price")


def facts_of(plan: Mapping[str, Any]) -> dict[str, Any]:
    """Return sections, sheets_per_section, thread, sewing and paper as far as the plan states them.

    >>> facts_of({"book": {"sections": 5}, "paper": {"class": "ledger", "grammage_gsm": 90}, "sewing": {"by": "hand"}})
    {'sections': 5, 'sewing': 'all-along', 'paper': {'paper_class': 'ledger', 'grammage': '90 g/m2'}}
    """
    if not isinstance(plan, Mapping):
        raise BadInput("the plan is not a table of tables", expected="the plan's file read into a dict")
    book, paper, sewing = (_table(plan, name) for name in ("book", "paper", "sewing"))
    facts: dict[str, Any] = {name: book[name] for name in ("sections", "sheets_per_section") if name in book}
    if "pages" in book and "sheets_per_section" in book:
        facts["sections"] = sections_for_pages(book["pages"], book["sheets_per_section"])
    if "thread" in sewing:
        facts["thread"] = sewing["thread"]
    if sewing.get("by") in _SEWING:
        facts["sewing"] = _SEWING[sewing["by"]]
    known = _paper(paper)
    return {**facts, "paper": known} if known else facts


def _paper(table: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields of the evidence, `sample` or `caliper_um` that the plan's paper gives."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        unit = next((end for end in _UNITS if key.endswith(end)), "")
        name = key.removesuffix(unit)
        name = _ALSO.get(name, name)
        if key in ("sample", "caliper_um"):
            found[key] = value
        elif name in EVIDENCE:
            found[name] = f"{value}{_UNITS[unit]}" if unit else value
        elif key not in _NOT_EVIDENCE:
            raise BadInput(
                f"the plan's paper is told by {key}, which says nothing of a finished book",
                expected="the paper given apart",
                example="--caliper 104",
            )
    if "caliper_um" in found:  # a class or a grammage may stand beside it in a plan
        return {"caliper_um": found["caliper_um"]}
    if not {"mass", "book_mass", "ream_mass"} & set(found):
        found.pop("size", None)
    return found


def _table(plan: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = plan.get(name, {})
    if not isinstance(table, Mapping):
        raise BadInput(f"[{name}] of the plan is no table", expected="the plan's file read into a dict")
    return table
