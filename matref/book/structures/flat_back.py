"""Flat-back case in full cloth: two boards and a spine piece under one piece of cloth."""

from __future__ import annotations

from matref.book.practice import Practice
from matref.book.structures.case_parts import (
    Back,
    board_part,
    covering,
    flat_back,
    frame,
    gap_chain,
    inner_parts,
    spine_parts,
)
from matref.book.structures.parts import Block, Chain, Cover, Layer, Part, framed


def full_cloth_parts(
    block: Block, cover: Cover, practice: Practice, back: Back, stiff: Layer | None
) -> tuple[Part, ...]:
    """Parts of a case in full cloth over a back S_p wide: cloth 2·B + S_p + 2·J + 2·TI by board height + 2·TI.

    stiff: what the piece in its spine is cut from, None for none.
    """
    board, cloth = cover.need("board", "case"), cover.need("cloth", "case in full cloth")
    made = frame(block, board, practice)

    def width(over: float) -> Chain:
        side = ("board", made.board_width_mm)
        return framed("turn-in", made.turn_in_mm, side, *gap_chain(made, back, over), side)

    text = f"turn-in {made.turn_in_mm:.4g} mm all round, joints {made.joint_mm:.4g} mm"
    return (
        board_part(block, board, made),
        *spine_parts(stiff, made, back),
        covering(cloth, made, back.over_mm, width, text),
        *inner_parts(block, cover, practice, back),
    )


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """Boards, spine piece as wide as the spine of the block, cloth, endpapers, mull and lining."""
    return full_cloth_parts(block, cover, practice, flat_back(block, practice), cover.card or cover.board)
