"""The spine of a sewn book with its doubt: block, swell, spine, creep and the way over the back.

Every input that is not known exactly is a distribution, and the same draws serve all results. What is common to
all sections (leaf, thread, flattening, pressing) is one draw for all of them: such errors add linearly in the
number of sections, not as its square root. Own derivation; the single formulas are in block, swell, creep and
rounding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from matref.book import rule_row
from matref.book.block import pages as pages_of
from matref.book.block import (
    pages_per_inch,
    section_thickness_mm,
    sections_for_pages,
)
from matref.book.check import between, count
from matref.book.creep import FULL_CONTACT, stagger_mm
from matref.book.practice import Practice
from matref.book.propagate import Draw, draw, estimate, shares
from matref.book.rounding import arc_ratio
from matref.book.spine_checks import percent, spine_warnings
from matref.book.swell import sewn_singly, swell_mm, threads_per_fold, two_on_threads_per_fold
from matref.book.text_block import NONE, Text
from matref.errors import BadInput
from matref.estimator.distribution import Distribution, Exact
from matref.estimator.estimate import Estimate

CONTACT = Exact(FULL_CONTACT)
CAUSES = {
    "caliper": "the paper's thickness",
    "pressing": "how far pressing closes the leaves",
    "thread": "the thread's thickness",
    "flattening": "how much of the thread's thickness is left after nipping",
    "endpaper": "the endpapers' thickness",
    "guard": "the guards' thickness",
    "fold": "the spring of the folds",
    "contact": "how closely the folds lie in each other",
}


@dataclass(frozen=True, slots=True)
class Sewing:
    """How it is sewn: thread diameter, mm; flattening φ, 0 to 1; kind "all-along", "two-on" or "machine".

    singly: sections at the ends of a two-on book that are still sewn all along. fold_mm: what the fold of one
    section adds by its own spring, mm. endpaper_folds: endpapers sewn on as sections of their own, each with a thread.
    """

    thread_mm: Distribution
    flattening: Distribution
    kind: str = "all-along"
    singly: int = 0
    fold_mm: Distribution = NONE
    endpaper_folds: int = 0


@dataclass(frozen=True, slots=True)
class Limits:
    """Where practice ends: swell over block thickness; thickness of one closed section, mm; sheets in a section.

    two_on: the structure can be sewn two-on, so that this may be advised; singly: sections all along in it at least.
    """

    swell_ratio: float
    section_mm: float
    sheets: float = math.inf
    two_on: bool = True
    singly: int = 2  # the first and the last

    @classmethod
    def of(cls, practice: Practice, surface: str) -> Limits:
        """Return the limits that the rules set for paper of this surface ("soft", "hard" or "mixed")."""
        return cls(rule_row.number(practice.swell_ratio_accepted), practice.section_limit_mm(surface))


@dataclass(frozen=True, slots=True)
class SpineResult:
    """Thicknesses of a sewn book, mm, with their intervals.

    fore_edge_mm T; swell_mm S; spine_mm T + S; swell_ratio S/T; creep_mm stagger of the nested sheets before trimming;
    arc_mm way over the back; section_mm one closed section of paper; closed_section_mm the same with its thread (the
    pitch of lines at which a soft spine lies flat); causes: share of the spine's variance by input, largest first.
    """

    fore_edge_mm: Estimate
    swell_mm: Estimate
    spine_mm: Estimate
    swell_ratio: Estimate
    creep_mm: Estimate
    pages: int
    pages_per_inch: Estimate
    arc_mm: Estimate
    biggest_cause: str
    warnings: tuple[str, ...]
    section_mm: Estimate
    closed_section_mm: Estimate
    causes: tuple[tuple[str, float], ...]
    sheets_per_section: int
    sections: int

    def as_json(self) -> dict[str, Any]:
        """Return the contract's keys with plain numbers."""
        names = (
            "fore_edge_mm",
            "swell_mm",
            "spine_mm",
            "swell_ratio",
            "creep_mm",
            "pages_per_inch",
            "arc_mm",
        )
        numbers = {name: getattr(self, name).as_json() for name in names}
        words = {"biggest_cause": self.biggest_cause, "warnings": list(self.warnings)}
        return {**numbers, "pages": self.pages, **words}


