"""A sample as it comes back from the file, and its former versions."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass, replace
from typing import Any

PARSED = (
    "label_gsm",
    "width_mm",
    "height_mm",
    "sheets",
    "mass_g",
    "scale_resolution_g",
    "stack_sheets",
    "stack_mm",
    "stack_resolution_mm",
    "book_pages",
    "book_thickness_mm",
    "book_mass_g",
)
"""Columns that hold the plain numbers of the evidence, in SI or the trade's metric units."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value with its standard uncertainty, both in the unit of the name that holds it."""

    value: float
    u: float

    def as_json(self) -> dict[str, float]:
        """Return plain numbers for JSON: value, u."""
        return {"value": self.value, "u": self.u}


@dataclass(frozen=True, slots=True)
class Sample:
    """One sample. `typed`: evidence as typed, by field; `parsed`: its numbers, keys carry units.

    `grammage_gsm`, `caliper_um`: what this sample's measurements alone say (no class line), None where they say
    nothing of it. Samples with the same `pile_id` are of one pile. `withdrawn_at` None: the sample counts.
    `warnings`: what was doubtful about it, told when it was added or edited.
    """

    id: str
    label: str
    paper_class: str | None
    class_id: str | None
    pile_id: str
    note: str
    measured_on: str
    added_at: str
    changed_at: str
    withdrawn_at: str | None
    typed: dict[str, str]
    parsed: dict[str, float]
    grammage_gsm: Measured | None
    caliper_um: Measured | None
    warnings: tuple[str, ...] = ()

    @classmethod
    def of(cls, row: sqlite3.Row) -> Sample:
        """Return the sample that a row of the table holds."""
        typed: dict[str, str] = json.loads(row["as_typed"])
        return cls(
            id=row["id"],
            label=row["label"],
            paper_class=typed.get("paper_class"),
            class_id=row["class_id"],
            pile_id=row["pile_id"],
            note=row["note"],
            measured_on=row["measured_on"],
            added_at=row["added_at"],
            changed_at=row["changed_at"],
            withdrawn_at=row["withdrawn_at"],
            typed=typed,
            parsed={name: row[name] for name in PARSED if row[name] is not None},
            grammage_gsm=_measured(row["grammage_gsm"], row["grammage_u_gsm"]),
            caliper_um=_measured(row["caliper_um"], row["caliper_u_um"]),
        )

    @property
    def same_as(self) -> str:
        """The id that the pile goes by where that is another sample's, else ''."""
        return "" if self.pile_id == self.id else self.pile_id

    def warned(self, warnings: tuple[str, ...]) -> Sample:
        """Return the sample with warnings."""
        return replace(self, warnings=warnings)

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON; keys carry units."""
        return {
            "id": self.id,
            "label": self.label,
            "class": self.paper_class,
            "same_as": self.same_as or None,
            "note": self.note,
            "measured_on": self.measured_on,
            "added_at": self.added_at,
            "changed_at": self.changed_at,
            "withdrawn_at": self.withdrawn_at,
            "as_typed": dict(self.typed),
            "parsed": dict(self.parsed),
            "grammage_gsm": self.grammage_gsm.as_json() if self.grammage_gsm else None,
            "caliper_um": self.caliper_um.as_json() if self.caliper_um else None,
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, slots=True)
class Version:
    """A sample as it stood before an edit: number, what it said, from when until when."""

    version: int
    label: str
    pile_id: str
    note: str
    measured_on: str
    typed: dict[str, str]
    changed_at: str
    replaced_at: str

    @classmethod
    def of(cls, row: sqlite3.Row) -> Version:
        """Return the version that a row of `sample_history` holds."""
        plain = {name: row[name] for name in row.keys() if name not in ("sample_id", "as_typed")}  # noqa: SIM118
        return cls(**plain, typed=json.loads(row["as_typed"]))

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        names = ("version", "label", "pile_id", "note", "measured_on", "changed_at", "replaced_at")
        return {**{name: getattr(self, name) for name in names}, "as_typed": dict(self.typed)}


def _measured(value: float | None, u: float | None) -> Measured | None:
    return None if value is None or u is None else Measured(value, u)
