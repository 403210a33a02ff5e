"""Is the plan wise? One clear sentence for what is not, with the nearest plan that works."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from matref.book.leaf_supply import Supply
from matref.book.plan_input import BookWish, PlanInput
from matref.book.practice import Practice, least, number
from matref.book.sections import Sections
from matref.book.spine import SpineResult
from matref.book.structures import Structure
from matref.book.structures.parts import Part
from matref.errors import BadInput

_EXACT_MM = 1e-9  # forgiven when sums of binary fractions meet a limit


def may_be_sewn(made: Structure, by: str) -> None:
    """Refuse a structure sewn in a way that it cannot be."""
    if by not in ("machine", "hand"):
        raise BadInput(f'sewing by "{by}" is not known', expected="machine or hand", example='by = "hand"')
    if by not in made.by:
        raise BadInput(
            f"a {made.name} cannot be sewn by {by}",
            expected=f"sewing by {made.by[0]}, or the structure soft-cover",
            example=f'by = "{made.by[0]}"',
        )


def rounding_deg(made: Structure, book: BookWish, practice: Practice) -> float:
    """Return the round of the back: as asked, the rule's for a rounded case, else flat."""
    if made.name == "rounded-case":
        return number(practice.round_angle) if book.rounding_deg is None else book.rounding_deg
    if book.rounding_deg:
        raise BadInput(
            f"a {made.name} has a flat back, not one rounded to {book.rounding_deg:g} degrees",
            expected="rounding_deg = 0, or the structure rounded-case",
            example='structure = "rounded-case"',
        )
    return 0.0


def against_pile(found: Sections, supply: Supply) -> Sections:
    """Return the sections with what the pile has left over or lacks."""
    if supply.available is None:
        return found
    lacking = found.sheets - supply.available
    if lacking <= 0:
        return replace(found, left_over_sheets=-lacking)
    can = supply.available // found.sheets_per_section
    nearest = f"{can} sections" if can else "a smaller page or thinner sections"
    lack = (
        f"the book takes {found.sheets} sheets and the pile gives {supply.available}: {nearest} would work, "
        f"or {math.ceil(lacking / supply.per_leaf)} more leaves"
    )
    return replace(found, left_over_sheets=0, warnings=(*found.warnings, lack))


def pitch_warnings(
    pitch_mm: float | None, result: SpineResult, section_limit_mm: float, least_pitch_mm: float
) -> tuple[str, ...]:
    """Say when lines through the spine lie further apart than a closed section is thick, or nearer.

    section_limit_mm, least_pitch_mm: the thickest section and the nearest lines that may be advised.
    """
    flat = result.closed_section_mm
    if pitch_mm is None or flat.low - _EXACT_MM <= pitch_mm <= flat.high + _EXACT_MM:
        return ()
    if pitch_mm < flat.low:
        fewer = max(1, int(result.sheets_per_section * pitch_mm / flat.value))
        return (
            f"lines {pitch_mm:g} mm apart draw the cover tight, a closed section with its thread is "
            f"{flat.value:.1f} mm: a pitch of {flat.value:.1f} mm or {fewer} sheets in a section lies flat",
        )
    sheet = result.section_mm.value / result.sheets_per_section
    more = round((pitch_mm - (flat.value - result.section_mm.value)) / sheet)
    slack = (result.sections - 1) * (pitch_mm - flat.value)
    nearest = round(max(flat.value, least_pitch_mm), 1)
    cures = [f"{more} sheets in a section would fill it"] if more * sheet <= section_limit_mm else []
    if nearest < pitch_mm:
        cures.append(
            f"a pitch of {nearest:g} mm would take up " + ("all of it" if nearest <= flat.high else "some of it")
        )
    return (
        f"lines {pitch_mm:g} mm apart leave the spine {slack:.1f} mm wider than the block: "
        + (" or ".join(cures) or "nearer lines would weaken the cover, so let it be"),
    )


def remnant_warnings(parts: Sequence[Part], asked: PlanInput) -> tuple[str, ...]:
    """Say when the cloth remnant does not give the cloth of the cover."""
    cloth = asked.cover.cloth
    if asked.cloth_piece_mm is None or cloth is None:
        return ()
    wide, high = asked.cloth_piece_mm
    said = []
    for part in parts:
        width = max(part.width_mm, part.width_high_mm)
        if part.material != cloth.name or (width <= wide and part.height_mm <= high):
            continue
        size = f"{width:.0f} x {part.height_mm:.0f} mm"
        need = f"the {part.name} needs {size} and the remnant is {wide:g} x {high:g} mm"
        if width <= high and part.height_mm <= wide:
            said.append(f"{need}: it fits turned, but then the warp runs across the spine")
            continue
        said.append(f"{need}: {_smaller(max(0.0, width - wide), max(0.0, part.height_mm - high), asked)}")
    return tuple(said)


def _smaller(over_width: float, over_height: float, asked: PlanInput) -> str:
    book, turn = asked.book, asked.practice.turn_in
    width, height = int(book.page_width_mm - over_width / 2), int(book.page_height_mm - over_height)
    page = f"a page of {width} x {height} mm would do"
    narrower = math.floor(number(turn) - max(over_width, over_height) / 2)
    if narrower >= least(turn) and book.structure != "soft-cover":
        return f"{page}, or a turn-in of {narrower} mm"
    return page
