"""The most valuable set of parts out of one sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress

from matref.book.check import between, count, not_negative
from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join, lay
from matref.book.cutting.budget import Budget, Progress, Spent
from matref.book.cutting.greedy import Trial, trials
from matref.book.cutting.grid import at_true_size, grid
from matref.book.cutting.limited import Search
from matref.book.cutting.multipliers import WORK_PER_STEP, Priced, price_copies, worth
from matref.book.cutting.shapes import Layout
from matref.book.cutting.table import Shape
from matref.book.cutting.units import Scale, size_mm
from matref.errors import BadInput

MOST_WORK = 150_000  # additions in one table
MOST_WORK_ONCE = 1_500_000  # when one table settles the matter
REFILLS = 4  # times that what a coarse layout leaves is laid out again
TRIALS = 150
STEPS = 600_000


def most_valuable(
    stock_mm: tuple[float, float],
    pieces: Sequence[tuple[float, float, float, int | None]],
    turn: bool = False,
    *,
    blade_mm: float = 0.0,
    keep_mm: float = 0.0,
    steps: int = STEPS,
    deadline_s: float | None = None,
    progress: Callable[[Progress], object] | None = None,
) -> Layout:
    """Cut the greatest total value out of one sheet with straight cuts from edge to edge.

    `stock_mm` is (length, width); each piece is (length mm, width mm, value, most copies or None); `turn`
    allows quarter turns. `blade_mm` is lost at every cut; offcuts whose shorter side reaches `keep_mm` (above 0)
    are marked worth keeping. Without copy limits the answer comes from a dynamic programme, with limits from
    an exact search. When `steps` or `deadline_s` runs out, or on Ctrl-C, the best layout found comes back
    with its `bound` and `proved` False. Raises BadInput for sizes that are no sizes.

    >>> best = most_valuable((15, 10), [(8, 4, 66, 2), (3, 7, 35, 1), (8, 2, 24, 3), (3, 4, 17, 5),
    ...                                 (3, 3, 11, 2), (3, 2, 8, 2), (2, 1, 2, 1)])
    >>> best.value, best.proved        # Christofides & Whitlock 1977, first problem
    (244.0, True)
    """
    budget = Budget(steps, deadline_s, progress)
    length_mm, width_mm = _pair("stock_mm", stock_mm)
    sizes, values, wanted = _checked(pieces)
    blade = between(blade_mm, 0, 100, "blade_mm", 0.5)
    keep = not_negative(keep_mm, "keep_mm")
    scale = Scale.of([length_mm, width_mm, *(side for size in sizes for side in size)], blade)
    sheet = (scale.grown(length_mm), scale.grown(width_mm))
    shapes = [
        Shape(long, wide, kind, turned)
        for kind, (a, b) in enumerate(sizes)
        for long, wide, turned in _ways(scale.grown(a), scale.grown(b), turn)
        if long <= sheet[0] and wide <= sheet[1] and values[kind] > 0
    ]
    job = Job(sheet, shapes, values, wanted)
    with suppress(Spent, KeyboardInterrupt):
        job.solve(budget)
    job.value = worth(job.block, values)  # an interrupt may have come between the two
    proved = job.bound < job.value + job.margin
    return lay(
        job.block,
        *sheet,
        scale,
        value=job.value,
        bound=job.value if proved else job.bound,
        proved=proved,
        keep_mm=keep,
    )


def _pair(name: str, pair: Sequence[float]) -> tuple[float, float]:
    if not isinstance(pair, Sequence) or len(pair) != 2:
        raise BadInput(f"{name} is {pair!r}", expected="length and width in mm", example=f"{name}=(420, 297)")
    return size_mm(pair[0], f"length of {name}, mm"), size_mm(pair[1], f"width of {name}, mm")


def _checked(
    pieces: Sequence[tuple[float, float, float, int | None]],
) -> tuple[list[tuple[float, float]], list[float], list[int | None]]:
    sizes: list[tuple[float, float]] = []
    values: list[float] = []
    most: list[int | None] = []
    for number, piece in enumerate(pieces, 1):
        if not isinstance(piece, Sequence) or len(piece) != 4:
            raise BadInput(
                f"piece {number} is {piece!r}",
                expected="length, width, value, most copies or None",
                example="(90, 60, 1, None)",
            )
        length, width, value, copies = piece
        sizes.append(_pair(f"piece {number}", (length, width)))
        values.append(not_negative(value, f"value of piece {number}", 1))
        most.append(None if copies is None else count(copies, f"most copies of piece {number}", least=0))
    if not sizes:
        raise BadInput("there are no pieces to cut", expected="at least one", example="[(90, 60, 1, None)]")
    return sizes, values, most


def _ways(length: int, width: int, turn: bool) -> list[tuple[int, int, bool]]:
    ways = [(length, width, False)]
    return [*ways, (width, length, True)] if turn and length != width else ways


class Job:
    """One problem in whole units, with the best layout and the bound so far."""

    def __init__(
        self, sheet: tuple[int, int], shapes: list[Shape], values: list[float], wanted: list[int | None]
    ) -> None:
        self.sheet = sheet
        self.values = values
        self.limits = [0] * len(values)
        for s in shapes:
            fit = (sheet[0] // s.length) * (sheet[1] // s.width)
            self.limits[s.kind] = max(self.limits[s.kind], fit)
        # turned copies may mix, so the count that the area allows is the safe one
        for s in shapes:
            if sum(t.kind == s.kind for t in shapes) > 1:
                self.limits[s.kind] = sheet[0] * sheet[1] // (s.length * s.width)
        self.limited = any(n is not None and n < most for n, most in zip(wanted, self.limits, strict=True))
        self.limits = [most if n is None else min(n, most) for n, most in zip(wanted, self.limits, strict=True)]
        self.shapes = [s for s in shapes if self.limits[s.kind]]
        whole = all(v == int(v) for v in values)
        self.margin = 1 - 1e-6 if whole else max(1e-9 * max(values, default=1.0), 1e-12)
        self.block: Block | None = None
        self.value = 0.0
        self.bound = self.area_bound()

    def area_bound(self) -> float:
        """Fill the sheet's area with the most valuable material, whatever its shape."""
        left, total = float(self.sheet[0] * self.sheet[1]), 0.0
        area = {s.kind: s.length * s.width for s in self.shapes}
        for kind in sorted(area, key=lambda k: -self.values[k] / area[k]):
            copies = min(float(self.limits[kind]), left / area[kind])
            total += copies * self.values[kind]
            left -= copies * area[kind]
        return total

    def keep(self, block: Block | None, value: float) -> None:
        """Keep a layout that is better than the best."""
        if block is not None and value > self.value:
            self.block, self.value = block, value

    def solve(self, budget: Budget) -> None:
        """Improve the layout and the bound until they meet."""
        if not self.shapes:
            return
        fine = grid(*self.sheet, self.shapes, self.limits, MOST_WORK if self.limited else MOST_WORK_ONCE)
        if not self.limited and (fine is None or fine.step > 1):
            block = self.from_coarse(*self.sheet, REFILLS, budget)
            self.keep(block, worth(block, self.values))
        if self.limited:
            self.from_trials(budget)
        if fine is None:
            return
        if not self.limited:
            table = fine.table(self.values)
            self.bound = min(self.bound, table.best)
            if fine.step == 1:
                self.keep(table.trace(), table.best)
            return
        priced: Priced | None = None
        for priced in price_copies(fine, self.values, self.limits, self.value, budget):
            self.bound = min(self.bound, priced.bound)
            self.keep(priced.block, priced.value)
        if priced is None or self.bound < self.value + self.margin:
            return
        search = Search(
            self.sheet,
            fine,
            priced.table.outside(),
            self.shapes,
            self.values,
            priced.prices,
            self.limits,
            self.margin,
            self.value,
            self.block,
        )
        try:
            search.run(budget)
        finally:
            self.block, self.value = search.best, search.value
            self.bound = min(self.bound, search.bound)

    def from_coarse(self, length: int, width: int, refills: int, budget: Budget) -> Block | None:
        """Lay out a rectangle on a coarse grid, then what that leaves at its far ends."""
        shapes = [s for s in self.shapes if s.length <= length and s.width <= width]
        if not shapes:
            return None
        coarse = grid(length, width, shapes, self.limits, MOST_WORK, round_up=True)
        block = at_true_size(coarse.table(self.values).trace(), shapes) if coarse else None
        if coarse is None or block is None or not refills or budget.spent(1 + coarse.work // WORK_PER_STEP):
            return block
        beside = self.from_coarse(block.length, width - block.width, refills - 1, budget)
        block = join(block, beside, WIDTH) if beside else block
        beyond = self.from_coarse(length - block.length, width, refills - 1, budget)
        return join(block, beyond, LENGTH) if beyond else block

    def from_trials(self, budget: Budget) -> None:
        """Find a first layout by quick trials."""
        copies = [min(n, 200) for n in self.limits]
        ways = [[[s for s in self.shapes if s.kind == k] for k in range(len(self.values))]]
        best = -1.0

        def better(trial: Trial) -> bool:
            nonlocal best
            block = trial.blocks()[0]
            value = worth(block, self.values)
            self.keep(block, value)
            if value < best:
                return False
            best = value
            return True

        makers = trials([self.sheet], ways, copies, better, self.values)
        for _, _ in zip(range(TRIALS), makers, strict=False):
            budget.spend(1 + sum(copies) // 4)
