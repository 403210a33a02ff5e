"""What all cases share: boards and joints, the back and the stiff piece over it, endpapers, mull and lining.

Own derivations in `matref.book.case`; allowances are rules. The joint J is drawn on the cloth. The cloth climbs the
board's edge, b, and lies y on the floor of the groove, so y = J - b is where the board starts in the closed book,
and the board is W + q - y wide. A shoulder of height j changes next to nothing of that: the cloth goes down it too,
but as much of the leaf's width is bent into it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from matref.book.case import board_width_mm, mitre_leg_mm
from matref.book.endpapers import folded_sheets
from matref.book.practice import Practice
from matref.book.rule_row import number
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


@dataclass(frozen=True, slots=True)
class Back:
    """The back that a case goes over: the way over it, mm, with two shoulders counted in, each j high, if it is backed.

    name: of the stiff piece in the case's spine; strip: the back is wide enough to cut one, or a lining, for it.
    """

    over_mm: Estimate
    name: str
    strip: bool
    shoulder_mm: float = 0.0

    def chain(self, over_mm: float) -> Chain:
        """What the way over the back is made of."""
        if not self.shoulder_mm:
            return (("over the back", over_mm),)
        shoulder = ("shoulder", self.shoulder_mm)
        return (shoulder, ("over the round", over_mm - 2 * self.shoulder_mm), shoulder)

    @property
    def measured(self) -> str:
        """How to measure it."""
        if not self.shoulder_mm:
            return "the back as measured after sewing and pressing, nothing added"
        return (
            "measured over the round after backing, from the edge of one shoulder to that of the other, nothing added"
        )


def wide_enough(block: Block, practice: Practice) -> bool:
    """Whether a strip as wide as the back can be cut clean and laid straight, by the rule."""
    return block.spine_mm.value >= number(practice.spine_narrowest)


def flat_back(block: Block, practice: Practice) -> Back:
    """Return the back of a block that is neither rounded nor backed."""
    return Back(block.spine_mm, "spine piece", wide_enough(block, practice))


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


def spine_parts(stiff: Layer | None, made: Frame, back: Back) -> tuple[Part, ...]:
    """The stiff piece in the spine, as wide as the way over the back, as high as the boards. Cut it last.

    None where there is no material for it or the back is too narrow to cut it.
    """
    if stiff is None or not back.strip:
        return ()
    height = (("board height", made.board_height_mm),)
    return (moved(back.name, stiff, 1, back.chain, height, back.measured, back.over_mm, cut_when="after sewing"),)


def gap_chain(made: Frame, back: Back, over_mm: float) -> Chain:
    """Between the boards on the flat cloth: joint, the way over the back, joint."""
    middle = back.name.partition(",")[0] if back.strip else "bare back"
    return (("joint", made.joint_mm), (middle, over_mm), ("joint", made.joint_mm))


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


def endpaper_part(block: Block, paper: Layer, practice: Practice) -> Part:
    """The folded endpapers, cut like the text's sheets and trimmed with the block: 2·(W + t) by H + 2·h.

    After the trim the leaf to be pasted is cut shorter, as `matref.book.case.pastedown_size_mm` has it.
    """
    page = ("page", block.page_width_mm)
    width = framed("fore-edge trim", block.trim_mm, page, page) if block.trim_mm else (page, page)
    tall = ("page height", block.page_height_mm)
    height = framed("head and tail trim", block.ends_mm, tall) if block.ends_mm else (tall,)
    folded = folded_sheets(number(practice.endpaper_leaves))
    short = f"{number(practice.endpaper_short):.4g} mm short on three sides"
    nested = ", nested" if folded > 2 else ""
    text = (
        f"cut like the sheets, {folded // 2} at each end{nested}, trimmed with the block; pasted leaf then cut {short}"
    )
    return fixed("endpaper, folded once", paper, folded, width, height, text)


def inner_parts(block: Block, cover: Cover, practice: Practice, back: Back) -> tuple[Part, ...]:
    """Endpapers, and mull and lining for the back where there is material for them; no lining for a narrow back."""
    short, flange = number(practice.lining_short), number(practice.lining_side)
    found = [endpaper_part(block, cover.need("endpaper", "case"), practice)]
    height = framed("short of head and tail", -short, ("page height", block.page_height_mm))
    if cover.mull is not None:
        found.append(
            moved(
                "mull",
                cover.mull,
                1,
                lambda over: framed("on the board", flange, *back.chain(over)),
                height,
                f"{flange:.4g} mm on to each board, {short:.4g} mm short of head and tail",
                back.over_mm,
                cut_when="after sewing",
            )
        )
    if cover.lining is not None and back.strip:
        found.append(
            moved(
                "back lining",
                cover.lining,
                1,
                back.chain,
                height,
                f"the back's width, {short:.4g} mm short of head and tail",
                back.over_mm,
                cut_when="after sewing",
            )
        )
    return tuple(found)
