"""Is it a book that hands can make? Pages of a believable size, a back of a believable thickness, turn-ins that hold.

Where practice ends is a rule of the catalogue; what is said names the likely slip or the nearest plan that works.
"""

from __future__ import annotations

import math

from matref.book.case import turn_in_overlap_mm
from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.structures import Structure
from matref.book.structures.parts import Cover, Layer
from matref.errors import BadInput
from matref.estimator.estimate import Estimate


def page_doubts(width_mm: float, height_mm: float, practice: Practice) -> tuple[str, ...]:
    """Say when a page is smaller or larger than nearly any book's, and what it would be in centimetres.

    width_mm, height_mm: the trimmed page.
    """
    least, most = number(practice.page_least), number(practice.page_most)
    page = f"a page of {width_mm:g} x {height_mm:g} mm"
    if min(width_mm, height_mm) < least:
        slip = f"{10 * width_mm:g} x {10 * height_mm:g} mm if centimetres were meant"
        return (f"{page} is less than a microminiature book's inch ({least:g} mm): {slip}",)
    if max(width_mm, height_mm) > most:
        slip = f"{width_mm / 10:g} x {height_mm / 10:g} mm if tenths of a millimetre were typed"
        return (f"{page} is larger than an atlas folio ({most:g} mm): {slip}",)
    return ()


def thickness_doubts(spine_mm: Estimate, sections: int, practice: Practice) -> tuple[str, ...]:
    """Say when the sewn back is thicker than a book that binders still bind as one volume."""
    most = number(practice.block_most)
    if spine_mm.value <= most:
        return ()
    fewer = int(sections * most / spine_mm.value)
    words = f"{fewer} sections in a volume stay below that" if fewer > 1 else "thinner paper or fewer sheets"
    return (
        f"a back of {spine_mm.value:.0f} mm is thicker than the {most:.4g} mm that binders bind as one volume: {words}",
    )


def turn_in_doubts(made: Structure, cover: Cover, practice: Practice) -> tuple[str, ...]:
    """Say when a turn-in leaves too little on the inside to hold, or to reach under what is pasted over it.

    Of a turn-in TI - b - (π/2)·c lies inside a board b thick, c the covering; a soft cover's goes over the edge of its
    card, a clearance in from the fold. BadInput where it does not reach the inside at all. Exact for square edges.
    """
    lap = number(practice.turn_in_lap)
    if made.name == "soft-cover":
        if cover.cloth is None or cover.card is None:
            return ()
        away = number(practice.interfacing_clearance)
        return _doubt(number(practice.turn_in_soft), cover.card, cover.cloth, away, lap, 0.0)
    covering = cover.cloth if made.case else cover.paper or cover.cloth
    if cover.board is None or covering is None or made.through_cover:
        return ()
    margin = number(practice.endpaper_short) + (number(practice.square) if made.case else 0.0)
    thickest = max((covering, cover.paper or covering), key=lambda layer: layer.thickness_mm)
    return _doubt(number(practice.turn_in), cover.board, thickest, 0.0, lap, margin)


def _doubt(
    turn_mm: float, over: Layer, cloth: Layer, away_mm: float, lap_mm: float, margin_mm: float
) -> tuple[str, ...]:
    """lap_mm: what it takes to hold; margin_mm: how far inside the edge begins what is pasted over the turn-in."""
    wanted_mm = max(lap_mm, margin_mm)
    enough = math.ceil(wanted_mm + away_mm + over.thickness_mm + math.pi / 2 * cloth.thickness_mm)
    try:
        inside = turn_in_overlap_mm(turn_mm, over.thickness_mm, cloth.thickness_mm) - away_mm
    except BadInput:
        inside = 0.0
    if inside <= 0:
        raise BadInput(
            f"a turn-in of {turn_mm:g} mm does not come to lie on the inside of the {over.name}",
            expected=f"{enough} mm or more",
            example=f"turn_in_mm = {max(enough, round(turn_mm))}",
        )
    if inside >= wanted_mm:
        return ()
    least = "that it takes to hold" if lap_mm >= margin_mm else "at which what is pasted over it begins"
    return (
        f"of a turn-in of {turn_mm:g} mm only {inside:.1f} mm come to lie inside, less than the {wanted_mm:.2g} mm "
        f"{least}: take {enough} mm",
    )
