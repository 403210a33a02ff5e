"""Hand sewing: stations, thread length and needle for each structure that is sewn by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from matref.book.machine_sewing import line_positions_mm, sewing_order_mm
from matref.book.needles import Needle, hand_needle_words
from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.stations import (
    even_stations_mm,
    hole_count,
    link_stitch_thread_mm,
    long_stitch_thread_mm,
)
from matref.book.stitching import Stitching, Wish, cover_notes
from matref.book.structures.parts import Block
from matref.book.tape_sewing import on_tapes
from matref.errors import BadInput


def by_hand(
    structure: str,
    block: Block,
    layers: Sequence[tuple[str, float]],
    thread: str,
    thread_mm: float,
    needles: Sequence[Needle],
    wish: Wish,
    practice: Practice,
    board_mm: float = 0.0,
) -> Stitching:
    """Return the hand sewing of a structure: stations, thread length and needle; columns of holes in a limp spine.

    board_mm: thickness of the boards that a link stitch goes round.
    """
    bare = Stitching(
        (),
        (),
        (),
        None,
        hand_needle_words(needles, thread_mm, practice),
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
        return _linked(bare, block, wish, practice, board_mm)
    return on_tapes(bare, block, wish, practice)


def _pamphlet(bare: Stitching, block: Block, wish: Wish, practice: Practice) -> Stitching:
    height, end = block.page_height_mm, wish.end_mm
    end = number(practice.pamphlet_end_most) if end is None else end
    holes = wish.stations or hole_count(height, number(practice.pamphlet_five_from))
    if holes % 2 == 0:
        raise BadInput(f"{holes} holes in a pamphlet", expected="an odd number", example=f"stations = {holes + 1}")
    stations = even_stations_mm(height, end, holes)
    length = 2 * height + number(practice.pamphlet_thread_extra)
    over = number(practice.overhang)
    notes = (
        "start and finish at the middle hole, one tail on either side of the long stitch, and knot over it",
        *cover_notes(over),
    )
    return replace(
        bare,
        cover_head_mm=over,
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
    over = number(practice.overhang) if structure == "soft-cover" else number(practice.long_stitch_extra) / 2
    notes = (
        "columns of holes in the spine, one for each section, pierced before sewing from a template",
        *cover_notes(over),
    )
    order = sewing_order_mm(lines) if structure == "soft-cover" else lines
    return replace(
        bare,
        cover_head_mm=over,
        lines_mm=lines,
        order=order,
        stations_mm=stations,
        thread_length_mm=length,
        notes=notes,
        seam_mm=(stations[0], stations[-1]),
    )


def _linked(bare: Stitching, block: Block, wish: Wish, practice: Practice, board_mm: float) -> Stitching:
    """A board stands out a square above the page, so its holes are that much further from its head."""
    height, end = block.page_height_mm, wish.end_mm
    end = number(practice.long_stitch_end) if end is None else end
    stations = even_stations_mm(height, end, wish.stations or round(number(practice.hand_stations)))
    tails = 2 * number(practice.thread_tail)
    square, edge = number(practice.square), number(practice.board_edge)
    section = block.closed_section_mm.value
    length = link_stitch_thread_mm(block.sections, height, end, len(stations), section, tails, edge + board_mm)
    notes = (
        "at every station link under the stitch of the section below; a curved needle passes behind it most easily",
        f"holes in the boards: {edge:.4g} mm from the spine edge, and from the board's head {square:.4g} mm more than "
        "the stations, which are measured on the page",
    )
    return replace(
        bare,
        stations_mm=stations,
        thread_length_mm=length,
        notes=notes,
        seam_mm=(stations[0], stations[-1]),
        board_stations_mm=tuple(square + station for station in stations),
        board_edge_mm=edge,
    )
