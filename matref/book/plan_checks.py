"""Is the plan wise? One clear sentence for what is not, with the nearest plan that works."""

from __future__ import annotations

import math
from dataclasses import replace

from matref.book.leaf_supply import Supply
from matref.book.plan_input import BookWish
from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.sections import Sections
from matref.book.spine import SpineResult
from matref.book.spine_checks import either
from matref.book.structures import Structure
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
    sheet = result.section_mm.value / result.sheets_per_section
    thread = flat.value - result.section_mm.value
    if pitch_mm < flat.low:
        fewer = int((pitch_mm - thread) / sheet + _EXACT_MM)
        cures = [f"a pitch of {flat.value:.1f} mm", f"{fewer} sheets in a section" if fewer > 0 else "thinner thread"]
        return (
            f"lines {pitch_mm:g} mm apart draw the cover tight, a closed section with its thread is "
            f"{flat.value:.1f} mm: {either(cures)} lies flat",
        )
    more = round((pitch_mm - thread) / sheet)
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
