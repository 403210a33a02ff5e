"""Long stitch: sections sewn straight through the spine of a limp cover, no boards and no adhesive."""

from __future__ import annotations

import math

from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.structures.parts import Block, Chain, Cover, Part, moved


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """The limp cover, 2·(W + o) + S + (π/2)·c wide (see `matref.book.limp`), and a spine lining if there is one.

    The cover is pierced before sewing, so it is cut for the high end of the spine and its fore-edges are trimmed
    after sewing. The overhang is half of what the cover is to be larger than the block.
    """
    name = "cloth" if cover.cloth is not None else "card"
    sheet, over = cover.need(name, "long-stitch cover"), number(practice.long_stitch_extra) / 2
    bend = math.pi / 2 * sheet.thickness_mm
    side = ("page and overhang", block.page_width_mm + over)

    def wrap(spine: float) -> Chain:
        return (side, ("spine", spine), ("two bends", bend), side)

    high = (("overhang", over), ("page height", block.page_height_mm), ("overhang", over))
    text = f"overhang {over:.4g} mm; spine {block.sure} to fit; trim the cover's fore-edges after sewing"
    found = [moved("limp cover", sheet, 1, wrap, high, text, block.spine_mm, at_high=True)]
    if cover.lining is not None:
        found.append(
            moved(
                "spine lining",
                cover.lining,
                1,
                lambda spine: (("spine", spine),),
                (("page height", block.page_height_mm),),
                "the spine's width; stiffens the holes, pierced with the cover",
                block.spine_mm,
                at_high=True,
            )
        )
    return tuple(found)
