"""All parts of a job on pieces of stock, with the least stock cut into."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress

from matref.book.check import between, not_negative
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
from matref.book.cutting.units import Scale
from matref.book.cutting.valuable import Job
from matref.errors import BadInput

STEPS = 150_000
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
    (True, ['greyboard'], 3)
    """
    budget = Budget(steps, deadline_s, progress)
    check_parts(parts)
    check_stock(stock)
    blade, keep = between(blade_mm, 0, 100, "blade_mm", 0.5), not_negative(keep_mm, "keep_mm")
    if least not in ("area", "cost"):
        raise BadInput(f"least is {least!r}", expected="'area' or 'cost'", example="least='area'")
    if least == "cost" and any(piece.price is None for piece in stock):
        raise BadInput("least cost needs a price", expected="a price for every piece of stock", example="price=4.5")
    sizes = [side for part in parts for side in (part.length_mm, part.width_mm)]
    sizes += [side for piece in stock for side in (piece.length_mm, piece.width_mm)]
    scale = Scale.of(sizes, blade)
    check_each_fits(parts, stock, scale)
    problem = Problem(
        [(scale.grown(p.length_mm), scale.grown(p.width_mm)) for p in stock],
        [[ways(part, piece, kind, scale) for kind, part in enumerate(parts)] for piece in stock],
        [part.count for part in parts],
    )
    costs = [p.length_mm * p.width_mm if least == "area" else p.price or 0.0 for p in stock]
    found = _Found(problem, costs, [piece.count for piece in stock])
    with suppress(Spent, KeyboardInterrupt):
        found.solve(budget, scale, keep)
    return _result(found, parts, stock, scale, blade, keep)


