"""What the pieces on the shelf do not give, in one sentence each, with the nearest plan that works."""

from __future__ import annotations

from dataclasses import replace

from matref.book.plan_checks import remnant_warnings
from matref.book.plan_input import PlanInput
from matref.book.plan_result import Plan
from matref.planning.shelf import Piece, Shelf
from matref.planning.shopping import Need


def too_small(asked: PlanInput, made: Plan, needs: tuple[Need, ...], stock: Shelf) -> tuple[str, ...]:
    """Return a sentence for every material of which there are pieces on the shelf, but not enough."""
    said: list[str] = []
    for one in needs:
        pieces = [piece for piece in stock.pieces if piece.role == one.role]
        lacking = [part for part in one.parts if part.name in _lacking(one)]
        if not pieces or not lacking:
            continue
        found = _nearest(asked, made, pieces) if one.role == "cloth" else []
        instead = "" if one.buy is None else f"; else buy {one.buy.words}"
        said += [f"{words}{instead}" for words in found or [_short(one, pieces)]]
    return tuple(said)


def _lacking(one: Need) -> set[str]:
    """Names of the parts that are not all laid out on the shelf."""
    placed = [part["name"] for layout in one.on_shelf for part in layout["parts"]]
    return {part.name for part in one.parts if placed.count(part.name) < part.count}


def _nearest(asked: PlanInput, made: Plan, pieces: list[Piece]) -> list[str]:
    """Return what is said of the remnant that comes nearest, [] when each part fits but not all together."""
    return min((_remnant(asked, made, piece) for piece in pieces), key=lambda words: (len(words), sum(map(len, words))))


def _remnant(asked: PlanInput, made: Plan, piece: Piece) -> list[str]:
    """What one remnant does not give, warp along the spine; the better way round where the warp is not known."""
    long, short = piece.long_mm, piece.short_mm
    ways = {"length": [(short, long)], "width": [(long, short)], "either": [(short, long), (long, short)]}
    found = [list(remnant_warnings(made.parts, replace(asked, cloth_piece_mm=way))) for way in ways[piece.along]]
    return min(found, key=len)


def _short(one: Need, pieces: list[Piece]) -> str:
    lacking = [part for part in one.parts if part.name in _lacking(one)]
    names = " and ".join(piece.name for piece in pieces)
    wanted = ", ".join(f"{part.count} {part.name} of {part.width_mm:.0f} x {part.length_mm:.0f} mm" for part in lacking)
    return f"{names} on the shelf: not enough for {wanted} with the grain along the second side"
