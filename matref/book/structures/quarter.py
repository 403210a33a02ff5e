"""Quarter case: a flat-back case with a cloth back and paper sides."""

from __future__ import annotations

from matref.book.case import side_paper_size_mm
from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.structures.case_parts import (
    board_part,
    covering,
    flat_back,
    frame,
    gap_chain,
    inner_parts,
    spine_parts,
)
from matref.book.structures.parts import Block, Chain, Cover, Part, fixed, framed


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """Boards, spine piece, cloth back S_p + 2·J + 2·v, side papers B - v + overlap + TI, and the inner parts."""
    board, cloth = cover.need("board", "quarter case"), cover.need("cloth", "quarter case")
    paper = cover.need("paper", "quarter case")
    made, back = frame(block, board, practice), flat_back(block, practice)
    shown, overlap = number(practice.quarter_show), number(practice.side_paper_overlap)
    side_paper_size_mm(made.board_width_mm, made.board_height_mm, shown, overlap, made.turn_in_mm)

    def width(over: float) -> Chain:
        return framed("cloth on the board", shown, *gap_chain(made, back, over))

    side = (
        ("board", made.board_width_mm),
        ("cloth on the board", -shown),
        ("overlap on the cloth", overlap),
        ("turn-in at the fore-edge", made.turn_in_mm),
    )
    height = framed("turn-in", made.turn_in_mm, ("board height", made.board_height_mm))
    turned = f"turn-in {made.turn_in_mm:.4g} mm"
    return (
        board_part(block, board, made),
        *spine_parts(cover.card or board, made, back),
        covering(
            cloth,
            made,
            block.spine_mm,
            width,
            f"{shown:.4g} mm on each board, joints {made.joint_mm:.4g} mm, {turned} at head and tail",
            "cloth back",
            corners=False,
        ),
        fixed(
            "side paper",
            paper,
            2,
            side,
            height,
            f"{turned} on three sides, {overlap:.4g} mm over the cloth",
            marks=(("cut off both fore-edge corners, legs of", made.mitre_leg_mm),),
        ),
        *inner_parts(block, cover, practice, back),
    )
