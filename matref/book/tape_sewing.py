"""Sewing on tapes: stations, tapes, thread, and which folds it takes: sections all along or two-on, endpapers."""

from __future__ import annotations

import math
from dataclasses import replace

from matref.book.case import cord_length_mm
from matref.book.practice import Practice
from matref.book.rule_row import least, number
from matref.book.spine import threads_in_fold
from matref.book.stations import all_along_thread_mm, band_stations_mm, paired_stations_mm, with_kettles_mm
from matref.book.stitching import Stitching, Tapes, Wish
from matref.book.structures.parts import Block
from matref.book.swell import sewn_singly
from matref.errors import BadInput

SMALL_MM, MEDIUM_MM = 200.0, 300.0
"""Heights at which the tape rules change: under 20 cm, 20 to 30 cm, above."""
SEWN, TIPPED = "sewn", "tipped"
"""How endpapers are joined to the block: sewn as its first and last sections, or tipped on with paste."""


def settled(wish: Wish, sections: int, practice: Practice) -> tuple[Wish, tuple[str, ...]]:
    """Return a wish for two-on with the sections counted that are sewn all along, and what is to be said of it.

    Those that the maker names or the rule's, one more where an odd one is left over. Where no pair is left, the book
    is sewn all along.
    """
    if wish.kind != "two-on":
        return wish, ()
    wanted = fewest_all_along(practice) if wish.singly is None else wish.singly
    if wish.singly is not None and wish.singly > sections:
        raise BadInput(f"{wish.singly} sections sewn singly of {sections}", expected=f"at most {sections}", example="2")
    alone = sewn_singly(sections, wanted)
    if alone < sections:
        return replace(wish, singly=alone), ()
    return replace(wish, kind="all-along", singly=None), (
        f"two-on finds no pair here (sections in the book: {sections}, all along at its ends: {wanted}): sew all along",
    )


def fewest_all_along(practice: Practice) -> int:
    """Sections at both ends of a two-on book that are sewn all along at the least, by the rule."""
    return round(least(practice.two_on_singly))


def on_tapes(bare: Stitching, block: Block, wish: Wish, practice: Practice) -> Stitching:
    """Return the sewing of a book on tapes; of a two-on book the wish has to be settled.

    Thread: the rule's heights for every time it runs along a fold, kettle stitches included, but never less than its
    path. Sewn endpapers are one more fold at each end.
    """
    height = block.page_height_mm
    kettle = number(practice.kettle) if wish.end_mm is None else wish.end_mm
    tapes = _tapes(height, practice) if wish.stations is None else wish.stations
    width = number(practice.tape_width)
    stations = with_kettles_mm(height, kettle, paired_stations_mm(band_stations_mm(height, tapes), width))
    ends = endpaper_folds(wish)
    runs = block.sections * threads_in_fold(wish.kind, block.sections, wish.singly or 0) + ends
    folds = block.sections + ends
    tails = 2 * number(practice.thread_tail)
    path = all_along_thread_mm(folds, height, kettle, block.closed_section_mm.value, tails, runs / folds)
    usual = runs * number(practice.thread_all_along) * height + tails
    back = max(block.spine_mm.high, block.arc_mm.high)
    length = float(math.ceil(cord_length_mm(1, back, number(practice.tape_side))))
    return replace(
        bare,
        stations_mm=stations,
        thread_length_mm=max(path, usual),
        notes=(
            f"{tapes} tape{'s' * (tapes != 1)} {width:g} mm wide, {length:g} mm long; the first and last stations are "
            "the kettle stitches",
            *_at_head(block.ends_mm),
            *_two_on(wish, block.sections),
            _endpapers(wish, folds),
        ),
        seam_mm=(kettle, height - kettle),
        tapes=Tapes(tapes, width, length),
    )


def endpaper_folds(wish: Wish) -> int:
    """Folds of endpaper that the thread runs through: one at each end where they are sewn, else none.

    >>> endpaper_folds(Wish()), endpaper_folds(Wish(endpapers="tipped"))
    (2, 0)
    """
    if wish.endpapers not in (SEWN, TIPPED):
        raise BadInput(f'endpapers "{wish.endpapers[:20]}"', expected="sewn or tipped", example='endpapers = "sewn"')
    return 2 if wish.endpapers == SEWN else 0


def _at_head(ends_mm: float) -> tuple[str, ...]:
    """Say what an untrimmed head adds to the stations."""
    if not ends_mm:
        return ()
    return (
        f"stations are measured from the trimmed head: add the {ends_mm:.4g} mm that are still to be cut off there",
    )


def _two_on(wish: Wish, sections: int) -> tuple[str, ...]:
    if wish.kind != "two-on":
        return ()
    alone = wish.singly or 0
    pairs = f"{sections - alone} sections in pairs, two on one thread"
    if not alone:
        return (f"two-on: {pairs}",)
    first, last = alone - alone // 2, alone // 2
    ends = f"the first {first} and the last {last} sections" if last else "the first section"
    return (f"two-on: {pairs}; {'the first and the last section' if alone == 2 else ends} all along",)


def _endpapers(wish: Wish, folds: int) -> str:
    if wish.endpapers == TIPPED:
        return "the endpapers are tipped on after the sewing: no thread runs through them"
    return f"the endpapers are sewn as the first and the last of {folds} folds, each with a thread of its own"


def _tapes(height_mm: float, practice: Practice) -> int:
    if height_mm < SMALL_MM:
        return round(number(practice.tapes_small))
    return round(number(practice.tapes_medium if height_mm <= MEDIUM_MM else practice.tapes_large))
