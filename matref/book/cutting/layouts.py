"""All parts of a job on pieces of stock, with the least stock cut into."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from itertools import islice

from matref.book.cutting.blocks import Block, lay, parts_of
from matref.book.cutting.budget import Budget, Progress, Spent
from matref.book.cutting.choice import choices
from matref.book.cutting.fitting import Problem, decide
from matref.book.cutting.greedy import Trial, trials
from matref.book.cutting.parts import (
    Layouts,
    Part,
    Piece,
    SheetLayout,
    check_each_fits,
    check_parts,
    check_stock,
    notes_on,
    ways,
)
from matref.book.cutting.tidy import tidied
from matref.book.cutting.units import Scale, check_blade, check_number, refuse

STEPS = 60_000
MOST_CHOICES = 2_000
FIRST_TRIES = 40
MORE_TRIES = 400


def lay_out(
    parts: Sequence[Part],
    stock: Sequence[Piece],
    *,
    blade_mm: float = 0.0,
    keep_mm: float = 30.0,
    least: str = "area",
    steps: int = STEPS,
    deadline_s: float | None = None,
    progress: Callable[[Progress], object] | None = None,
) -> Layouts:
    """Lay all parts on the stock, cutting into the least area of it (or the least cost: `least='cost'`).

    Cuts are straight and run from edge to edge; each loses `blade_mm`. Parts lie with their grain along the
    grain of the stock. Among layouts on the same pieces those that leave few and large offcuts are preferred;
    offcuts of at least `keep_mm` on the shorter side count as worth keeping. When the stock does not hold
    everything, `missing` lists what found no room. On Ctrl-C, or when `steps` or `deadline_s` runs out, the
    best layout so far comes back. Raises BadInput for parts that no piece of stock can hold.

    >>> done = lay_out([Part("board", 156, 104, 2)], [Piece("greyboard", 330, 160), Piece("strip", 500, 90)])
    >>> done.proved, [sheet.name for sheet in done.sheets], len(done.cuts)
    (True, ['greyboard'], 4)
    """
    budget = Budget(steps, deadline_s, progress)
    check_parts(parts)
    check_stock(stock)
    blade, keep = check_blade(blade_mm), check_number("keep_mm", keep_mm)
    if least not in ("area", "cost"):
        raise refuse(f"least is {least!r}", "'area' or 'cost'", "least='area'")
    if least == "cost" and any(piece.price is None for piece in stock):
        raise refuse("least cost needs a price", "a price for every piece of stock", "price=4.5")
    sizes = [side for item in (*parts, *stock) for side in (item.length_mm, item.width_mm)]
    scale = Scale.of(sizes, blade)
    check_each_fits(parts, stock, scale)
    problem = Problem(
        [(scale.grown(p.length_mm), scale.grown(p.width_mm)) for p in stock],
        [[ways(part, piece, kind, scale) for kind, part in enumerate(parts)] for piece in stock],
        [part.count for part in parts],
    )
    costs = [p.length_mm * p.width_mm if least == "area" else p.price or 0.0 for p in stock]
    found = _Found(problem, costs, [piece.count for piece in stock])
    try:
        found.solve(budget, scale, keep)
    except (Spent, KeyboardInterrupt):
        pass
    return _result(found, parts, stock, scale, blade, keep)


class _Found:
    """The best choice of stock so far with the blocks on it, and what has been proved."""

    def __init__(self, problem: Problem, costs: Sequence[float], counts: Sequence[int]) -> None:
        self.problem, self.costs, self.counts = problem, costs, counts
        self.sorts: tuple[int, ...] = ()
        self.blocks: list[Block | None] = []
        self.cost: float | None = None
        self.bound: float | None = 0.0
        self.proved = False

    def solve(self, budget: Budget, scale: Scale, keep_mm: float) -> None:
        """Find a choice that holds everything, prove or improve it, and tidy the leftovers."""
        problem = self.problem
        total = sum(self.counts)
        open_choices: list[tuple[float, tuple[int, ...]]] = []
        listed = islice(choices(self.costs, self.counts), MOST_CHOICES)
        for cost, sorts in listed:
            budget.spend()
            if problem.too_small(sorts):
                continue
            open_choices.append((cost, sorts))
            if self.cost is None and self.try_quickly(cost, sorts, FIRST_TRIES, budget.share(0.1), budget):
                break
        if self.cost is None:
            everything = tuple(s for s, n in enumerate(self.counts) for _ in range(n))
            if not self.try_quickly(sum(self.costs), everything, FIRST_TRIES, budget.share(0.3), budget):
                self.place_most(everything, budget)
                self.bound = open_choices[0][0] if open_choices else None
                if problem.too_small(everything):
                    self.bound, self.proved = None, True
        self.prove(open_choices, budget, total)
        if self.cost is not None:
            self.blocks = tidied(problem, self.sorts, self.blocks, scale, keep_mm, budget)

    def try_quickly(self, cost: float, sorts: tuple[int, ...], tries: int, part: Budget, budget: Budget) -> bool:
        """Keep a choice if a few trials fit everything on it."""
        try:
            trial = self.problem.quick(sorts, tries, part)
        except Spent:
            trial = None
        budget.spend(part.used)
        if trial is not None:
            self.sorts, self.blocks, self.cost = sorts, trial.blocks(), cost
            budget.tell(cost, self.bound or 0.0)
        return trial is not None

    def prove(self, open_choices: list[tuple[float, tuple[int, ...]]], budget: Budget, total: int) -> None:
        """Settle the cheaper choices one by one, cheapest first."""
        for cost, sorts in open_choices:
            if self.cost is not None and cost >= self.cost:
                break
            self.bound = cost
            part = budget.share(0.4)
            settled, blocks = decide(self.problem, sorts, MORE_TRIES, part)
            budget.spend(min(part.used, part.steps))
            if blocks is not None:
                self.sorts, self.blocks, self.cost = sorts, blocks, cost
                break
            if not settled:
                self.improve(open_choices, cost, budget)
                return
        if self.cost is not None:
            self.bound, self.proved = self.cost, True
        elif len(open_choices) < MOST_CHOICES and total:
            self.bound, self.proved = None, True

    def improve(self, open_choices: list[tuple[float, tuple[int, ...]]], above: float, budget: Budget) -> None:
        """A choice could not be settled: try the dearer ones that still beat the best, without proof."""
        for cost, sorts in open_choices:
            if cost <= above:
                continue
            if self.cost is not None and cost >= self.cost:
                return
            if self.try_quickly(cost, sorts, MORE_TRIES, budget.share(0.3), budget):
                return

    def place_most(self, sorts: tuple[int, ...], budget: Budget) -> None:
        """Nothing holds everything: keep the trial that places the most."""
        problem = self.problem
        most = -1

        def better(trial: Trial) -> bool:
            nonlocal most
            placed = problem.area - sum(problem.areas[k] for k in trial.missing)
            if placed <= most:
                return placed == most
            most, self.sorts, self.blocks = placed, sorts, trial.blocks()
            return True

        sheets = [problem.sheets[s] for s in sorts]
        makers = trials(sheets, [problem.ways[s] for s in sorts], problem.copies, better)
        for _ in islice(makers, MORE_TRIES // 2):
            budget.spend(1 + sum(problem.copies))


def _result(
    found: _Found, parts: Sequence[Part], stock: Sequence[Piece], scale: Scale, blade_mm: float, keep_mm: float
) -> Layouts:
    sheets: list[SheetLayout] = []
    copies: Counter[int] = Counter()
    left = [part.count for part in parts]
    for sort, block in zip(found.sorts, found.blocks, strict=True):
        if block is None:
            continue
        copies[sort] += 1
        for part in parts_of(block):
            left[part.piece] -= 1
        used = sum(parts[p.piece].length_mm * parts[p.piece].width_mm for p in parts_of(block))
        length, width = found.problem.sheets[sort]
        layout = lay(block, length, width, scale, value=used, bound=used, proved=found.proved, keep_mm=keep_mm)
        piece = stock[sort]
        name = piece.name if piece.count == 1 else f"{piece.name} ({copies[sort]} of {piece.count})"
        sheets.append(SheetLayout(name, sort, copies[sort], layout))
    used_stock = [stock[sheet.stock] for sheet in sheets]
    prices = [piece.price for piece in used_stock if piece.price is not None]
    return Layouts(
        tuple(sheets),
        tuple(part.name for part in parts),
        sum(piece.length_mm * piece.width_mm for piece in used_stock),
        sum(prices) if len(prices) == len(used_stock) else None,
        found.bound,
        found.proved,
        tuple((part.name, n) for part, n in zip(parts, left, strict=True) if n),
        notes_on(parts, stock, blade_mm),
    )
