"""What the pieces on the shelf do not give, in one sentence each, with the nearest plan that works."""

from __future__ import annotations

import math
from collections.abc import Mapping

from matref.book.plan_input import PlanInput
from matref.book.plan_result import Plan
from matref.book.practice import Practice
from matref.book.rule_row import RuleRow, least, number
from matref.book.spine_checks import either
from matref.book.structures.parts import Chain, Part
from matref.planning.shelf import Piece, Shelf
from matref.planning.shopping import Need

_WITH_THE_PAGE = frozenset(
    {"page", "page and overhang", "board", "page height", "page height and overhang", "board height"}
)
"""Links of a cover's chain that become smaller by as much as the page does."""
_LEAST_PAGE_MM = 30.0


def too_small(asked: PlanInput, made: Plan, needs: tuple[Need, ...], stock: Shelf) -> tuple[str, ...]:
    """Return a sentence for every material of which there are pieces on the shelf, but not enough."""
    said: list[str] = []
    for one in needs:
        pieces = [piece for piece in stock.pieces if piece.role == one.role]
        lacking = _lacking(one)
        if not pieces or not lacking:
            continue
        cut = [part for part in made.parts if part.material == one.material]
        single = one.role == "cloth" and [part.count for part in cut] == [1]
        nearest = _nearest(cut[0], one, pieces, asked) if single else ""
        instead = "" if one.buy is None else f"; else buy {one.buy.words}"
        said.append((nearest or _short(one, lacking, pieces)) + instead)
    return tuple(said)


def _lacking(one: Need) -> set[str]:
    """Names of the parts that are not all laid out on the shelf."""
    placed = [part["name"] for layout in one.on_shelf for part in layout["parts"]]
    return {part.name for part in one.parts if placed.count(part.name) < part.count}


def _nearest(part: Part, one: Need, pieces: list[Piece], asked: PlanInput) -> str:
    """Return what is said of the remnant that comes nearest to a cover's one piece, "" where nothing would help.

    The warp lies along the spine; where a remnant's warp is not known, the better way round is told.
    """
    (needed,) = one.parts
    found: list[tuple[float, str]] = []
    for piece in pieces:
        for wide, high in piece.ways:
            over_width, over_height = _over(needed.width_mm, wide), _over(needed.length_mm, high)
            need = (
                f"the {part.name} needs {needed.width_mm:.0f} x {needed.length_mm:.0f} mm and the remnant is "
                f"{wide:g} x {high:g} mm"
            )
            if needed.width_mm <= high and needed.length_mm <= wide:
                found.append((0.0, f"{need}: it fits turned, but then the warp runs across the spine"))
            elif cures := _cures(part, over_width, over_height, asked):
                found.append((over_width + over_height, f"{need}: {either(cures)} would do"))
    return min(found, default=(0.0, ""))[1]


def _over(needed_mm: float, remnant_mm: float) -> float:
    """Return what a remnant lacks of a part, mm; a part is cut to a tenth of a mm."""
    return max(0.0, needed_mm - math.floor(10 * remnant_mm + 1e-6) / 10)


def _cures(part: Part, over_width: float, over_height: float, asked: PlanInput) -> list[str]:
    """Return the changes of the book that each make a part small enough by itself: a page, then a rule's allowance."""
    cures = []
    narrower = _less(over_width, sum(label in _WITH_THE_PAGE for label, _ in part.width_chain))
    shorter = _less(over_height, sum(label in _WITH_THE_PAGE for label, _ in part.height_chain))
    width, height = asked.book.page_width_mm - narrower, asked.book.page_height_mm - shorter
    if min(width, height) >= _LEAST_PAGE_MM:
        no_thicker = " with no more sections" if asked.book.whole_pile else ""
        cures.append(f"a page of {math.floor(width)} x {math.floor(height)} mm{no_thicker}")
    for label, (words, row) in _allowances(asked.book.structure, asked.practice).items():
        less = max(
            _less(over_width, _times(label, part.width_chain)), _less(over_height, _times(label, part.height_chain))
        )
        if math.isfinite(less) and math.floor(number(row) - less) >= least(row):
            cures.append(words.format(math.floor(number(row) - less)))
    return cures


def _times(label: str, chain: Chain) -> int:
    return sum(link == label for link, _ in chain)


def _less(over_mm: float, times: int) -> float:
    """Return by how much a length that a chain holds so many times has to shrink; infinite if it holds it nowhere."""
    if not over_mm:
        return 0.0
    return over_mm / times if times else math.inf


def _allowances(structure: str, practice: Practice) -> Mapping[str, tuple[str, RuleRow]]:
    """Return the links that a rule lets vary, by their label: a cure in words, and the rule."""
    turn_in = practice.turn_in_soft if structure == "soft-cover" else practice.turn_in
    return {
        "turn-in": ("a turn-in of {} mm", turn_in),
        "cloth on the board": ("{} mm of cloth on each board", practice.quarter_show),
    }


def _short(one: Need, lacking: set[str], pieces: list[Piece]) -> str:
    names = " and ".join(piece.name for piece in pieces)
    wanted = ", ".join(
        f"{part.count} {part.name} of {part.width_mm:.0f} x {part.length_mm:.0f} mm"
        for part in one.parts
        if part.name in lacking
    )
    return f"{names} on the shelf: not enough for {wanted} with the grain along the second side"