def spine(
    text: Text,
    sewing: Sewing,
    limits: Limits,
    *,
    rounding_deg: float = 0.0,
    creep_factor: Distribution = CONTACT,
    level: float = 0.9,
) -> SpineResult:
    """Return spine, swell, creep and the rest with intervals at `level`.

    rounding_deg: angle of the round, 0 flat to 180. creep_factor: stagger per nested sheet in leaf thicknesses.
    The way over the back is the arc over a chord as thick as the fore-edge, A = T·(θ/2)/sin(θ/2), but never less
    than the folds with their threads need, T + S.

    >>> text = Text(4, 8, Exact(100), Exact(1))
    >>> result = spine(text, Sewing(Exact(0.5), Exact(0.4)), Limits(0.3, 1.397), rounding_deg=120)
    >>> round(result.fore_edge_mm.value, 3), round(result.swell_mm.value, 3), round(result.spine_mm.value, 3)
    (6.4, 1.6, 8.0)
    >>> round(result.arc_mm.value, 3), result.pages
    (8.0, 128)
    """
    sheets, number = (
        count(text.sheets_per_section, "sheets in a section", 4),
        count(text.sections, "sections", 5),
    )
    threads = threads_in_fold(sewing.kind, number, sewing.singly)
    ends = count(sewing.endpaper_folds, "folds of endpaper", 2, least=0)
    ratio_of_round = arc_ratio(between(rounding_deg, 0, 180, "round of the back, degrees", 120))
    draws = draw(_inputs(text, sewing, creep_factor))

    def block(one: Draw) -> tuple[float, float, float, float]:
        guards = 2 * text.guarded * one["guard"] / 1000
        swell = swell_mm(number, one["thread"], one["flattening"], threads, guards, one["fold"])
        more = swell_mm(ends, one["thread"], one["flattening"], 1.0, 0.0, one["fold"]) if ends else 0.0
        return text.leaf_um(one), text.edge_mm(one), (swell - guards) / number, swell + more

    def whole(one: Draw) -> float:
        _, edge, _, swell = block(one)
        return edge + swell

    rows = draws.evaluate(block)
    closed = [section_thickness_mm(sheets, leaf) for leaf, _, _, _ in rows]
    kappas = draws.columns[draws.names.index("contact")]
    stagger = [stagger_mm(sheets, row[0], kappa) for row, kappa in zip(rows, kappas, strict=True)]
    causes = shares(draws, whole)
    found = {
        "fore_edge_mm": [edge for _, edge, _, _ in rows],
        "swell_mm": [swell for _, _, _, swell in rows],
        "spine_mm": [edge + swell for _, edge, _, swell in rows],
        "swell_ratio": [swell / edge for _, edge, _, swell in rows],
        "creep_mm": stagger,
        "pages_per_inch": [pages_per_inch(leaf) for leaf, _, _, _ in rows],
        "arc_mm": [max(edge * ratio_of_round, edge + swell) for _, edge, _, swell in rows],
        "section_mm": closed,
        "closed_section_mm": [paper + each for paper, (_, _, each, _) in zip(closed, rows, strict=True)],
    }
    estimates = {name: estimate(values, level) for name, values in found.items()}
    return SpineResult(
        **estimates,
        pages=pages_of(sheets, number),
        biggest_cause=_biggest(causes),
        warnings=spine_warnings(
            estimates["swell_ratio"],
            limits.swell_ratio,
            estimates["section_mm"],
            limits.section_mm,
            sheets,
            rounding_deg,
            two_on_share=_two_on_share(number, ends, limits) if sewing.kind == "all-along" else 1.0,
            most_sheets=limits.sheets,
        ),
        causes=tuple((name, share) for name, share in causes.items() if share > 0),
        sheets_per_section=sheets,
        sections=number,
    )


def sections_from(
    sheets_per_section: int, sections: int | None = None, pages: int | None = None
) -> tuple[int, tuple[str, ...]]:
    """Return the number of sections and what is to be said of it, from sections or from pages, one of the two.

    Pages that do not fill whole sections are rounded up, and the pages to spare are told.

    >>> sections_from(4, pages=81)
    (6, ('81 pages do not fill sections of 4 sheets (16 pages each): 6 sections give 96 pages, 15 to spare',))
    """
    if (sections is None) == (pages is None):
        raise BadInput("give sections or pages, one of the two", example="--sections 5")
    if sections is not None:
        return count(sections, "sections", 5), ()
    wanted = count(pages or 0, "pages", 80)
    number = sections_for_pages(wanted, sheets_per_section)
    total = pages_of(sheets_per_section, number)
    if total == wanted:
        return number, ()
    each = 4 * sheets_per_section
    plural = "section gives" if number == 1 else "sections give"
    return number, (
        f"{wanted} pages do not fill sections of {sheets_per_section} sheets ({each} pages each): "
        f"{number} {plural} {total} pages, {total - wanted} to spare",
    )


def threads_in_fold(kind: str, sections: int, singly: int = 0) -> float:
    """Return the mean threads in a fold: as the kind of sewing has it, with `singly` sections of a two-on book alone.

    >>> threads_in_fold("two-on", 12), threads_in_fold("two-on", 12, singly=6)
    (0.5, 0.75)
    """
    if kind == "two-on" and singly:
        return two_on_threads_per_fold(sections, singly)
    return threads_per_fold(kind)


def _two_on_share(sections: int, endpaper_folds: int, limits: Limits) -> float:
    """Threads of the book sewn two-on, its endpapers all along, as a share of all along; 1 where it cannot be."""
    alone = sewn_singly(sections, limits.singly)
    if not limits.two_on or alone == sections:
        return 1.0
    threads = sections * two_on_threads_per_fold(sections, alone) + endpaper_folds
    return threads / (sections + endpaper_folds)


def _inputs(text: Text, sewing: Sewing, creep_factor: Distribution) -> dict[str, Distribution]:
    return text.inputs() | {
        "thread": sewing.thread_mm,
        "flattening": sewing.flattening,
        "fold": sewing.fold_mm,
        "guard": text.guard_um if text.guarded else NONE,
        "contact": creep_factor,
    }


def _biggest(causes: dict[str, float]) -> str:
    if not causes:
        return "nothing: every figure was given as exact"
    name, share = next(iter(causes.items()))
    return f"{CAUSES[name]} ({percent(share)} of the doubt)"
