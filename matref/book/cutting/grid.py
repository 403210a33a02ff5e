"""One sheet with the parts that may lie on it, ready for the dynamic programme.

When the grid of sizes that matter is too fine to be worked through, a coarser unit is taken. Parts rounded
down on it give a bound that still holds; parts rounded up give a layout that still fits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join
from matref.book.cutting.patterns import Axis, axis, sums
from matref.book.cutting.table import Shape, Table

MOST_POINTS = 1500  # sizes along one side


@dataclass(frozen=True, slots=True)
class Grid:
    """The two axes of a sheet in a unit of `step` grown units; `shapes` are in that unit too."""

    along: Axis
    across: Axis
    shapes: tuple[Shape, ...]
    step: int

    @property
    def work(self) -> int:
        """Additions needed to fill one table."""
        return self.along.work * len(self.across.points) + self.across.work * len(self.along.points)

    def table(self, values: Sequence[float]) -> Table:
        """Fill the table for these values of the kinds."""
        return Table(self.along, self.across, self.shapes, values)


def grid(
    length: int,
    width: int,
    shapes: Sequence[Shape],
    limits: Sequence[int],
    most_work: int,
    *,
    round_up: bool = False,
    thinning: int = 1000,
) -> Grid | None:
    """Return the finest grid that needs at most `most_work`, or None when even a coarse one needs more.

    `thinning` says how many times thinner than the normal patterns a grid may be hoped to become.
    """
    step = 1
    coarsest = min(min(s.length, s.width) for s in shapes) if not round_up else max(length, width)
    while step <= coarsest:
        up = step - 1 if round_up else 0
        coarse = tuple(Shape((s.length + up) // step, (s.width + up) // step, s.kind, s.turned) for s in shapes)
        bits = [
            sums(limit // step, list(_demands(coarse, limits, side)))
            for side, limit in ((LENGTH, length), (WIDTH, width))
        ]
        many = [b.bit_count() for b in bits]
        if max(many) <= MOST_POINTS and many[0] * many[1] * sum(many) // 8 <= thinning * most_work:
            along, across = axis(bits[0], most_work // min(20, many[1])), axis(bits[1], most_work // min(20, many[0]))
            if along is not None and across is not None:
                made = Grid(along, across, coarse, step)
                if made.work <= most_work:
                    return made
        step = max(step + 1, step * 5 // 4, step * max(many) // MOST_POINTS)
    return None


def _demands(shapes: Sequence[Shape], limits: Sequence[int], side: int) -> Iterator[tuple[tuple[int, ...], int]]:
    for kind, most in enumerate(limits):
        sizes = tuple({shape[side] for shape in shapes if shape.kind == kind})
        if sizes:
            yield sizes, most


def at_true_size(block: Block | None, shapes: Sequence[Shape]) -> Block | None:
    """Return a block made on a coarse grid with its parts at the sizes of `shapes`."""
    true = {(shape.kind, shape.turned): shape for shape in shapes}
    built: list[Block] = []
    todo: list[tuple[Block, bool]] = [(block, False)] if block else []
    while todo:
        here, ready = todo.pop()
        if here.first is None or here.second is None:
            shape = true[here.piece, here.turned]
            built.append(Block(shape.length, shape.width, piece=here.piece, turned=here.turned))
        elif ready:
            second, first = built.pop(), built.pop()
            built.append(join(first, second, here.axis))
        else:
            todo += ((here, True), (here.second, False), (here.first, False))
    return built[0] if built else None
