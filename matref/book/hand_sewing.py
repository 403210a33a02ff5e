"""Hand sewing: stations, thread length and needle for each structure that is sewn by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from matref.book.machine_sewing import line_positions_mm, sewing_order_mm
from matref.book.needles import Needle, hand_needle
from matref.book.practice import Practice, number
from matref.book.spine import threads_in_fold
from matref.book.stations import (
    all_along_thread_mm,
    band_stations_mm,
    even_stations_mm,
    hole_count,
    link_stitch_thread_mm,
    long_stitch_thread_mm,
    paired_stations_mm,
    with_kettles_mm,
)
from matref.book.stitching import Stitching, Wish
from matref.book.structures.parts import Block
from matref.errors import BadInput

SMALL_MM, MEDIUM_MM = 200.0, 300.0
"""Heights at which the tape rules change: under 20 cm, 20 to 30 cm, above."""


def by_hand(
    structure: str,
    block: Block,
    layers: Sequence[tuple[str, float]],
    thread: str,
    thread_mm: float,
    needles: Sequence[Needle],
    wish: Wish,
    practice: Practice,
) -> Stitching:
    """Return the hand sewing of a structure: stations, thread length and needle; columns of holes in a limp spine."""
    needle = hand_needle(needles, thread_mm)
    bare = Stitching(
        (),
        (),
        (),
        None,
        needle.name if needle else "hand needle a little thicker than the thread",
        thread,
        0.0,
        None,
        (0.0, block.page_height_mm),
        tuple(layers),
        (),
        (),
    )
    if structure == "pamphlet":
        return _pamphlet(bare, block, wish, practice)
    if structure in ("long-stitch", "soft-cover"):
        return _through_spine(structure, bare, block, wish, practice)
    if structure == "link-stitch":
        return _linked(bare, block, wish, practice)
    return _on_tapes(bare, block, wish, practice)


def _pamphlet(bare: Stitching, block: Block, wish: Wish, practice: Practice) -> Stitching:
    height, end = block.page_height_mm, wish.end_mm
    end = number(practice.pamphlet_end_most) if end is None else end
    holes = wish.stations or hole_count(height, number(practice.pamphlet_five_from))
    if holes % 2 == 0:
        raise BadInput(f"{holes} holes in a pamphlet", expected="an odd number", example=f"stations = {holes + 1}")
    stations = even_stations_mm(height, end, holes)
    length = 2 * height + number(practice.pamphlet_thread_extra)
    notes = ("start and finish at the middle hole, one tail on either side of the long stitch, and knot over it",)
    return replace(
        bare,
        lines_mm=(0.0,),
        order=(0.0,),
        stations_mm=stations,
        thread_length_mm=length,
        notes=notes,
        seam_mm=(stations[0], stations[-1]),
    )


def _through_spine(structure: str, bare: Stitching, block: Block, wish: Wish, practice: Practice) -> Stitching:
    height, end = block.page_height_mm, wish.end_mm
    end = number(practice.long_stitch_end) if end is None else end
    stations = even_stations_mm(height, end, wish.stations or round(number(practice.hand_stations)))
    lines = line_positions_mm(block.sections, block.pitch_mm)
    tails = 2 * number(practice.thread_tail)
    length = long_stitch_thread_mm(
        block.sections, height, end, len(stations), bare.under_needle_mm, block.pitch_mm, tails
    )
    notes = ("columns of holes in the spine, one for each section, pierced before sewing from a template",)
    order = sewing_order_mm(lines) if structure == "soft-cover" else lines
    return replace(
        bare,
        lines_mm=lines,
        order=order,
        stations_mm=stations,
        thread_length_mm=length,
        notes=notes,
        seam_mm=(stations[0], stations[-1]),
    )


def _linked(bare: Stitching, block: Block, wish: Wish, practice: Practice) -> Stitching:
    height, end = block.page_height_mm, wish.end_mm
    end = number(practice.long_stitch_end) if end is None else end
    stations = even_stations_mm(height, end, wish.stations or round(number(practice.hand_stations)))
    tails = 2 * number(practice.thread_tail)
    length = link_stitch_thread_mm(block.sections, height, end, len(stations), block.closed_section_mm.value, tails)
    notes = ("at every station link under the stitch of the section below; the same stations pierce both boards",)
    return replace(
        bare, stations_mm=stations, thread_length_mm=length, notes=notes, seam_mm=(stations[0], stations[-1])
    )


def _on_tapes(bare: Stitching, block: Block, wish: Wish, practice: Practice) -> Stitching:
    height = block.page_height_mm
    kettle = number(practice.kettle) if wish.end_mm is None else wish.end_mm
    tapes = _tapes(height, practice) if wish.stations is None else wish.stations
    width = number(practice.tape_width)
    stations = with_kettles_mm(height, kettle, paired_stations_mm(band_stations_mm(height, tapes), width))
    threads = threads_in_fold(wish.kind, block.sections, wish.singly)
    tails = 2 * number(practice.thread_tail)
    length = all_along_thread_mm(block.sections, height, kettle, block.closed_section_mm.value, tails, threads)
    notes = [
        f"{tapes} tapes {width:g} mm wide; the first and last stations are the kettle stitches",
        "stations are measured from the trimmed head: add what is still to be cut off there",
    ]
    if wish.kind == "two-on":
        notes.append("two-on: two sections share one thread; sew the first and last sections all along")
    return replace(
        bare,
        stations_mm=stations,
        thread_length_mm=length,
        notes=tuple(notes),
        seam_mm=(kettle, height - kettle),
    )


def _tapes(height_mm: float, practice: Practice) -> int:
    if height_mm < SMALL_MM:
        return round(number(practice.tapes_small))
    return round(number(practice.tapes_medium if height_mm <= MEDIUM_MM else practice.tapes_large))
