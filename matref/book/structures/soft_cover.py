"""Soft cover: cloth, fusible interfacing and card lining, with the sections machine-sewn through its spine.

Each layer is as long as its own way round the spine: two right angles, half a turn in all, so a layer lying x from
the inside of the cover is longer than the outline by π·x. Own derivation, exact for any convex spine; the tests lay
the layers out point by point. Overhang, turn-in and clearance are rules.
"""

from __future__ import annotations

import math

from matref.book.check import not_negative, positive
from matref.book.machine_sewing import spine_allowance_mm
from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.structures.parts import Block, Chain, Cover, Part, framed, moved
from matref.estimator.estimate import Estimate


def bend_mm(inside_mm: float, layer_mm: float) -> float:
    """What the two bends at the spine add to a layer, mm: π·(i + c/2).

    i thickness of everything between the layer and the block, mm; c the layer's own, mm. Exact; own derivation.
    With i = 0 it is the π·c/2 of a limp cover of one piece.

    >>> round(bend_mm(0, 0.6), 3), round(bend_mm(0.5, 0.2), 3)
    (0.942, 1.885)
    """
    return math.pi * (not_negative(inside_mm, "layers inside, mm", 0.5) + positive(layer_mm, "layer, mm", 0.3) / 2)


def allowance_mm(sections: int, pitch_mm: float, closed_section_mm: float, spine_mm: float) -> float:
    """Width of cover for the spine, mm: the larger of (N - 1)·p + one closed section, and the spine T + S.

    At a pitch wider than one closed section the lines need the room, at a narrower one the block does. Exact; own
    derivation.

    >>> allowance_mm(5, 2, 1.2, 6), allowance_mm(5, 1, 1.2, 6)
    (9.2, 6.0)
    """
    return max(spine_allowance_mm(sections, pitch_mm, closed_section_mm), positive(spine_mm, "spine, mm", 6))


def spine_room(block: Block) -> Estimate:
    """The spine allowance of a block with its interval, mm (both its terms grow together)."""
    closed, spine, level = block.closed_section_mm, block.spine_mm, block.spine_mm.level
    ends = ((closed.value, spine.value), (closed.low, spine.low), (closed.high, spine.high))
    value, low, high = (allowance_mm(block.sections, block.pitch_mm, c, s) for c, s in ends)
    return Estimate(value, low, high, level)


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """Cloth, interfacing (if there is one) and card, all cut before sewing for the high end of the spine."""
    cloth, card = cover.need("cloth", "soft cover"), cover.need("card", "soft cover")
    over, turn, clear = (
        number(practice.overhang),
        number(practice.turn_in_soft),
        number(practice.interfacing_clearance),
    )
    inside = card.thickness_mm
    room, high = spine_room(block), block.page_height_mm + 2 * over
    covered = f"spine allowance {block.sure} to be enough"

    def wrap(spine: float, bend: float) -> Chain:
        side = ("page and overhang", block.page_width_mm + over)
        return (side, ("spine allowance", spine), ("two bends of this layer", bend), side)

    found = []
    fused = 0.0 if cover.interfacing is None else cover.interfacing.thickness_mm
    outer = bend_mm(inside + fused, cloth.thickness_mm)
    found.append(
        moved(
            "cloth",
            cloth,
            1,
            lambda spine: framed("turn-in", turn, *wrap(spine, outer)),
            framed("turn-in", turn, ("page height and overhang", high)),
            f"turn-in {turn:.4g} mm all round, overhang {over:.4g} mm; {covered}",
            room,
            at_high=True,
        )
    )
    if cover.interfacing is not None:
        middle = bend_mm(inside, cover.interfacing.thickness_mm)
        found.append(
            moved(
                "interfacing",
                cover.interfacing,
                1,
                lambda spine: framed("clearance", -clear, *wrap(spine, middle)),
                framed("clearance", -clear, ("page height and overhang", high)),
                f"{clear:.4g} mm inside the finished edge all round, never into the turn-in",
                room,
                at_high=True,
            )
        )
    inner = bend_mm(0.0, inside)
    found.append(
        moved(
            "card lining",
            card,
            1,
            lambda spine: framed("clearance", -clear, *wrap(spine, inner)),
            framed("clearance", -clear, ("page height and overhang", high)),
            f"{clear:.4g} mm inside the finished edge all round; never trimmed, for the cloth is turned in over it",
            room,
            at_high=True,
        )
    )
    return tuple(found)
