"""What an import did, or would do: one outcome per row of the table."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any, Literal

from matref.errors import BadInput

Outcome = Literal["added", "skipped", "conflict", "refused"]
_NAMED = 20


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """One row: the line of the table it begins on (the heading is line 1), and what becomes of it.

    added · skipped (here already, the same) · conflict (here already, but different) · refused. `said`: reasons or
    warnings, one line each. `sample_id` None: it gets its id when it is added.
    """

    line: int
    outcome: Outcome
    label: str
    sample_id: str | None
    said: tuple[str, ...] = ()

    @property
    def bad(self) -> bool:
        """Whether the row keeps the whole table out."""
        return self.outcome in ("conflict", "refused")

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "line": self.line,
            "outcome": self.outcome,
            "label": self.label,
            "id": self.sample_id,
            "said": list(self.said),
        }


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import did (`applied`) or would do: encoding and separator as found, notes, and every row's outcome."""

    encoding: str
    separator: str
    notes: tuple[str, ...]
    rows: tuple[RowOutcome, ...]
    applied: bool

    def number(self, outcome: Outcome) -> int:
        """Return how many rows had this outcome."""
        return Counter(row.outcome for row in self.rows)[outcome]

    @property
    def bad(self) -> tuple[RowOutcome, ...]:
        """The rows that keep the table out."""
        return tuple(row for row in self.rows if row.bad)

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        counts = {name: self.number(name) for name in ("added", "skipped", "conflict", "refused")}
        return {
            "applied": self.applied,
            **counts,
            "encoding": self.encoding,
            "separator": self.separator,
            "notes": list(self.notes),
            "rows": [row.as_json() for row in self.rows],
        }


class ImportRefused(BadInput):
    """A table has bad rows and nothing of it was written; `report` holds every row's outcome."""

    def __init__(self, report: ImportReport) -> None:
        bad = report.bad
        named = [f"line {row.line}: {row.said[0]}" for row in bad[:_NAMED]]
        if len(bad) > _NAMED:
            named.append(f"and {len(bad) - _NAMED} more")
        rows = "row" if len(bad) == 1 else "rows"
        super().__init__(f"nothing imported, {len(bad)} bad {rows} of {len(report.rows)}: " + " | ".join(named))
        self.report = report
