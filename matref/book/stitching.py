"""What a sewing plan says, and sewing by machine: lines, order, stitch, needle and what lies under it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matref.book.machine_sewing import (
    line_positions_mm,
    lockstitch_thread_mm,
    paper_left,
    sewing_order_mm,
)
from matref.book.needles import Needle, machine_doubts, machine_needle, takes
from matref.book.practice import Practice
from matref.book.rule_row import most, number
from matref.book.stations import span_mm
from matref.book.structures.parts import Block
from matref.errors import BadInput

_ORDER = "common practice: first section on the centre line, then the outermost lines, then inward"
_EXACT_MM = 1e-9  # forgiven when sums of binary fractions meet a limit


@dataclass(frozen=True, slots=True)
class Wish:
    """What the maker fixes; None or empty is left to the rules. coated: cloth or paper that tears along holes.

    singly: sections of a two-on book that are still sewn all along. endpapers: of a case, "sewn" as sections of their
    own or "tipped" on.
    """

    stitch_mm: float | None = None
    longest_stitch_mm: float | None = None
    stations: int | None = None
    end_mm: float | None = None
    coated: bool = False
    kind: str = "all-along"
    singly: int | None = None
    endpapers: str = "sewn"


@dataclass(frozen=True, slots=True)
class Tapes:
    """What a book is sewn on: how many tapes, how wide, and the length to cut each of them, mm."""

    count: int
    width_mm: float
    length_mm: float

    def as_json(self) -> dict[str, Any]:
        """Return plain values."""
        return {"count": self.count, "width_mm": self.width_mm, "length_mm": self.length_mm}


@dataclass(frozen=True, slots=True)
class Stitching:
    """Lines, mm from the spine's centre, front negative; order, the same in sewing order; stations, mm from the trimmed
    head; layers under the needle. stitch_mm and paper_left are None for hand sewing. board_stations_mm: holes in the
    boards of a link stitch, mm from the board's head, board_edge_mm from its spine edge. cover_head_mm: how far a
    sewn-on cover stands out at the head, so that stations lie that much further from its edge."""

    lines_mm: tuple[float, ...]
    order: tuple[float, ...]
    stations_mm: tuple[float, ...]
    stitch_mm: float | None
    needle: str
    thread: str
    thread_length_mm: float
    paper_left: float | None
    seam_mm: tuple[float, float]
    layers: tuple[tuple[str, float], ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    board_stations_mm: tuple[float, ...] = ()
    board_edge_mm: float | None = None
    cover_head_mm: float = 0.0
    tapes: Tapes | None = None

    @property
    def under_needle_mm(self) -> float:
        """Sum of the layers."""
        return sum(thickness for _, thickness in self.layers)

    def as_json(self) -> dict[str, Any]:
        """Return plain values."""
        return {
            "lines_mm": list(self.lines_mm),
            "order": list(self.order),
            "stations_mm": list(self.stations_mm),
            "board_stations_mm": list(self.board_stations_mm),
            "board_edge_mm": self.board_edge_mm,
            "cover_head_mm": self.cover_head_mm,
            "stitch_mm": self.stitch_mm,
            "needle": self.needle,
            "thread": self.thread,
            "thread_length_mm": self.thread_length_mm,
            "paper_left": self.paper_left,
            "seam_from_head_mm": list(self.seam_mm),
            "layers": [{"layer": name, "mm": thickness} for name, thickness in self.layers],
            "notes": list(self.notes),
            "tapes": None if self.tapes is None else self.tapes.as_json(),
        }


def by_machine(
    block: Block,
    layers: Sequence[tuple[str, float]],
    thread: str,
    thread_mm: float,
    needles: Sequence[Needle],
    wish: Wish,
    practice: Practice,
) -> Stitching:
    """Return the machine sewing of one section after another through the cover, or of a pamphlet through its fold.

    thread_mm: its diameter. layers: what lies under the needle, the section's sheets first. BadInput when they are more
    than the machine's limit can be.
    """
    under = sum(thickness for _, thickness in layers)
    warnings = _limit_warnings(block, layers, under, practice)
    needle = machine_needle(needles, under, thread_mm, practice)
    blade = needle.blade_mm or 0.0
    stitch, stitch_said = _stitch(wish, blade, practice)
    single = block.sections == 1
    lines = (0.0,) if single else line_positions_mm(block.sections, block.pitch_mm)
    if not single and block.pitch_mm <= blade:
        raise BadInput(
            f"lines {block.pitch_mm:g} mm apart are nearer than the {blade:g} mm needle is thick",
            expected=f"a pitch of about {number(practice.pitch):g} mm",
            example=f"pitch_mm = {max(number(practice.pitch), 2 * blade):g}",
        )
    end = wish.end_mm if wish.end_mm is not None else _machine_end(block, single, practice)
    seam = span_mm(block.page_height_mm, end)
    tails = 4 * number(practice.thread_tail)
    length = block.sections * lockstitch_thread_mm(seam, stitch, under, tails)
    limit = number(practice.under_needle_limit)
    return Stitching(
        lines,
        sewing_order_mm(lines),
        (),
        stitch,
        needle.name
        if len(needles) == 1 or takes(needle, thread_mm, practice)
        else "no machine needle takes this thread",
        thread,
        length,
        paper_left(blade, stitch),
        (end, end + seam),
        tuple(layers),
        (
            *(() if single else (_ORDER,)),
            f"under the needle {under:.2f} mm of the machine's {limit:g} mm; try a sample of every layer first",
            "draw the thread ends to the inside, knot them and trim; no back-stitching",
            *cover_notes(number(practice.overhang)),
        ),
        (*warnings, *stitch_said, *machine_doubts(needle, thread_mm, practice)),
        cover_head_mm=number(practice.overhang),
    )


def cover_notes(overhang_mm: float) -> tuple[str, ...]:
    """Say where stations lie on a cover that stands out at the head; nothing for one cut flush.

    >>> cover_notes(0.0), len(cover_notes(3.175))
    ((), 1)
    """
    if overhang_mm == 0:
        return ()
    return (f"stations are measured on the page: on the cover add the {overhang_mm:.4g} mm by which it stands out",)


def _machine_end(block: Block, single: bool, practice: Practice) -> float:
    wanted = number(practice.machine_end_single if single else practice.machine_end)
    return min(wanted, block.page_height_mm / 4)


def _limit_warnings(
    block: Block, layers: Sequence[tuple[str, float]], under: float, practice: Practice
) -> tuple[str, ...]:
    row = practice.under_needle_limit
    limit, hard = number(row), most(row)
    if under <= limit + _EXACT_MM:
        return ()
    sheets_mm = layers[0][1]
    fewer = int((limit - (under - sheets_mm)) / (sheets_mm / block.sheets_per_section) + _EXACT_MM)
    nearest = f"{fewer} sheets in a section" if fewer >= 1 else "sewing by hand, or a thinner cover"
    if under > hard + _EXACT_MM:
        raise BadInput(
            f"{block.sheets_per_section} sheets with the cover are {under:.2f} mm under the needle, more than the "
            f"{hard:g} mm a machine of this kind can take",
            expected=nearest,
            example=f"sheets_per_section = {fewer}" if fewer >= 1 else 'by = "hand"',
        )
    return (
        f"{under:.2f} mm under the needle is above the {limit:g} mm taken as this machine's limit: {nearest}, or try a "
        "sample first, turning the hand wheel",
    )


def _stitch(wish: Wish, blade_mm: float, practice: Practice) -> tuple[float, tuple[str, ...]]:
    row = practice.stitch_coated if wish.coated else practice.stitch
    stitch = wish.stitch_mm if wish.stitch_mm is not None else number(row)
    said = []
    if wish.longest_stitch_mm is not None and stitch > wish.longest_stitch_mm:
        said.append(f"the machine's longest stitch is {wish.longest_stitch_mm:g} mm, not {stitch:g}: set that")
        stitch = wish.longest_stitch_mm
    left, wanted = paper_left(blade_mm, stitch), number(practice.paper_left_least)
    if left < wanted:
        longer = blade_mm / (1 - wanted)
        said.append(
            f"a {stitch:g} mm stitch leaves {100 * left:.0f} % of the paper between the holes of a "
            f"{blade_mm:g} mm needle: {longer:.2g} mm leaves {100 * wanted:.0f} %"
        )
    return stitch, tuple(said)
