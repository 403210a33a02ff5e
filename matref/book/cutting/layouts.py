"""All parts of a job on pieces of stock, with the least stock cut into."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from itertools import islice

from matref.book.cutting.blocks import Block, lay, parts_of
from matref.book.cutting.budget import Budget, Progress, Spent
from matref.book.cutting.choice import choices
from matref.book.cutting.fitting import Problem, decide
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

STEPS = 120_000
MOST_CHOICES = 2_000
FIRST_TRIES = 40
MORE_TRIES = 160


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
        self.kept: tuple[tuple[int, ...], list[Block | None]] = ((), [])
        self.cost: float | None = None
        self.bound: float | None = 0.0
        self.proved = False

    def solve(self, budget: Budget, scale: Scale, keep_mm: float) -> None:
        """Find a choice that holds everything, prove or improve it, and tidy the leftovers."""
        listed = [
            (cost, sorts)
            for cost, sorts in islice(choices(self.costs, self.counts), MOST_CHOICES)
            if not self.problem.too_small(sorts)
        ]
        found = any(self.try_quickly(cost, sorts, budget, 0.1) for cost, sorts in listed)
        if not found and not self.with_everything(budget):
            return
        self.prove(listed, budget)
        sorts, blocks = self.kept
        self.kept = (sorts, tidied(self.problem, sorts, blocks, scale, keep_mm, budget))

    def hold(self, sorts: tuple[int, ...], blocks: list[Block | None]) -> bool:
        """Keep a choice that holds everything."""
        self.kept = (sorts, blocks)
        self.cost = sum(self.costs[sort] for sort in sorts)
        return True

    def try_quickly(self, cost: float, sorts: tuple[int, ...], budget: Budget, share: float) -> bool:
        """Keep a choice if a few trials fit everything on it."""
        part = budget.share(share)
        trial = self.problem.quick(sorts, FIRST_TRIES, part)
        if not trial.missing:
            self.hold(sorts, trial.blocks())
            budget.tell(cost, self.bound or 0.0)
        budget.spend(part.used)
        return not trial.missing

    def with_everything(self, budget: Budget) -> bool:
        """Use all the stock there is; if that is not enough, place as much as trials can."""
        sorts = tuple(sort for sort, n in enumerate(self.counts) for _ in range(n))
        self.place_most(sorts, budget)
        part = budget.share(0.6)
        settled, blocks = decide(self.problem, sorts, MORE_TRIES, part)
        if blocks is not None:
            return self.hold(sorts, blocks)
        self.proved = settled
        self.bound = None if settled else self.bound
        budget.spend(min(part.used, part.steps))
        return False

    def prove(self, listed: list[tuple[float, tuple[int, ...]]], budget: Budget) -> None:
        """Settle the choices cheaper than the one held, cheapest first; the first that holds all is the best."""
        proving = True
        for cost, sorts in listed:
            if self.cost is None or cost >= self.cost:
                break
            if proving:
                self.bound = cost
            part = budget.share(0.35)
            settled, blocks = decide(self.problem, sorts, MORE_TRIES, part)
            if blocks is not None:
                self.hold(sorts, blocks)
            proving = proving and settled
            budget.tell(self.cost, self.bound or 0.0)
            budget.spend(min(part.used, part.steps))
        if proving:
            self.bound, self.proved = self.cost, True

    def place_most(self, sorts: tuple[int, ...], budget: Budget) -> None:
        """Keep the trial that leaves least out."""
        part = budget.share(0.3)
        trial = self.problem.quick(sorts, MORE_TRIES, part)
        self.kept = (sorts, trial.blocks())
        budget.spend(min(part.used, part.steps))


def _result(
    found: _Found, parts: Sequence[Part], stock: Sequence[Piece], scale: Scale, blade_mm: float, keep_mm: float
) -> Layouts:
    sheets: list[SheetLayout] = []
    copies: Counter[int] = Counter()
    left = [part.count for part in parts]
    for sort, block in zip(*found.kept, strict=True):
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
