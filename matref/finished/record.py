"""A finished book as it comes back from the file: what it was, what was predicted, what was measured."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from typing import Any

from matref.estimator.estimate import Estimate
from matref.finished.threads import Threads


@dataclass(frozen=True, slots=True)
class Compared:
    """A thickness as measured, mm, with its standard uncertainty, beside what was predicted when the book was entered.

    `measured` and `u` None: it was not measured.
    """

    measured: float | None
    u: float | None
    predicted: Estimate

    @property
    def inside(self) -> bool | None:
        """Whether the measured value lies in the predicted range, None where it was not measured."""
        if self.measured is None:
            return None
        return self.predicted.low <= self.measured <= self.predicted.high

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "measured": self.measured,
            "u": self.u,
            "predicted": {**self.predicted.as_json(), "level": self.predicted.level},
            "inside": self.inside,
        }


@dataclass(frozen=True, slots=True)
class FinishedBook:
    """One finished book. `paper`: what was known of the paper, as typed. `pressing`: nipped, pressed or unpressed.

    `flattening`, `pressing_factor`: φ and k as this book alone shows them (estimate, no range), None where it does not.
    """

    id: str
    label: str
    note: str
    measured_on: str
    added_at: str
    withdrawn_at: str | None
    sheets_per_section: int
    sections: int
    endpaper_leaves: int
    sewing: str
    pressing: str
    thread: str
    thread_fibre: str
    thread_mm: float
    paper: dict[str, str]
    surface: str
    caliper_um: float
    measured_with: str
    fore_edge_mm: Compared
    spine_mm: Compared
    plan: dict[str, Any] | None
    warnings: tuple[str, ...] = ()

    @classmethod
    def of(cls, row: sqlite3.Row) -> FinishedBook:
        """Return the book that a row of `finished_book` holds."""
        known = row.keys()
        same = {name: row[name] for name in cls.__dataclass_fields__ if name in known and name not in _OTHER}
        predicted = json.loads(row["predicted"])

        def compared(name: str) -> Compared:
            return Compared(row[f"{name}_mm"], row[f"{name}_u_mm"], Estimate(**predicted[f"{name}_mm"]))

        return cls(
            **same,
            fore_edge_mm=compared("fore_edge"),
            spine_mm=compared("spine"),
            paper=json.loads(row["paper"]),
            plan=json.loads(row["plan"]) if row["plan"] else None,
        )

    @property
    def pressed(self) -> bool:
        """Whether the book was nipped or pressed, so that it tells of φ and k."""
        return self.pressing != "unpressed"

    @property
    def leaves(self) -> int:
        """Leaves in the block, endpapers included."""
        return 2 * self.sheets_per_section * self.sections + self.endpaper_leaves

    @property
    def pressing_factor(self) -> float | None:
        """k = T / (leaves · caliper), from `matref.book.block`."""
        edge = self.fore_edge_mm.measured
        return None if edge is None or not self.pressed else 1000 * edge / (self.leaves * self.caliper_um)

    @property
    def flattening(self) -> float | None:
        """φ = S / (threads·d), S spine less fore-edge, from `matref.book.swell` (pressed folds add nothing)."""
        edge, spine = self.fore_edge_mm.measured, self.spine_mm.measured
        if edge is None or spine is None or not self.pressed:
            return None
        return (spine - edge) / self.threads_mm

    @property
    def threads_mm(self) -> float:
        """What all threads in the folds would add if they stayed round, mm: N·m·d, and d for each sewn endpaper."""
        return Threads.of(self.sections, self.sewing, self.plan).count * self.thread_mm

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON; keys carry units."""
        plain = {name: getattr(self, name) for name in self.__dataclass_fields__ if name not in _OTHER}
        return {
            **plain,
            "paper": dict(self.paper),
            "fore_edge_mm": self.fore_edge_mm.as_json(),
            "spine_mm": self.spine_mm.as_json(),
            "flattening": self.flattening,
            "pressing_factor": self.pressing_factor,
            "plan": self.plan,
            "warnings": list(self.warnings),
        }


_OTHER = frozenset({"fore_edge_mm", "spine_mm", "paper", "plan", "warnings"})