class _Found:
    """The best choice of stock so far with the blocks on it, and what has been proved."""

    def __init__(self, problem: Problem, costs: Sequence[float], counts: Sequence[int]) -> None:
        self.problem, self.costs = problem, costs
        self.counts = [min(count, sum(problem.copies)) for count in counts]
        self.kept: tuple[tuple[int, ...], list[Block | None]] = ((), [])
        self.cost: float | None = None
        self.bound: float | None = cheapest_area(problem, costs, self.counts)
        self.proved = False

    def solve(self, budget: Budget, scale: Scale, keep_mm: float) -> None:
        """Find a choice that holds everything, prove or improve it, and tidy the leftovers."""
        everything = tuple(sort for sort, n in enumerate(self.counts) for _ in range(n))
        part = budget.share(0.2)
        trial = self.problem.quick(everything, FIRST_TRIES, part)
        self.kept = (everything, trial.blocks())
        if not trial.missing:
            self.hold(everything, trial.blocks(), budget)
        budget.spend(min(part.used, part.steps))
        listed, horizon = self.list_choices()
        part = budget.share(0.4)
        with suppress(Spent):
            for _, sorts in listed:
                if self.try_quickly(sorts, part):
                    break
        budget.spend(min(part.used, part.steps))
        if self.cost is None and not self.with_everything(everything, budget):
            return
        part = budget.share(0.3)
        self.thin_out(part)
        budget.spend(min(part.used, part.steps))
        self.prove(listed, horizon, budget)
        sorts, blocks = self.kept
        self.kept = (sorts, tidied(self.problem, sorts, blocks, scale, keep_mm, budget))

    def list_choices(self) -> tuple[list[tuple[float, tuple[int, ...]]], float]:
        """List the choices that could do, cheapest first, and the cost up to which the list is complete."""
        listed: list[tuple[float, tuple[int, ...]]] = []
        for number, (cost, sorts) in enumerate(choices(self.costs, self.counts)):
            if number == MOST_CHOICES or (self.cost is not None and cost >= self.cost):
                return listed, cost
            if not self.problem.too_small(sorts):
                listed.append((cost, sorts))
        return listed, float("inf")

    def hold(self, sorts: tuple[int, ...], blocks: list[Block | None], budget: Budget) -> bool:
        """Keep a choice that holds everything, without the sheets that nothing lies on."""
        used = [(sort, block) for sort, block in zip(sorts, blocks, strict=True) if block]
        self.kept = (tuple(sort for sort, _ in used), [block for _, block in used])
        self.cost = sum(self.costs[sort] for sort, _ in used)
        budget.tell(self.cost, self.bound or 0.0)
        return True

    def try_quickly(self, sorts: tuple[int, ...], budget: Budget) -> bool:
        """Keep a choice if a few trials fit everything on it."""
        part = budget.share(0.2)
        trial = self.problem.quick(sorts, FIRST_TRIES, part)
        if not trial.missing:
            self.hold(sorts, trial.blocks(), budget)
        budget.spend(part.used)
        return not trial.missing

    def thin_out(self, budget: Budget) -> None:
        """Leave out sheets, or take cheaper ones instead, as long as trials fit everything on the rest."""
        with suppress(Spent):
            while any(self.try_quickly(sorts, budget) for sorts in self.cheaper()):
                pass

    def cheaper(self) -> Iterator[tuple[int, ...]]:
        """Yield the choices that differ from the one held by one sheet and cost less, the cheapest first."""
        held = self.kept[0]
        near: list[tuple[float, tuple[int, ...]]] = []
        for sort in set(held):
            rest = list(held)
            rest.remove(sort)
            near.append((-self.costs[sort], tuple(rest)))
            for other, count in enumerate(self.counts):
                saved = self.costs[other] - self.costs[sort]
                if saved < 0 and rest.count(other) < count:
                    near.append((saved, (*rest, other)))
        for _, sorts in sorted(near):
            if sorts and not self.problem.too_small(sorts):
                yield sorts

    def with_everything(self, everything: tuple[int, ...], budget: Budget) -> bool:
        """Use all the stock there is."""
        part = budget.share(0.6)
        settled, blocks = decide(self.problem, everything, MORE_TRIES, part)
        if blocks is not None:
            return self.hold(everything, blocks, budget)
        self.proved = settled
        self.bound = None if settled else self.bound
        budget.spend(min(part.used, part.steps))
        self.fill_one_by_one(everything, budget)
        return False

    def fill_one_by_one(self, everything: tuple[int, ...], budget: Budget) -> None:
        """Place as much area as goes on each sheet, the largest sheet first; keep it if that is more."""
        problem = self.problem
        left = list(problem.copies)
        sorts = sorted(everything, key=lambda s: -problem.sheets[s][0] * problem.sheets[s][1])
        blocks: list[Block | None] = []
        for place, sort in enumerate(sorts):
            shapes = [shape for kind in problem.ways[sort] for shape in kind]
            job = Job(problem.sheets[sort], shapes, [float(a) for a in problem.areas], list(left))
            part = budget.share(1 / (len(sorts) - place))
            with suppress(Spent):
                job.solve(part)
            blocks.append(job.block)
            for placed in parts_of(job.block):
                left[placed.piece] -= 1
            budget.spend(min(part.used, part.steps))
        if sum(map(self.placed, blocks)) > sum(map(self.placed, self.kept[1])):
            self.kept = (tuple(sorts), blocks)

    def placed(self, block: Block | None) -> int:
        """Area of the parts in a block, in grown units."""
        return sum(self.problem.areas[part.piece] for part in parts_of(block))

    def prove(self, listed: list[tuple[float, tuple[int, ...]]], horizon: float, budget: Budget) -> None:
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
                self.hold(sorts, blocks, budget)
            proving = proving and settled
            budget.tell(self.cost, self.bound or 0.0)
            budget.spend(min(part.used, part.steps))
        if proving and self.cost is not None:
            self.proved = self.cost <= horizon
            self.bound = min(self.cost, max(horizon, self.bound or 0.0))


def cheapest_area(problem: Problem, costs: Sequence[float], counts: Sequence[int]) -> float:
    """Return the least cost of as much area as the parts have, had any fraction of a sheet its price."""
    areas = [length * width for length, width in problem.sheets]
    left, total = float(problem.area), 0.0
    for sort in sorted(range(len(costs)), key=lambda s: costs[s] / areas[s]):
        share = min(float(counts[sort]), left / areas[sort])
        total += share * costs[sort]
        left -= share * areas[sort]
    return total


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
