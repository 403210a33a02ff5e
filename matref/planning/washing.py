"""Cloth off a bolt: whether it is washed before it is cut, and what it then loses.

Loose cloth shrinks; dressed, backed and felted cloth spoils. Which classes shrink by how much, and which are never
washed, are rows of `rule`; of a class that no row names nothing is said.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from matref.book.rule_row import most
from matref.book.sections import applies
from matref.catalogue.rows import Row, fetch
from matref.estimator.assumptions import Rules
from matref.estimator.support import Support
from matref.planning.material import Material


@dataclass(frozen=True, slots=True)
class Washing:
    """What washing does to one cloth: the share that it loses each way, whether it spoils, and that in words, or "".

    rests_on: the rule that says so.
    """

    share: float = 0.0
    never: bool = False
    words: str = ""
    rests_on: tuple[Support, ...] = ()

    def of(self, stated: float | None) -> Washing:
        """Return the same with the share that the shop or the maker states in place of the rule's."""
        if stated is None or stated == 0:
            return self if stated is None else Washing(0.0, self.never, _NEVER if self.never else "")
        shrinks = f"; it shrinks by {100 * stated:.2g} %"
        return Washing(stated, self.never, f"{shrinks}{_NEVER if self.never else ': wash it, then cut'}")


_NEVER = "; not to be washed"


def washing(connection: sqlite3.Connection, rules: Rules, material: Material) -> Washing:
    """Return what washing does to a cloth: its entry's own shrinkage, else that of its class, the high end.

    A cloth that may be of several classes is washed only if all of them are.
    """
    rows = fetch(
        connection, "SELECT id, name, applies_to FROM rule WHERE name IN ('shrinkage', 'never_washed') ORDER BY rowid"
    )
    if never := next(filter(None, (_named(rows, "never_washed", one) for one in material.classes)), None):
        return Washing(never=True, words=_NEVER, rests_on=_support(rules, never))
    if (stated := _entry(material.entry)) is not None:
        return Washing().of(stated)
    found = [_named(rows, "shrinkage", one) for one in material.classes]
    if not found or not all(found):
        return Washing()
    share, rule = max((most(rules[rule]) / 100, rule) for rule in filter(None, found))
    words = f"; such cloth may shrink by {100 * share:.2g} %: wash it, then cut"
    return Washing(share, words=words, rests_on=_support(rules, rule))


def _support(rules: Rules, rule: str) -> tuple[Support, ...]:
    return (Support("rule", rule, (rules[rule].source_id,)),)


def _named(rows: Sequence[Row], name: str, class_id: str) -> str | None:
    """Return the first rule of that name that speaks of a class."""
    ours = (row for row in rows if row["name"] == name)
    return next((str(row["id"]) for row in ours if applies(str(row.get("applies_to", "")), class_id)), None)


def _entry(entry: Mapping[str, Any]) -> float | None:
    """Return the shrinkage that the entry states, its high end, as a share; None where it states none."""
    ends = [entry.get(f"shrinkage_{end}_pct") for end in ("high", "low")]
    return next((float(end) / 100 for end in ends if end is not None), None)
