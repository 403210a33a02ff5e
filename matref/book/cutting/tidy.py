"""Leftovers few and large: push the parts of a layout together so that what remains is worth keeping."""

from __future__ import annotations

from collections.abc import Sequence

from matref.book.cutting.blocks import LENGTH, WIDTH, Block, lay, parts_of
from matref.book.cutting.budget import Budget, Spent
from matref.book.cutting.fitting import Problem
from matref.book.cutting.greedy import Trial, trials
from matref.book.cutting.table import Shape
from matref.book.cutting.units import Scale

TRIES = 60
REPACKS = 120


def leftover(block: Block | None, sheet: tuple[int, int], scale: Scale, keep_mm: float) -> float:
    """Rate what a layout leaves: squared areas of the offcuts worth keeping, so that one large beats two small.

    Scraps below `keep_mm` count a little, to break ties.
    """
    layout = lay(block, *sheet, scale, value=0, bound=0, proved=False, keep_mm=keep_mm)
    return sum(o.rect.area_mm2**2 * (1.0 if o.keep else 0.01) for o in layout.offcuts)


def shorter(
    sheet: tuple[int, int],
    ways: list[list[Shape]],
    copies: Sequence[int],
    block: Block,
    axis: int,
    tries: int,
    budget: Budget,
) -> Block:
    """Return a block of the same parts, as short along `axis` as trials make it."""
    while True:
        room = (block.length - 1, sheet[1]) if axis == LENGTH else (sheet[0], block.width - 1)
        found = _fit(room, ways, copies, tries, budget)
        if found is None:
            return block
        block = found


def _fit(
    room: tuple[int, int], ways: list[list[Shape]], copies: Sequence[int], tries: int, budget: Budget
) -> Block | None:
    least = float("inf")

    def better(trial: Trial) -> bool:
        nonlocal least
        left = len(trial.missing)
        if left > least:
            return False
        least = left
        return True

    for _, trial in zip(range(tries), trials([room], [ways], copies, better), strict=False):
        budget.spend(1 + sum(copies) * len(trial.free) // 8)
        if not trial.missing:
            return trial.blocks()[0]
    return None


def tidied(
    problem: Problem,
    sorts: Sequence[int],
    blocks: Sequence[Block | None],
    scale: Scale,
    keep_mm: float,
    budget: Budget,
) -> list[Block | None]:
    """Return the blocks with better leftovers, the parts perhaps shared out otherwise among the same sheets.

    When the budget is spent, what was found until then is returned.
    """
    sheets = [problem.sheets[sort] for sort in sorts]
    best = list(blocks)

    def rate(some: Sequence[Block | None]) -> float:
        return sum(leftover(b, sheet, scale, keep_mm) for b, sheet in zip(some, sheets, strict=True))

    rating = rate(best)

    def better(trial: Trial) -> bool:
        nonlocal best, rating
        if trial.missing:
            return False
        some = trial.blocks()
        if rate(some) < rating:
            return False
        best, rating = some, rate(some)
        return True

    try:
        makers = trials(sheets, [problem.ways[sort] for sort in sorts], problem.copies, better, seed=2)
        for _ in zip(range(REPACKS), makers, strict=False):
            budget.spend(2 + sum(problem.copies) * 3)
        for at, sort in enumerate(sorts):
            block = best[at]
            if block is None:
                continue
            copies = [0] * len(problem.copies)
            for part in parts_of(block):
                copies[part.piece] += 1
            for axis in (LENGTH, WIDTH):
                tight = shorter(sheets[at], problem.ways[sort], copies, block, axis, TRIES, budget)
                if leftover(tight, sheets[at], scale, keep_mm) > leftover(best[at], sheets[at], scale, keep_mm):
                    best[at] = tight
    except (Spent, KeyboardInterrupt):
        pass
    return best
