"""The dynamic programme without copy limits: best value inside every size, best value round every size.

Inside is Beasley's recursion (J. Opl Res. Soc. 36, 1985) on the thinned grid. Outside is its mirror: what the
rest of the sheet can be worth when one rectangle of it is spoken for. Both allow any number of stages.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import add
from typing import NamedTuple

from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join
from matref.book.cutting.patterns import Axis


class Shape(NamedTuple):
    """One part in one way round, in grown units; `kind` counts the different parts."""

    length: int
    width: int
    kind: int
    turned: bool


class Table:
    """Best values on a grid of sizes, for given values of the kinds.

    >>> from matref.book.cutting.patterns import axis, sums
    >>> side = axis(sums(10, [((4,), 9)]), 100)
    >>> Table(side, side, [Shape(4, 4, 0, False)], [7.0]).best
    28.0
    """

    def __init__(self, along: Axis, across: Axis, shapes: Sequence[Shape], values: Sequence[float]) -> None:
        self.along = along
        self.across = across
        self.shapes = shapes
        self.values = values
        self.inside = self._fill()

    @property
    def best(self) -> float:
        """The best value of the whole sheet."""
        return self.inside[-1][-1]

    def _fill(self) -> list[list[float]]:
        wide = len(self.across.points)
        here: dict[int, list[tuple[int, float]]] = {}
        for shape in self.shapes:
            i, j = self.along.least(shape.length), self.across.least(shape.width)
            if i < len(self.along.points) and j < wide and self.values[shape.kind] > 0:
                here.setdefault(i, []).append((j, self.values[shape.kind]))
        rows: list[list[float]] = []
        for i, pairs in enumerate(self.along.pairs):
            row = list(rows[-1]) if rows else [0.0] * wide
            for j, value in here.get(i, ()):
                row[j] = max(row[j], value)
            for a, b in pairs:
                row = list(map(max, row, map(add, rows[a], rows[b])))
            for j in range(1, wide):
                top = max(row[j], row[j - 1])
                for a, b in self.across.pairs[j]:
                    both = row[a] + row[b]
                    if both > top:
                        top = both
                row[j] = top
            rows.append(row)
        return rows

    def outside(self) -> list[list[float]]:
        """Return the best value of the rest of the sheet round a rectangle of each size.

        The figure holds for any rectangle at least as large as the grid's point.
        """
        none = float("-inf")
        tall, wide = len(self.along.points), len(self.across.points)
        rows = [[none] * wide for _ in range(tall)]
        rows[-1][-1] = 0.0
        for i in range(tall - 1, -1, -1):
            row, filled = rows[i], self.inside[i]
            if i + 1 < tall:
                row[:] = map(max, row, rows[i + 1])
            for j in range(wide - 1, -1, -1):
                if j + 1 < wide and row[j + 1] > row[j]:
                    row[j] = row[j + 1]
                base = row[j]
                for a, b in self.across.pairs[j]:
                    row[a] = max(row[a], base + filled[b])
                    row[b] = max(row[b], base + filled[a])
            for a, b in self.along.pairs[i]:
                rows[a][:] = map(max, rows[a], map(add, row, self.inside[b]))
                rows[b][:] = map(max, rows[b], map(add, row, self.inside[a]))
        return rows

    def trace(self) -> Block | None:
        """Return a best layout as a block; None when nothing of value fits."""
        built: list[Block | None] = []
        todo: list[tuple[int, int, int]] = [(len(self.along.points) - 1, len(self.across.points) - 1, -1)]
        while todo:
            i, j, axis = todo.pop()
            if axis >= 0:  # both halves are built: join them
                second, first = built.pop(), built.pop()
                built.append(join(first, second, axis) if first and second else first or second)
                continue
            i, j = self._shrink(i, j)
            shape = self._single(i, j)
            if self.inside[i][j] == 0:
                built.append(None)
            elif shape is not None:
                built.append(Block(shape.length, shape.width, piece=shape.kind, turned=shape.turned))
            else:
                axis, one, other = self._split(i, j)
                todo += ((i, j, axis), other, one)
        return built[0]

    def _shrink(self, i: int, j: int) -> tuple[int, int]:
        inside = self.inside
        while i and inside[i - 1][j] == inside[i][j]:
            i -= 1
        while j and inside[i][j - 1] == inside[i][j]:
            j -= 1
        return i, j

    def _single(self, i: int, j: int) -> Shape | None:
        value, length, width = self.inside[i][j], self.along.points[i], self.across.points[j]
        for shape in self.shapes:
            if self.values[shape.kind] == value and shape.length <= length and shape.width <= width:
                return shape
        return None

    def _split(self, i: int, j: int) -> tuple[int, tuple[int, int, int], tuple[int, int, int]]:
        inside, value = self.inside, self.inside[i][j]
        for a, b in self.along.pairs[i]:
            if inside[a][j] + inside[b][j] == value:
                return LENGTH, (a, j, -1), (b, j, -1)
        for a, b in self.across.pairs[j]:
            if inside[i][a] + inside[i][b] == value:
                return WIDTH, (i, a, -1), (i, b, -1)
        raise RuntimeError("the table does not hold its own best value")
