"""Rounded and backed case: a case in full cloth over a round back with shoulders."""

from __future__ import annotations

from matref.book.practice import Practice
from matref.book.rounding import backed_arc_mm
from matref.book.rule_row import number
from matref.book.structures.case_parts import Back, wide_enough
from matref.book.structures.flat_back import full_cloth_parts
from matref.book.structures.parts import Block, Cover, Part
from matref.estimator.estimate import Estimate


def back_over_shoulders(arc_mm: Estimate, shoulder_mm: float) -> Estimate:
    """Way over the back and both shoulders, mm: A + 2·j, with the arc's interval.

    >>> back_over_shoulders(Estimate(20.0, 19.0, 21.5), 2.5).high
    26.5
    """
    value, low, high = (backed_arc_mm(end, shoulder_mm) for end in (arc_mm.value, arc_mm.low, arc_mm.high))
    return Estimate(value, low, high, arc_mm.level)


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """As the flat-back case, with the way over the rounded and backed spine in place of the flat one.

    The inlay has to follow the round, so it is cut from card and never from the board.
    """
    board = cover.need("board", "rounded case")
    shoulder = number(practice.shoulder_over_board) * board.thickness_mm
    over = back_over_shoulders(block.arc_mm, shoulder)
    inlay = "spine inlay, flexible" if cover.card else "back"
    back = Back(over, inlay, wide_enough(block, practice), shoulder)
    return full_cloth_parts(block, cover, practice, back, cover.card)
