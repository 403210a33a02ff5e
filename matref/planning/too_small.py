"""What the pieces on the shelf do not give, in one sentence each, with the nearest plan that works."""

from __future__ import annotations

from dataclasses import replace

from matref.book.plan_checks import remnant_warnings
from matref.book.plan_input import PlanInput
from matref.book.plan_result import Plan
from matref.planning.shelf import Piece, Shelf
from matref.planning.shopping import Need

_BY_PAGE = frozenset({"soft-cover", "long-stitch", "flat-back-case", "rounded-case"})
"""Structures whose one piece of cloth goes over both sides, so that a smaller page makes it smaller."""
_LEAST_PAGE_MM = 30.0


def too_small(asked: PlanInput, made: Plan, needs: tuple[Need, ...], stock: Shelf) -> tuple[str, ...]:
    """Return a sentence for every material of which there are pieces on the shelf, but not enough."""
    said: list[str] = []
    for one in needs:
        pieces = [piece for piece in stock.pieces if piece.role == one.role]
        lacking = [part for part in one.parts if part.name in _lacking(one)]
        if not pieces or not lacking:
            continue
        by_page = one.role == "cloth" and asked.book.structure in _BY_PAGE
        found = _nearest(asked, made, one, pieces) if by_page else []
        instead = "" if one.buy is None else f"; else buy {one.buy.words}"
        said += [f"{words}{instead}" for words in found or [_short(one, pieces)]]
    return tuple(said)


def _lacking(one: Need) -> set[str]:
    """Names of the parts that are not all laid out on the shelf."""
    placed = [part["name"] for layout in one.on_shelf for part in layout["parts"]]
    return {part.name for part in one.parts if placed.count(part.name) < part.count}


def _nearest(asked: PlanInput, made: Plan, need: Need, pieces: list[Piece]) -> list[str]:
    """Return what is said of the remnant that comes nearest, [] where none would do for any page worth making.

    The warp lies along the spine; where a remnant's warp is not known, the better way round is told.
    """
    (part,) = need.parts
    along = part.length_mm - asked.book.page_height_mm + _LEAST_PAGE_MM
    across = part.width_mm - 2 * (asked.book.page_width_mm - _LEAST_PAGE_MM)
    found = [
        list(remnant_warnings(made.parts, replace(asked, cloth_piece_mm=way)))
        for piece in pieces
        for way in _ways(piece)
        if way[0] >= across and way[1] >= along
    ]
    return min(found, key=lambda words: len("".join(words)), default=[])


def _ways(piece: Piece) -> list[tuple[float, float]]:
    """Return width across the spine and height along it of a remnant, for each way round that its warp allows."""
    long, short = piece.long_mm, piece.short_mm
    return {"length": [(short, long)], "width": [(long, short)], "either": [(short, long), (long, short)]}[piece.along]


def _short(one: Need, pieces: list[Piece]) -> str:
    lacking = [part for part in one.parts if part.name in _lacking(one)]
    names = " and ".join(piece.name for piece in pieces)
    wanted = ", ".join(f"{part.count} {part.name} of {part.width_mm:.0f} x {part.length_mm:.0f} mm" for part in lacking)
    return f"{names} on the shelf: not enough for {wanted} with the grain along the second side"
