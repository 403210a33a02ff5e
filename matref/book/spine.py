"""The spine of a sewn book with its doubt: block, swell, spine, creep and the way over the back.

Every input that is not known exactly is a distribution, and the same draws serve all results. What is common to
all sections (leaf, thread, flattening, pressing) is one draw for all of them: such errors add linearly in the
number of sections, not as its square root. Own derivation; the single formulas are in block, swell, creep and
rounding.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from matref.book.block import (
    fore_edge_mm,
    leaf_in_block_um,
    pages_per_inch,
    section_thickness_mm,
    sections_for_pages,
)
from matref.book.block import pages as pages_of
from matref.book.check import between, count
from matref.book.creep import FULL_CONTACT, stagger_mm
from matref.book.propagate import Draw, draw, estimate, shares
from matref.book.rounding import arc_ratio
from matref.book.spine_checks import percent, spine_warnings
from matref.book.swell import swell_mm, threads_per_fold, two_on_threads_per_fold
from matref.errors import BadInput
from matref.estimator.distribution import Distribution, Exact
from matref.estimator.estimate import Estimate

NONE = Exact(0.0)
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
class Text:
    """What the text block is made of.

    sheets_per_section, sections: counts. caliper_um: single-sheet caliper, µm; pressing: leaf thickness in the
    pressed block over that caliper. endpaper_leaves: leaves of endpaper in all that count into the block's thickness
    (paste-downs do not); endpaper_um: their caliper, None when they are the text's paper. guarded: sections with a
    strip folded round them; guard_um: the strip's thickness.
    """

    sheets_per_section: int
    sections: int
    caliper_um: Distribution
    pressing: Distribution
    endpaper_leaves: int = 0
    endpaper_um: Distribution | None = None
    guarded: int = 0
    guard_um: Distribution = NONE


@dataclass(frozen=True, slots=True)
class Sewing:
    """How it is sewn: thread diameter, mm; flattening φ, 0 to 1; kind "all-along", "two-on" or "machine".

    singly: sections at the ends of a two-on book that are still sewn all along. fold_mm: what the fold of one
    section adds by its own spring, mm.
    """

    thread_mm: Distribution
    flattening: Distribution
    kind: str = "all-along"
    singly: int = 0
    fold_mm: Distribution = NONE


@dataclass(frozen=True, slots=True)
class Limits:
    """Where practice ends: swell over block thickness; thickness of one closed section, mm."""

    swell_ratio: float
    section_mm: float


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
    ratio_of_round = arc_ratio(between(rounding_deg, 0, 180, "round of the back, degrees", 120))
    draws = draw(_inputs(text, sewing, creep_factor))

    def block(one: Draw) -> tuple[float, float, float]:
        leaf = leaf_in_block_um(one["caliper"], one["pressing"])
        paper = leaf if text.endpaper_um is None else leaf_in_block_um(one["endpaper"], one["pressing"])
        edge = fore_edge_mm(sheets, number, leaf, text.endpaper_leaves * paper / 1000)
        guards = 2 * text.guarded * one["guard"] / 1000
        swell = swell_mm(number, one["thread"], one["flattening"], threads, guards, one["fold"])
        return leaf, edge, swell

    def whole(one: Draw) -> float:
        _, edge, swell = block(one)
        return edge + swell

    rows = draws.evaluate(block)
    closed = [section_thickness_mm(sheets, leaf) for leaf, _, _ in rows]
    kappas = draws.columns[draws.names.index("contact")]
    stagger = [stagger_mm(sheets, leaf, kappa) for (leaf, _, _), kappa in zip(rows, kappas, strict=True)]
    guards_mm = draws.columns[draws.names.index("guard")]
    causes = shares(draws, whole)
    found = {
        "fore_edge_mm": [edge for _, edge, _ in rows],
        "swell_mm": [swell for _, _, swell in rows],
        "spine_mm": [edge + swell for _, edge, swell in rows],
        "swell_ratio": [swell / edge for _, edge, swell in rows],
        "creep_mm": stagger,
        "pages_per_inch": [pages_per_inch(leaf) for leaf, _, _ in rows],
        "arc_mm": [max(edge * ratio_of_round, edge + swell) for _, edge, swell in rows],
        "section_mm": closed,
        "closed_section_mm": [
            paper + (swell - 2 * text.guarded * guard / 1000) / number
            for paper, (_, _, swell), guard in zip(closed, rows, guards_mm, strict=True)
        ],
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
            sewing.kind,
            rounding_deg,
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


def _inputs(text: Text, sewing: Sewing, creep_factor: Distribution) -> dict[str, Distribution]:
    inputs = {
        "caliper": text.caliper_um,
        "pressing": text.pressing,
        "thread": sewing.thread_mm,
        "flattening": sewing.flattening,
        "fold": sewing.fold_mm,
        "guard": text.guard_um if text.guarded else NONE,
        "contact": creep_factor,
    }
    return inputs if text.endpaper_um is None else {**inputs, "endpaper": text.endpaper_um}


def _biggest(causes: dict[str, float]) -> str:
    if not causes:
        return "nothing: every figure was given as exact"
    name, share = next(iter(causes.items()))
    return f"{CAUSES[name]} ({percent(share)} of the doubt)"
