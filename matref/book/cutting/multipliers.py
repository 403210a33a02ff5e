"""Prices on copies: tighten the bound of the unlimited problem for one with copy limits.

Lagrangian relaxation: each copy of kind k costs `prices[k]`, each copy allowed pays it back, so the unlimited
optimum at these prices is never below the limited one. Subgradient steps (Held, Wolfe & Crowder, Math. Programming 6,
1974) lower it. Every layout met on the way is a candidate, once the copies too many are left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from matref.book.cutting.blocks import Block, join, parts_of
from matref.book.cutting.budget import Budget
from matref.book.cutting.grid import Grid
from matref.book.cutting.table import Table

ROUNDS = 120
PATIENCE = 8  # rounds without a lower bound before the step is halved
WORK_PER_STEP = 100  # additions in a table that cost about as much as one step of a search


@dataclass(frozen=True, slots=True)
class Priced:
    """The lowest bound found, with the table and prices that give it, and the best layout met."""

    bound: float
    prices: list[float]
    table: Table
    block: Block | None
    value: float


def drop_excess(block: Block | None, limits: Sequence[int]) -> Block | None:
    """Return the block without the copies above `limits`, the holes closed."""
    left = list(limits)
    built: list[Block | None] = []
    todo: list[tuple[Block, bool]] = [(block, False)] if block else []
    while todo:
        here, ready = todo.pop()
        if here.first is None or here.second is None:
            left[here.piece] -= 1
            built.append(here if left[here.piece] >= 0 else None)
        elif ready:
            second, first = built.pop(), built.pop()
            built.append(join(first, second, here.axis) if first and second else first or second)
        else:
            todo += ((here, True), (here.second, False), (here.first, False))
    return built[0] if built else None


def worth(block: Block | None, values: Sequence[float]) -> float:
    """Sum of the values of the parts in a block."""
    return sum(values[part.piece] for part in parts_of(block))


def price_copies(
    grid: Grid, values: Sequence[float], limits: Sequence[int], value: float, budget: Budget
) -> Iterator[Priced]:
    """Yield the tightest bound so far after each subgradient step; `value` is the best layout known."""
    prices = [0.0] * len(values)
    best: Priced | None = None
    block: Block | None = None
    step, stale = 1.0, 0
    most = max(0, budget.steps - budget.used) // 3 * WORK_PER_STEP // max(1, grid.work)
    for _ in range(min(ROUNDS, most + 1)):
        table = grid.table([v - p for v, p in zip(values, prices, strict=True)])
        bound = table.best + sum(p * n for p, n in zip(prices, limits, strict=True))
        met = table.trace()
        kept = drop_excess(met, limits)
        if grid.step == 1 and worth(kept, values) > value:
            block, value = kept, worth(kept, values)
        if best is None or bound < best.bound - 1e-9:
            best, stale = Priced(bound, prices, table, block, value), 0
        else:
            best = Priced(best.bound, best.prices, best.table, block, value)
            stale += 1
            if stale >= PATIENCE:
                step, stale, prices = step / 2, 0, best.prices
        yield best
        budget.spend(1 + grid.work // WORK_PER_STEP)
        budget.tell(value, best.bound)
        used = [0] * len(values)
        for part in parts_of(met):
            used[part.piece] += 1
        slope = [u - n if u > n or p > 0 else 0 for u, n, p in zip(used, limits, prices, strict=True)]
        size = sum(s * s for s in slope)
        if size == 0 or best.bound <= value or step < 0.02:
            return
        move = step * max(bound - value, 1e-6) / size
        prices = [max(0.0, p + move * s) for p, s in zip(prices, slope, strict=True)]
