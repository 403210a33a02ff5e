"""Do these parts fit on these sheets? Quick trials say yes, weights or a full search say no."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice

from matref.book.cutting.beam import Beam
from matref.book.cutting.blocks import LENGTH, WIDTH, Block, parts_of
from matref.book.cutting.budget import Budget, Spent
from matref.book.cutting.greedy import Sheet, Trial, trials
from matref.book.cutting.grid import Grid, grid
from matref.book.cutting.limited import Search
from matref.book.cutting.multipliers import WORK_PER_STEP
from matref.book.cutting.table import Shape

WORK = 20_000  # additions in one table
ROUNDS = 40
KEEP = (10, 40, 160)  # widths of the beam, one after the other
FEW = 10  # parts up to which the full search comes before the beam
TINY = 1e-9


@dataclass
class Problem:
    """The parts to fit (`copies` per kind) and, for each sort of sheet, its size and the ways the kinds can lie."""

    sheets: list[Sheet]
    ways: list[list[list[Shape]]]
    copies: list[int]
    grids: dict[int, Grid | None] = field(default_factory=dict)

    @cached_property
    def areas(self) -> list[int]:
        """Area of one copy of each kind, in grown units (0 for a kind that fits nowhere)."""
        every: list[list[Shape]] = [[s for sort in self.ways for s in sort[k]] for k in range(len(self.copies))]
        return [max((s.length * s.width for s in shapes), default=0) for shapes in every]

    @property
    def area(self) -> int:
        """Area of all parts, in grown units."""
        return sum(a * n for a, n in zip(self.areas, self.copies, strict=True))

    def grid_of(self, sort: int) -> Grid | None:
        """Return the grid of one sort of sheet, made once."""
        if sort not in self.grids:
            shapes = [s for kind in self.ways[sort] for s in kind]
            self.grids[sort] = grid(*self.sheets[sort], shapes, self.copies, WORK, thinning=25) if shapes else None
        return self.grids[sort]

    def too_small(self, sorts: Sequence[int]) -> bool:
        """Say whether area alone, or a part that fits on none of the sheets, rules the sheets out."""
        area = sum(self.sheets[sort][0] * self.sheets[sort][1] for sort in sorts)
        lost = any(not any(self.ways[s][k] for s in set(sorts)) for k in range(len(self.copies)))
        return area < self.area or lost

    def quick(self, sorts: Sequence[int], tries: int, budget: Budget, seed: int = 1) -> Trial:
        """Try to fit everything; return the first trial that does, or the one that leaves least out."""
        least, best = self.area + 1, None

        def better(trial: Trial) -> bool:
            nonlocal least, best
            left = sum(self.areas[k] for k in trial.missing)
            if left <= least:
                least, best = left, trial
            return best is trial

        sheets = [self.sheets[sort] for sort in sorts]
        lying = [self.ways[sort] for sort in sorts]
        for trial in islice(trials(sheets, lying, self.copies, better, seed=seed), tries):
            if not trial.missing:
                break
            if budget.spent(1 + sum(self.copies) * len(trial.free) // 8):
                break
        if best is None:
            raise RuntimeError("no trial was made")
        return best

    def beam(self, sorts: Sequence[int], keep: int, budget: Budget) -> list[Block | None] | None:
        """Try to fit everything by beam search, strips along either side, `keep` layouts wide."""
        for axis in (LENGTH, WIDTH):
            sheets, lying = [self.sheets[s] for s in sorts], [self.ways[s] for s in sorts]
            blocks = Beam(sheets, lying, self.copies, axis).run(keep, budget)
            if blocks is not None:
                return blocks
        return None

    def refuted(self, sorts: Sequence[int], budget: Budget) -> tuple[bool, list[float]]:
        """Try to prove that the parts do not fit; return the proof and the weights it rests on.

        Give each kind a weight. When the sheets together hold less weight than all parts have, whatever the
        copies, the parts do not fit. Subgradient steps look for weights that show it (the dual of the fractional
        covering problem, Gilmore & Gomory, Oper. Res. 13, 1965).
        """
        weights = [a / self.area for a in self.areas]
        grids = {sort: self.grid_of(sort) for sort in set(sorts) if any(self.ways[sort])}
        if any(g is None for g in grids.values()):
            return False, weights
        best, kept = float("-inf"), weights
        pace = 1.0
        for _ in range(ROUNDS):
            held, used = 0.0, [0] * len(weights)
            for sort, made in grids.items():
                if made is None:
                    continue
                budget.spend(1 + made.work // WORK_PER_STEP)
                table = made.table(weights)
                times = sorts.count(sort)
                held += times * table.best
                for part in parts_of(table.trace()):
                    used[part.piece] += times
            total = sum(w * n for w, n in zip(weights, self.copies, strict=True))
            if total <= 0:
                break
            if total > held * (1 + TINY) + TINY:
                return True, weights
            if (total - held) / total > best + TINY:
                best, kept = (total - held) / total, weights
            else:
                pace *= 0.8
            slope = [n - u for n, u in zip(self.copies, used, strict=True)]
            size = sum(s * s for s in slope)
            if size == 0:
                break
            move = pace * 1.1 * max(held - total, TINY) / size
            weights = [max(0.0, w + move * s) for w, s in zip(weights, slope, strict=True)]
        return False, kept

    def search(self, sort: int, weights: Sequence[float], budget: Budget) -> tuple[bool, Block | None]:
        """Search one sheet for a layout of all parts; (True, None) means that there is none.

        The budget may end it with `Spent`.
        """
        made = self.grid_of(sort)
        if made is None:
            return False, None
        shapes = [s for kind in self.ways[sort] for s in kind]
        # no kind may weigh nothing, or a layout could leave it out
        weights = [0.95 * w + 0.05 * a / self.area for w, a in zip(weights, self.areas, strict=True)]
        total = sum(w * n for w, n in zip(weights, self.copies, strict=True))
        margin = total * TINY
        found = Search(
            self.sheets[sort],
            made,
            made.table(weights).outside(),
            shapes,
            weights,
            [0.0] * len(weights),
            self.copies,
            margin,
            total - 2 * margin,
        )
        found.run(budget)
        return True, found.best if found.best and self.complete(found.best) else None

    def complete(self, block: Block) -> bool:
        """Say whether a block holds every part."""
        return sum(1 for _ in parts_of(block)) == sum(self.copies)


def decide(
    problem: Problem, sorts: Sequence[int], tries: int, budget: Budget
) -> tuple[bool, list[Block | None] | None]:
    """Return (settled, blocks): blocks if the parts fit on the sheets, (True, None) if they cannot.

    The trials and the search keep to `budget`; (False, None) when it is spent first.
    """
    if problem.too_small(sorts):
        return True, None
    try:
        refuted, weights = problem.refuted(sorts, budget)
        if refuted:
            return True, None
        trial = problem.quick(sorts, tries, budget)
        if not trial.missing:
            return True, trial.blocks()
        few = len(sorts) == 1 and sum(problem.copies) <= FEW
        if few:
            settled, block = problem.search(sorts[0], weights, budget)
            if settled:
                return True, [block] if block else None
        for keep in KEEP:
            blocks = problem.beam(sorts, keep, budget)
            if blocks is not None:
                return True, blocks
        if len(sorts) == 1 and not few:
            settled, block = problem.search(sorts[0], weights, budget)
            return settled, [block] if block else None
    except Spent:
        pass
    return False, None
