"""Exact search with copy limits: blocks built from parts upwards, the most promising first.

Christofides & Whitlock's problem, searched as by Viswanathan & Bagchi (Oper. Res. 41, 1993): take the block with the
highest bound, join it with every block taken before, along and across. The bound of a block is its own value
plus the best that the sheet round it can be worth, both at the prices of `multipliers`. When no waiting
block can beat the best layout, that layout is proved.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from heapq import heappop, heappush
from typing import NamedTuple

from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join
from matref.book.cutting.budget import Budget
from matref.book.cutting.grid import Grid
from matref.book.cutting.table import Shape


class Entry(NamedTuple):
    """A block with its copies (packed), its value, and its value at the prices, negative for sorting."""

    minus: float
    serial: int
    copies: int
    value: float
    block: Block


class Search:
    """The blocks met so far and the best of them.

    `values` and `prices` are per kind, `outside` belongs to `grid` at those prices. A layout counts as better
    when it is better by `margin`; `value` and `best` start from a layout already known.
    """

    def __init__(
        self,
        sheet: tuple[int, int],
        grid: Grid,
        outside: list[list[float]],
        shapes: Sequence[Shape],
        values: Sequence[float],
        prices: Sequence[float],
        limits: Sequence[int],
        margin: float,
        value: float = 0.0,
        best: Block | None = None,
    ) -> None:
        self.length, self.width = sheet
        self.grid, self.outside = grid, outside
        self.constant = sum(p * n for p, n in zip(prices, limits, strict=True))
        self.margin = margin
        self.value, self.best = value, best
        self.bound = float("inf")
        self.waiting: list[tuple[float, Entry]] = []
        self.groups: dict[tuple[int, int], list[Entry]] = {}
        self.known: dict[int, list[tuple[int, int]]] = {}
        self.serial = 0
        self._rows: dict[int, list[float]] = {}
        self._columns: dict[int, int] = {}
        self.guard, self.room, at = 0, 0, 0
        ones = []
        for most in limits:  # each kind has a field wide enough for its limit, and a guard bit above it
            ones.append(1 << at)
            self.room |= most << at
            at += most.bit_length()
            self.guard |= 1 << at
            at += 1
        for shape in shapes:
            worth = values[shape.kind]
            block = Block(shape.length, shape.width, piece=shape.kind, turned=shape.turned)
            self.offer(block, ones[shape.kind], worth, worth - prices[shape.kind])

    def round_about(self, length: int, width: int) -> float:
        """Return the best priced value of the sheet round a block of this size."""
        row = self._rows.get(length)
        if row is None:
            row = self._rows[length] = self.outside[self.grid.along.most(length // self.grid.step)]
        column = self._columns.get(width)
        if column is None:
            column = self._columns[width] = self.grid.across.most(width // self.grid.step)
        return row[column]

    def offer(self, block: Block, copies: int, value: float, priced: float) -> None:
        """Take in a new block unless it cannot lead to anything better."""
        bound = priced + self.round_about(block.length, block.width) + self.constant
        if bound < self.value + self.margin:
            return
        if value >= self.value + self.margin:
            self.value, self.best = value, block
        same = self.known.setdefault(copies, [])
        if any(length <= block.length and width <= block.width for length, width in same):
            return
        same.append((block.length, block.width))
        self.serial += 1
        heappush(self.waiting, (-bound, Entry(-priced, self.serial, copies, value, block)))

    def run(self, budget: Budget) -> None:
        """Search until proved (then `bound` equals `value`); the budget may end it with `Spent`."""
        while self.waiting:
            minus_bound, entry = heappop(self.waiting)
            if -minus_bound < self.value + self.margin:
                break
            self.bound = min(self.bound, -minus_bound)
            budget.tell(self.value, self.bound)
            size = (entry.block.length, entry.block.width)
            insort(self.groups.setdefault(size, []), entry)
            tried = 0
            for (length, width), group in self.groups.items():
                if length + size[0] <= self.length:
                    tried += self.pair(entry, group, length + size[0], max(width, size[1]), LENGTH)
                if width + size[1] <= self.width:
                    tried += self.pair(entry, group, max(length, size[0]), width + size[1], WIDTH)
            budget.spend(1 + len(self.groups) // 16 + tried // 4)
        self.bound = self.value

    def pair(self, entry: Entry, group: list[Entry], length: int, width: int, axis: int) -> int:
        """Join `entry` with each of a group (most valuable first) that can still matter; count them."""
        at_most = self.round_about(length, width) + self.constant - self.value - self.margin - entry.minus
        room, guard, copies = (self.room | self.guard) - entry.copies, self.guard, entry.copies
        tried = 0
        for other in group:
            if other.minus > at_most:
                break
            tried += 1
            if (room - other.copies) & guard == guard:
                self.offer(
                    join(entry.block, other.block, axis),
                    copies + other.copies,
                    entry.value + other.value,
                    -entry.minus - other.minus,
                )
        return tried
