"""What all cases share: boards and joints, the stiff piece in the spine, endpapers, mull and lining.

Own derivations in `matref.book.case`; allowances are rules. The joint J is drawn on the cloth. The cloth climbs the
board's edge, b, and lies y on the floor of the groove, so y = J - b is where the board starts in the closed book,
and the board is W + q - y wide.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from matref.book.case import board_width_mm, endpaper_size_mm, mitre_leg_mm
from matref.book.practice import Practice, number
from matref.book.structures.parts import Block, Chain, Cover, Layer, Part, fixed, framed, moved
from matref.errors import BadInput
from matref.estimator.estimate import Estimate


@dataclass(frozen=True, slots=True)
class Frame:
    """The fixed measures of a case, mm: board B by its height, joint J, setback y, square q, turn-in, mitre leg."""

    board_width_mm: float
    board_height_mm: float
    joint_mm: float
    setback_mm: float
    square_mm: float
    turn_in_mm: float
    mitre_leg_mm: float


def setback_mm(joint_mm: float, board_mm: float) -> float:
    """Distance from the block's spine edge to the board's edge in the closed book, mm: y = J - b.

    The inverse of the one-wall joint in `matref.book.case.joint_mm`. Exact for a square groove and thin cloth.

    >>> setback_mm(8, 2.5)
    5.5
    """
    if joint_mm < board_mm:
        raise BadInput(
            f"a joint of {joint_mm:g} mm is narrower than the board is thick ({board_mm:g} mm): the case will not open",
            expected=f"a joint of {board_mm:g} mm or more",
            example=f"joint_mm = {board_mm + 5:g}",
        )
    return joint_mm - board_mm


def frame(block: Block, board: Layer, practice: Practice) -> Frame:
    """Work out boards and joint of a case."""
    square, joint, turn = number(practice.square), number(practice.gap), number(practice.turn_in)
    setback = setback_mm(joint, board.thickness_mm)
    return Frame(
        board_width_mm(block.page_width_mm, square, setback),
        block.page_height_mm + 2 * square,
        joint,
        setback,
        square,
        turn,
        mitre_leg_mm(turn, number(practice.mitre_over_board) * board.thickness_mm),
    )


def board_part(block: Block, board: Layer, made: Frame) -> Part:
    """The two boards: W + q - y by H + 2·q."""
    width = (
        ("page", block.page_width_mm),
        ("square at the fore-edge", made.square_mm),
        ("setback from the spine", -made.setback_mm),
    )
    height = framed("square", made.square_mm, ("page height", block.page_height_mm))
    text = f"square {made.square_mm:.4g} mm, set back {made.setback_mm:.4g} mm from the spine"
    return fixed("board", board, 2, width, height, text)


def spine_part(board: Layer, made: Frame, over: Estimate, name: str = "spine piece") -> Part:
    """The stiff piece in the spine, as wide as the way over the back, as high as the boards. Cut it last."""
    return moved(
        name,
        board,
        1,
        lambda back: (("over the back", back),),
        (("board height", made.board_height_mm),),
        "the back as measured after sewing and pressing, nothing added",
        over,
        cut_when="after sewing",
    )


def gap_chain(made: Frame, back: float) -> Chain:
    """Between the boards on the flat cloth: joint, spine piece, joint."""
    return (("joint", made.joint_mm), ("spine piece", back), ("joint", made.joint_mm))


def covering(
    cloth: Layer,
    made: Frame,
    over: Estimate,
    width: Callable[[float], Chain],
    allowance: str,
    name: str = "cloth",
    *,
    corners: bool = True,
) -> Part:
    """The cloth of a case: a width that grows with the back, board height with turn-ins.

    corners: it goes round the boards' corners, which are mitred; the back of a quarter case does not.
    """
    height = framed("turn-in", made.turn_in_mm, ("board height", made.board_height_mm))
    marks = (("cut off each corner, legs of", made.mitre_leg_mm),) if corners else ()
    return moved(name, cloth, 1, width, height, allowance, over, cut_when="after sewing", marks=marks)


def inner_parts(block: Block, cover: Cover, practice: Practice, over: Estimate) -> tuple[Part, ...]:
    """Endpapers, and mull and lining for the back where there is material for them."""
    paper = cover.need("endpaper", "case")
    size = endpaper_size_mm(block.page_width_mm, block.page_height_mm)
    short, flange = number(practice.lining_short), number(practice.lining_side)
    folded = max(2, round(number(practice.endpaper_leaves) / 2))
    found = [
        fixed(
            "endpaper, folded once",
            paper,
            folded,
            (("page", size.width_mm / 2), ("page", size.width_mm / 2)),
            (("page height", size.height_mm),),
            f"trimmed with the block; pasted leaf cut {number(practice.endpaper_short):.4g} mm short on three sides",
        )
    ]
    height = framed("short of head and tail", -short, ("page height", block.page_height_mm))
    if cover.mull is not None:
        found.append(
            moved(
                "mull",
                cover.mull,
                1,
                lambda back: framed("on the board", flange, ("over the back", back)),
                height,
                f"{flange:.4g} mm on to each board, {short:.4g} mm short of head and tail",
                over,
                cut_when="after sewing",
            )
        )
    if cover.lining is not None:
        found.append(
            moved(
                "back lining",
                cover.lining,
                1,
                lambda back: (("over the back", back),),
                height,
                f"the back's width, {short:.4g} mm short of head and tail",
                over,
                cut_when="after sewing",
            )
        )
    return tuple(found)
