"""Is a case the right cover for this block? A back too narrow to cut strips for, and an inlay too stiff to bend."""

from __future__ import annotations

from matref.book.practice import Practice
from matref.book.rule_row import least, most, number
from matref.book.structures import Structure
from matref.book.structures.case_parts import frame, wide_enough
from matref.book.structures.parts import Block, Cover


def case_doubts(made: Structure, block: Block, cover: Cover, practice: Practice) -> tuple[str, ...]:
    """Say what a case leaves out or cannot take, and what to do instead; nothing for other structures."""
    if not made.case:
        return ()
    said = [] if wide_enough(block, practice) else [_narrow(made, block, practice)]
    stiffest = most(practice.spine_inlay)
    if made.name == "rounded-case" and cover.card is not None and cover.card.thickness_mm > stiffest:
        said.append(
            f"a spine inlay of {cover.card.thickness_mm:.2g} mm will not follow the round: take stiff paper or card of "
            f"{least(practice.spine_inlay):.1f} to {stiffest:.1f} mm"
        )
    said += _too_far(block, cover, practice)
    return tuple(said)


def _too_far(block: Block, cover: Cover, practice: Practice) -> list[str]:
    """Say when mull or tapes would reach beyond the boards that they are glued to."""
    if cover.board is None:
        return []
    board = frame(block, cover.board, practice).board_width_mm
    reach = [("tapes", "tape_side", number(practice.tape_side))]
    if cover.mull is not None:
        reach.insert(0, ("mull", "lining_side", number(practice.lining_side)))
    return [
        f"{what} {mm:.4g} mm on to each board reach beyond its {board:.4g} mm: take {key}_mm = {int(board)} or less"
        for what, key, mm in reach
        if mm > board
    ]


def _narrow(made: Structure, block: Block, practice: Practice) -> str:
    back, limit = block.spine_mm.value, number(practice.spine_narrowest)
    words = (
        f"a back of {back:.1f} mm is too narrow to cut a spine piece or a lining for ({limit:g} mm or more can be cut "
        "clean): both are left out, and the cloth lies bare between the joints"
    )
    if made.name == "rounded-case":
        words += "; so thin a back cannot be rounded and backed either: take the structure flat-back-case"
    if block.sections == 1:
        words += (
            "; one section needs no tapes: sew it like a pamphlet through a strip of mull, tip the endpapers on to it, "
            "then case it"
        )
    return words
