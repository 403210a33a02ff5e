"""Answers that join the file with the book: rules and materials looked up, then handed to the pure functions."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from matref import materials
from matref.book.practice import Practice
from matref.book.rule_row import spread
from matref.book.spine import Limits, Sewing, SpineResult, sections_from, spine
from matref.book.text_block import Text
from matref.errors import BadInput
from matref.estimator.as_written import as_written
from matref.estimator.assumptions import Rules
from matref.estimator.caliper import CaliperResult, caliper
from matref.estimator.distribution import Distribution
from matref.estimator.estimate import Estimate
from matref.estimator.evidence import Evidence, Typed
from matref.estimator.observation import Observation
from matref.estimator.support import Support
from matref.finished.learning import fibre_of, flattening_posterior, pressing_posterior, taught


@dataclass(frozen=True, slots=True)
class Paper:
    """The paper of a book: single-sheet caliper in µm, whether its surface is soft, and what it rests on."""

    caliper_um: Distribution
    surface: str
    rests_on: tuple[Support, ...]
    warnings: tuple[str, ...]
    estimate: CaliperResult | None


@dataclass(frozen=True, slots=True)
class SpineAnswer:
    """A spine with what it rests on. Attributes of the result are reachable by the contract's names."""

    result: SpineResult
    caliper_um: Estimate
    rests_on: tuple[Support, ...]
    warnings: tuple[str, ...]
    thread: str
    level: float

    def __getattr__(self, name: str) -> Any:
        """Return an attribute of the result: fore_edge_mm, swell_mm, spine_mm, pages …"""
        return getattr(self.result, name)

    def as_json(self) -> dict[str, Any]:
        """Return the contract's keys as plain values."""
        return {
            **self.result.as_json(),
            "sections": self.result.sections,
            "sheets_per_section": self.result.sheets_per_section,
            "section_mm": self.result.section_mm.as_json(),
            "caliper_um": self.caliper_um.as_json(),
            "thread": self.thread,
            "level": self.level,
            "causes": {name: round(share, 3) for name, share in self.result.causes},
            "rests_on": [s.as_json() for s in self.rests_on],
            "warnings": list(self.warnings),
        }


def paper_of(
    connection: sqlite3.Connection,
    evidence: Evidence,
    extra: Sequence[Observation] = (),
    caliper_um: Typed | None = None,
    level: float = 0.9,
    rules: Rules | None = None,
) -> Paper:
    """Return the paper of a book from a measured caliper or from evidence, one of the two.

    A caliper typed with a unit is doubtful by half its last digit either way. `rules`: those that `extra` was read by.
    """
    if caliper_um is not None:
        if evidence.typed() or extra:
            raise BadInput(
                "a measured caliper and other evidence of the paper", expected="one of the two", example="--caliper 104"
            )
        from matref.quantities import parse_thickness

        quantity = parse_thickness(caliper_um, what="caliper")
        if not 8 <= quantity.value <= 8000:
            raise BadInput(f"a caliper of {quantity.value:g} µm", expected="8 to 8000 µm", example="--caliper 104")
        words = f"caliper given as {quantity.value:g} µm"
        return Paper(as_written(quantity), "mixed", (Support("measurement", words),), (), None)
    answer = caliper(connection, evidence, level=level, extra=extra, rules=rules, with_advice=False)
    return Paper(answer.distribution, answer.surface, answer.rests_on, answer.warnings, answer)


def spine_answer(
    connection: sqlite3.Connection,
    evidence: Evidence,
    extra: Sequence[Observation],
    *,
    evidence_rules: Rules | None = None,
    caliper_um: Typed | None,
    sheets_per_section: int,
    sections: int | None,
    pages: int | None,
    thread: Typed,
    sewing: str,
    rounding_deg: float,
    level: float,
) -> SpineAnswer:
    """Return the spine of a sewn book of this paper and thread. `evidence_rules`: those that `extra` was read by."""
    if sheets_per_section < 1:
        raise BadInput(
            f"{sheets_per_section} sheets in a section", expected="one or more", example="--sheets-per-section 4"
        )
    count, said = sections_from(sheets_per_section, sections, pages)
    rules = Rules(connection)
    practice = Practice.of(rules.__getitem__)
    paper = paper_of(connection, evidence, extra, caliper_um, level, evidence_rules)
    material = materials.thread(connection, thread)
    text = Text(sheets_per_section, count, paper.caliper_um, pressing_posterior(connection))
    stitched = Sewing(
        material.diameter_mm,
        flattening_posterior(connection, paper.surface, fibre_of(connection, material)),
        sewing,
        fold_mm=practice.fold_spring_of(),
    )
    limits = Limits.of(practice, paper.surface)
    result = spine(
        text, stitched, limits, rounding_deg=rounding_deg, creep_factor=spread(practice.creep_factor), level=level
    )
    used = ("pressing_factor", "flattening", "swell_ratio_accepted", "creep_factor")
    rows = [getattr(practice, name) for name in used]
    rests_on = [
        *paper.rests_on,
        Support("thread", material.name, material.source_ids),
        *(Support("rule", row.rule_id, (row.source_id,)) for row in rows),
        *(Support("samples", words) for words in _lessons(connection)),
    ]
    return SpineAnswer(
        replace(result, warnings=()),
        Estimate.of(paper.caliper_um, level),
        tuple(rests_on),
        (*said, *paper.warnings, *result.warnings),
        material.name,
        level,
    )


def _lessons(connection: sqlite3.Connection) -> list[str]:
    """Return what the user's finished books were used for, in words."""
    lessons = zip(("the pressing factor", "the thread's flattening"), taught(connection), strict=True)
    return [f"{books} finished books of your own, for {what}" for what, books in lessons if books]
