"""Blocks: parts joined edge to edge, the form every search works with, and their way onto the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from matref.book.cutting.shapes import Cut, Layout, Offcut, Placed, Rect
from matref.book.cutting.units import Scale

LENGTH, WIDTH = 0, 1


class Block(NamedTuple):
    """A part, or two blocks side by side along an axis, in grown units (see `Scale`).

    A block that is a part has `first` None. Joined along LENGTH, lengths add and the larger width
    counts; joined along WIDTH the other way round.
    """

    length: int
    width: int
    axis: int = LENGTH
    first: Block | None = None
    second: Block | None = None
    piece: int = -1
    turned: bool = False


def join(first: Block, second: Block, axis: int) -> Block:
    """Return two blocks side by side along `axis`.

    >>> join(Block(3, 2), Block(4, 5), LENGTH)[:2]
    (7, 5)
    """
    if axis == LENGTH:
        length, width = first.length + second.length, max(first.width, second.width)
    else:
        length, width = max(first.length, second.length), first.width + second.width
    return Block(length, width, axis, first, second)


def parts_of(block: Block | None) -> Iterator[Block]:
    """Yield the parts in a block."""
    todo = [block] if block else []
    while todo:
        here = todo.pop()
        if here.first is None or here.second is None:
            yield here
        else:
            todo += (here.second, here.first)


class _Bench:
    """The sheet on the bench while a block is cut out of it: collects cuts, parts and offcuts."""

    def __init__(self, scale: Scale, keep_mm: float) -> None:
        self.scale = scale
        self.keep_mm = keep_mm
        self.cuts: list[Cut] = []
        self.placed: list[Placed] = []
        self.offcuts: list[Offcut] = []

    def rect(self, x: int, y: int, length: int, width: int) -> Rect:
        s = self.scale
        return Rect(s.mm(x), s.mm(y), s.real_mm(length), s.real_mm(width))

    def divide(self, region: int, box: tuple[int, int, int, int], at: int, axis: int) -> tuple[int, int]:
        """Cut `box` at `at` grown units along `axis`; return the regions near and far (0: nothing there)."""
        x, y, length, width = box
        number = len(self.cuts) + 1
        if axis == LENGTH:
            near, far = self.rect(x, y, at, width), self.rect(x + at, y, length - at, width)
        else:
            near, far = self.rect(x, y, length, at), self.rect(x, y + at, length, width - at)
        there = far.length > 0 and far.width > 0
        cut = Cut(
            number,
            region,
            self.rect(*box),
            "length" if axis == LENGTH else "width",
            self.scale.real_mm(at),
            self.scale.mm(self.scale.blade),
            near,
            far if there else None,
        )
        self.cuts.append(cut)
        return 2 * number - 1, 2 * number if there else 0

    def leave(self, region: int, x: int, y: int, length: int, width: int) -> None:
        rect = self.rect(x, y, length, width)
        if rect.length > 0 and rect.width > 0:
            keep = self.keep_mm > 0 and min(rect.length, rect.width) >= self.keep_mm
            self.offcuts.append(Offcut(rect, keep, region))

    def trim(self, block: Block, region: int, box: tuple[int, int, int, int]) -> int:
        """Cut the excess off round a block, the cut that frees the larger strip first; return the region."""
        x, y, length, width = box
        strips = sorted(
            ((length - block.length) * width, LENGTH) if axis == LENGTH else ((width - block.width) * length, WIDTH)
            for axis in (LENGTH, WIDTH)
        )
        for area, axis in reversed(strips):
            if area <= 0:
                continue
            at = block.length if axis == LENGTH else block.width
            near, far = self.divide(region, (x, y, length, width), at, axis)
            if axis == LENGTH:
                if far:
                    self.leave(far, x + at, y, length - at, width)
                length = at
            else:
                if far:
                    self.leave(far, x, y + at, length, width - at)
                width = at
            region = near
        return region


def lay(
    block: Block | None,
    length: int,
    width: int,
    scale: Scale,
    *,
    value: float,
    bound: float,
    proved: bool,
    keep_mm: float = 0.0,
) -> Layout:
    """Cut a block out of a sheet of grown size `length` x `width`; None leaves the sheet whole.

    Every cut comes before the cuts that need its pieces, and the strip it frees is as large as it can be.
    """
    bench = _Bench(scale, keep_mm)
    todo = [(block, 0, 0, 0, length, width)] if block else []
    if block is None:
        bench.leave(0, 0, 0, length, width)
    while todo:
        here, region, x, y, long, wide = todo.pop()
        region = bench.trim(here, region, (x, y, long, wide))
        first, second = here.first, here.second
        if first is None or second is None:
            bench.placed.append(Placed(here.piece, bench.rect(x, y, here.length, here.width), here.turned, region))
        elif here.axis == LENGTH:
            near, far = bench.divide(region, (x, y, here.length, here.width), first.length, LENGTH)
            todo.append((second, far, x + first.length, y, second.length, here.width))
            todo.append((first, near, x, y, first.length, here.width))
        else:
            near, far = bench.divide(region, (x, y, here.length, here.width), first.width, WIDTH)
            todo.append((second, far, x, y + first.width, here.length, second.width))
            todo.append((first, near, x, y, here.length, first.width))
    return Layout(
        scale.real_mm(length),
        scale.real_mm(width),
        value,
        bound,
        proved,
        tuple(bench.placed),
        tuple(bench.cuts),
        tuple(bench.offcuts),
    )
