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
from matref.book.needles import Needle, machine_needle
from matref.book.practice import Practice, most, number
from matref.book.stations import span_mm
from matref.book.structures.parts import Block
from matref.errors import BadInput

_EXACT_MM = 1e-9  # forgiven when sums of binary fractions meet a limit


@dataclass(frozen=True, slots=True)
class Wish:
    """What the maker fixes; None or empty is left to the rules. coated: cloth or paper that tears along holes."""

    stitch_mm: float | None = None
    longest_stitch_mm: float | None = None
    stations: int | None = None
    end_mm: float | None = None
    coated: bool = False
    kind: str = "all-along"
    singly: int = 0


@dataclass(frozen=True, slots=True)
class Stitching:
    """Lines, mm from the spine's centre, front negative; order, the same in sewing order; stations, mm from the trimmed
    head; layers under the needle. stitch_mm and paper_left are None for hand sewing."""

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
            "stitch_mm": self.stitch_mm,
            "needle": self.needle,
            "thread": self.thread,
            "thread_length_mm": self.thread_length_mm,
            "paper_left": self.paper_left,
            "seam_from_head_mm": list(self.seam_mm),
            "layers": [{"layer": name, "mm": thickness} for name, thickness in self.layers],
            "notes": list(self.notes),
        }


def by_machine(
    block: Block,
    layers: Sequence[tuple[str, float]],
    thread: str,
    needles: Sequence[Needle],
    wish: Wish,
    practice: Practice,
) -> Stitching:
    """Return the machine sewing of one section after another through the cover, or of a pamphlet through its fold.

    layers: what lies under the needle, the section's sheets first. BadInput when they are more than the machine's
    limit can be.
    """
    under = sum(thickness for _, thickness in layers)
    warnings = _limit_warnings(block, layers, under, practice)
    needle = machine_needle(needles, under, practice)
    stitch, stitch_said = _stitch(wish, needle, practice)
    single = block.sections == 1
    lines = (0.0,) if single else line_positions_mm(block.sections, block.pitch_mm)
    if not single and block.pitch_mm <= needle.blade_mm:
        raise BadInput(
            f"lines {block.pitch_mm:g} mm apart are nearer than the {needle.blade_mm:g} mm needle is thick",
            expected=f"a pitch of about {number(practice.pitch):g} mm",
            example=f"pitch_mm = {max(number(practice.pitch), 2 * needle.blade_mm):g}",
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
        needle.name,
        thread,
        length,
        paper_left(needle.blade_mm, stitch),
        (end, end + seam),
        tuple(layers),
        (
            "common practice: first section on the centre line, then the outermost lines, then inward",
            f"under the needle {under:.2f} mm of the machine's {limit:g} mm; try a sample of every layer first",
            "draw the thread ends to the inside, knot them and trim; no back-stitching",
        ),
        (*warnings, *stitch_said),
    )


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


def _stitch(wish: Wish, needle: Needle, practice: Practice) -> tuple[float, tuple[str, ...]]:
    row = practice.stitch_coated if wish.coated else practice.stitch
    stitch = wish.stitch_mm if wish.stitch_mm is not None else number(row)
    said = []
    if wish.longest_stitch_mm is not None and stitch > wish.longest_stitch_mm:
        said.append(f"the machine's longest stitch is {wish.longest_stitch_mm:g} mm, not {stitch:g}: set that")
        stitch = wish.longest_stitch_mm
    left, wanted = paper_left(needle.blade_mm, stitch), number(practice.paper_left_least)
    if left < wanted:
        longer = needle.blade_mm / (1 - wanted)
        said.append(
            f"a {stitch:g} mm stitch leaves {100 * left:.0f} % of the paper between the holes of a "
            f"{needle.blade_mm:g} mm needle: {longer:.2g} mm leaves {100 * wanted:.0f} %"
        )
    return stitch, tuple(said)
