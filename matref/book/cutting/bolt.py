"""The shortest length to buy from a bolt of given width."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass

from matref.book.check import between, not_negative
from matref.book.cutting.blocks import LENGTH, Block, join, lay
from matref.book.cutting.budget import Budget, Progress, Spent
from matref.book.cutting.fitting import FEW, KEEP, Problem, decide
from matref.book.cutting.parts import Part, Piece, check_each_fits, check_parts, notes_on, ways
from matref.book.cutting.patterns import members, sums
from matref.book.cutting.shapes import Layout
from matref.book.cutting.table import Shape
from matref.book.cutting.units import Scale, size_mm
from matref.errors import BadInput

STEPS = 120_000
TRIES = 80


@dataclass(frozen=True, slots=True)
class BoltLength:
    """A length of cloth: `length_mm` does; nothing below `bound_mm` can; `proved` when they are the same."""

    length_mm: float
    bound_mm: float
    proved: bool
    layout: Layout
    part_names: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def gap(self) -> float:
        """How much longer than the bound the length is, as a share of the length (0 when proved)."""
        return (self.length_mm - self.bound_mm) / self.length_mm

    @property
    def steps(self) -> tuple[str, ...]:
        """The cuts in words, one line each."""
        return self.layout.steps(self.part_names)


def least_length(
    parts: Sequence[Part],
    bolt_width_mm: float,
    *,
    grain: str = "length",
    blade_mm: float = 0.0,
    keep_mm: float = 30.0,
    steps: int = STEPS,
    deadline_s: float | None = None,
    progress: Callable[[Progress], object] | None = None,
) -> BoltLength:
    """Return the shortest piece off a bolt of `bolt_width_mm` that gives all parts, cut straight edge to edge.

    `grain` tells how the grain runs on the bolt: along its 'length' (the usual way), its 'width', or 'either'
    for cloth without grain. With few parts the length is proved the shortest; otherwise `bound_mm` says how
    much could still be saved. On Ctrl-C, or when `steps` or `deadline_s` runs out, the best so far comes back.
    Raises BadInput for a part wider than the bolt.

    >>> cloth = least_length([Part("cover", 240, 170, 3)], 520)
    >>> cloth.length_mm, cloth.proved
    (240.0, True)
    """
    budget = Budget(steps, deadline_s, progress)
    check_parts(parts)
    width_mm, blade = size_mm(bolt_width_mm, "bolt_width_mm"), between(blade_mm, 0, 100, "blade_mm", 0.5)
    keep = not_negative(keep_mm, "keep_mm")
    if grain not in ("length", "width", "either"):
        raise BadInput(
            f"grain of the bolt is {grain!r}", expected="'length', 'width' or 'either'", example="grain='length'"
        )
    longest = sum(max(part.length_mm, part.width_mm) * part.count for part in parts)
    roll = Piece("bolt", longest + blade * sum(part.count for part in parts), width_mm, grain=grain)
    scale = Scale.of([width_mm, *(side for part in parts for side in (part.length_mm, part.width_mm))], blade)
    check_each_fits(parts, [roll], scale)
    shapes = [ways(part, roll, kind, scale) for kind, part in enumerate(parts)]
    bolt = _Bolt(scale.grown(width_mm), shapes, [part.count for part in parts])
    with suppress(Spent, KeyboardInterrupt):
        bolt.solve(budget)
    length = bolt.block.length
    proved = bolt.bound >= length
    used = sum(part.length_mm * part.width_mm * part.count for part in parts)
    layout = lay(bolt.block, length, bolt.width, scale, value=used, bound=used, proved=proved, keep_mm=keep)
    return BoltLength(
        scale.real_mm(length),
        scale.real_mm(min(bolt.bound, length)),
        proved,
        layout,
        tuple(part.name for part in parts),
        notes_on(parts, [roll], blade),
    )


class _Bolt:
    """The shortest block so far and the greatest length known to be needed."""

    def __init__(self, width: int, ways: list[list[Shape]], copies: list[int]) -> None:
        self.width, self.ways, self.copies = width, ways, copies
        row: Block | None = None
        for kind, number in enumerate(copies):
            shape = min(ways[kind])
            part = Block(shape.length, shape.width, piece=shape.kind, turned=shape.turned)
            for _ in range(number):
                row = part if row is None else join(row, part, LENGTH)
        if row is None:
            raise BadInput("there are no parts to cut", expected="at least one")
        self.block = row
        area = sum(n * min(s.length * s.width for s in w) for n, w in zip(copies, ways, strict=True))
        self.bound = max(-(-area // width), max(min(s.length for s in w) for w in ways))

    def problem(self, length: int) -> Problem:
        """The question whether everything fits on this length."""
        fitting = [[s for s in kind if s.length <= length] for kind in self.ways]
        return Problem([(length, self.width)], [fitting], self.copies)

    def solve(self, budget: Budget) -> None:
        """Shorten the block by trials and beam search, then settle the lengths between the bound and it."""
        few = sum(self.copies) <= FEW
        for work, share in ((self._by_trials, 0.1), (self._by_beams, 0.2 if few else 0.6)):
            part = budget.share(share)
            with suppress(Spent):
                work(part)
            budget.spend(min(part.used, part.steps))
            budget.tell(self.block.length, self.bound)
        lengths = [n for n in self._lengths() if self.bound <= n < self.block.length]
        self.bound = min([*lengths, self.block.length])
        lengths = self._refute_many(lengths, budget)
        for at, length in enumerate(lengths):
            part = budget.share(0.6)
            settled, blocks = decide(self.problem(length), [0], 20, part)
            if blocks and blocks[0]:
                self.block = blocks[0]
                break
            if not settled:
                return
            self.bound = lengths[at + 1] if at + 1 < len(lengths) else self.block.length
            budget.tell(self.block.length, self.bound)
            budget.spend(min(part.used, part.steps))
        self.bound = self.block.length

    def _by_trials(self, budget: Budget) -> None:
        while True:
            trial = self.problem(self.block.length - 1).quick([0], TRIES, budget)
            block = trial.blocks()[0]
            if trial.missing or block is None:
                return
            self.block = block

    def _by_beams(self, budget: Budget) -> None:
        for keep in KEEP:
            while True:
                blocks = self.problem(self.block.length - 1).beam([0], keep, budget)
                if not blocks or not blocks[0]:
                    break
                self.block = blocks[0]

    def _lengths(self) -> list[int]:
        """Every length that parts in a row can add up to."""
        demands = [(tuple({s.length for s in kind}), n) for kind, n in zip(self.ways, self.copies, strict=True)]
        return members(sums(self.block.length, demands))

    def _refute_many(self, lengths: list[int], budget: Budget) -> list[int]:
        """Halve the list by weights: what does not fit on a length does not fit on a shorter one."""
        low, high = 0, len(lengths)
        while low < high:
            middle = (low + high) // 2
            problem = self.problem(lengths[middle])
            if problem.too_small([0]) or problem.refuted([0], budget)[0]:
                low = middle + 1
                self.bound = lengths[low] if low < len(lengths) else self.block.length
            else:
                high = middle
        return lengths[low:]
