"""Quick layouts: parts laid one after another into the space where they fit best, many orders tried.

Each part goes into a corner of a free rectangle and the rest is split by two straight cuts, so that every layout
can be cut. Orders and rules vary: sorted by size first, then small changes to the best order so far.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from random import Random

from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join
from matref.book.cutting.table import Shape

FITS = ("area", "short", "long", "first")
SPLITS = ("short", "long", "large", "small")
Sheet = tuple[int, int]
Ways = Sequence[Sequence[Sequence[Shape]]]  # for each sheet and kind, the ways round that are allowed


@dataclass(slots=True)
class Space:
    """A rectangle: free, or with a part in its corner and two spaces beside it."""

    sheet: int
    length: int
    width: int
    part: Shape | None = None
    axis: int = LENGTH
    beside: Space | None = None
    beyond: Space | None = None

    def block(self) -> Block | None:
        """Return what lies in this space, pushed together."""
        built: list[Block | None] = []
        todo: list[tuple[Space, bool]] = [(self, False)]
        while todo:
            here, ready = todo.pop()
            if here.part is None or here.beside is None or here.beyond is None:
                built.append(None)
            elif ready:
                beyond, beside = built.pop(), built.pop()
                p = here.part
                block = Block(p.length, p.width, piece=p.kind, turned=p.turned)
                if beside:
                    block = join(block, beside, WIDTH if here.axis == LENGTH else LENGTH)
                built.append(join(block, beyond, here.axis) if beyond else block)
            else:
                todo += ((here, True), (here.beyond, False), (here.beside, False))
        return built[0]


@dataclass(slots=True)
class Trial:
    """One quick layout: what lies on each sheet, and which parts found no room."""

    roots: list[Space]
    free: list[Space] = field(default_factory=list)
    missing: list[int] = field(default_factory=list)

    def blocks(self) -> list[Block | None]:
        """Return the block on each sheet."""
        return [root.block() for root in self.roots]

    @property
    def leftover(self) -> float:
        """Sum of the squared areas of the free spaces: more when they are few and large."""
        return float(sum((space.length * space.width) ** 2 for space in self.free))


def lay_in_order(sheets: Sequence[Sheet], ways: Ways, order: Sequence[int], fit: str, split: str) -> Trial:
    """Lay the kinds in `order` (each entry one copy) and return the trial."""
    roots = [Space(i, length, width) for i, (length, width) in enumerate(sheets)]
    trial = Trial(roots, list(roots))
    full: set[int] = set()  # kinds that no longer fit anywhere
    for kind in order:
        place = None if kind in full else _best_place(trial.free, ways, kind, fit)
        if place is None:
            full.add(kind)
            trial.missing.append(kind)
        else:
            at, shape = place
            space = trial.free.pop(at)
            trial.free += [s for s in _divide(space, shape, split) if s.length and s.width]
    return trial


def _best_place(free: Sequence[Space], ways: Ways, kind: int, fit: str) -> tuple[int, Shape] | None:
    best: tuple[int, int] | None = None
    place: tuple[int, Shape] | None = None
    for at, space in enumerate(free):
        for shape in ways[space.sheet][kind]:
            long, wide = space.length - shape.length, space.width - shape.width
            if long < 0 or wide < 0:
                continue
            if fit == "area":
                score = (space.length * space.width, min(long, wide))
            elif fit == "short":
                score = (min(long, wide), max(long, wide))
            elif fit == "long":
                score = (max(long, wide), min(long, wide))
            else:
                score = (space.sheet, space.length * space.width)
            if best is None or score < best:
                best, place = score, (at, shape)
    return place


def _divide(space: Space, shape: Shape, split: str) -> tuple[Space, Space]:
    long, wide = space.length - shape.length, space.width - shape.width
    if split == "short":
        along = long > wide
    elif split == "long":
        along = long <= wide
    else:  # the larger of the two rests as large, or as small, as it can be
        along = (long * space.width > wide * space.length) == (split == "large")
    space.part = shape
    if along:
        space.axis = LENGTH
        space.beside = Space(space.sheet, shape.length, wide)
        space.beyond = Space(space.sheet, long, space.width)
    else:
        space.axis = WIDTH
        space.beside = Space(space.sheet, long, shape.width)
        space.beyond = Space(space.sheet, space.length, wide)
    return space.beside, space.beyond


def trials(
    sheets: Sequence[Sheet],
    ways: Ways,
    copies: Sequence[int],
    better: Callable[[Trial], bool],
    weights: Sequence[float] = (),
    seed: int = 1,
) -> Iterator[Trial]:
    """Yield quick layouts without end; `better` says whether to go on from the order of the last one."""
    sizes = [next((w[k][0] for w in ways if w[k]), Shape(0, 0, k, False)) for k in range(len(copies))]
    keys: list[Callable[[int], float]] = [
        lambda k: -sizes[k].length * sizes[k].width,
        lambda k: -max(sizes[k][:2]),
        lambda k: -sizes[k].width,
        lambda k: -sizes[k].length,
        lambda k: -sizes[k].length - sizes[k].width,
    ]
    if weights:
        keys.insert(0, lambda k: -weights[k])
        keys.insert(1, lambda k: -weights[k] / max(1, sizes[k].length * sizes[k].width))
    everything = [k for k, n in enumerate(copies) for _ in range(n)]
    best = sorted(everything, key=keys[0])
    for fit in FITS:
        for split in SPLITS:
            for key in keys:
                order = sorted(everything, key=key)
                trial = lay_in_order(sheets, ways, order, fit, split)
                if better(trial):
                    best = order
                yield trial
    dice = Random(seed)
    while True:
        order = list(best)
        for _ in range(dice.randint(1, 3)):
            order.insert(dice.randrange(len(order)), order.pop(dice.randrange(len(order))))
        trial = lay_in_order(sheets, ways, order, dice.choice(FITS), dice.choice(SPLITS))
        if better(trial):
            best = order
        yield trial
