"""Flat-back case in full cloth: two boards and a spine piece under one piece of cloth."""

from __future__ import annotations

from matref.book.practice import Practice
from matref.book.structures.case_parts import board_part, covering, frame, gap_chain, inner_parts, spine_part
from matref.book.structures.parts import Block, Chain, Cover, Part, framed
from matref.estimator.estimate import Estimate


def full_cloth_parts(block: Block, cover: Cover, practice: Practice, over: Estimate, stiff: str) -> tuple[Part, ...]:
    """Parts of a case in full cloth whose back is `over` wide: cloth 2·B + S_p + 2·J + 2·TI by board height + 2·TI."""
    board, cloth = cover.need("board", "case"), cover.need("cloth", "case in full cloth")
    made = frame(block, board, practice)

    def width(back: float) -> Chain:
        side = ("board", made.board_width_mm)
        return framed("turn-in", made.turn_in_mm, side, *gap_chain(made, back), side)

    text = f"turn-in {made.turn_in_mm:.4g} mm all round, joints {made.joint_mm:.4g} mm"
    stiffener = spine_part(cover.card or board, made, over, stiff)
    return (
        board_part(block, board, made),
        stiffener,
        covering(cloth, made, over, width, text),
        *inner_parts(block, cover, practice, over),
    )


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """Boards, spine piece as wide as the spine of the block, cloth, endpapers, mull and lining."""
    return full_cloth_parts(block, cover, practice, block.spine_mm, "spine piece")
