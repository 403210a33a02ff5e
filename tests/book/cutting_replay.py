"""Checks on layouts that share no code with the solver: the cuts are done again, and tiny problems enumerated."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import combinations
from pathlib import Path

from matref.book.cutting import Layout, Rect

INSTANCES = Path(__file__).parent / "cutting_instances"
NEAR = 2e-3  # mm; sizes are counted in whole micrometres
Sizes = dict[int, tuple[float, float]]


def read_instance(name: str) -> tuple[tuple[int, int], list[list[int]]]:
    """Return the stock size and the rows of one published instance."""
    numbers = [int(word) for word in (INSTANCES / f"{name}.txt").read_text().split()]
    kinds, length, width, *rest = numbers
    row = len(rest) // kinds
    assert len(rest) == kinds * row
    return (length, width), [rest[i * row : (i + 1) * row] for i in range(kinds)]


def same(a: Rect, b: Rect) -> bool:
    pairs = ((a.x, b.x), (a.y, b.y), (a.length, b.length), (a.width, b.width))
    return all(abs(one - two) <= NEAR for one, two in pairs)


def replay(layout: Layout, sizes: Sizes, blade_mm: float = 0.0) -> Counter[int]:
    """Do the cuts one after another on a sheet; return how many of each piece came out.

    Every cut must run from edge to edge of a rectangle that is there at that moment, leave what it says, and
    lose the blade's width; in the end each part has its size and every rectangle is accounted for.
    """
    there = {0: Rect(0.0, 0.0, layout.length_mm, layout.width_mm)}
    for number, cut in enumerate(layout.cuts, 1):
        assert cut.number == number
        box = there.pop(cut.region)
        assert same(box, cut.rect)
        assert cut.across in ("length", "width")
        side = box.length if cut.across == "length" else box.width
        assert NEAR < cut.at_mm < side - NEAR / 4, "a cut at the edge cuts nothing"
        rest = side - cut.at_mm - blade_mm
        if cut.across == "length":
            near = Rect(box.x, box.y, cut.at_mm, box.width)
            far = Rect(box.x + cut.at_mm + blade_mm, box.y, rest, box.width)
        else:
            near = Rect(box.x, box.y, box.length, cut.at_mm)
            far = Rect(box.x, box.y + cut.at_mm + blade_mm, box.length, rest)
        assert same(near, cut.near)
        there[2 * number - 1] = near
        if cut.far is None:
            assert rest <= NEAR
        else:
            assert same(far, cut.far)
            there[2 * number] = far
    out: Counter[int] = Counter()
    for part in layout.placed:
        box = there.pop(part.region)
        assert same(box, part.rect)
        length, width = sizes[part.piece]
        expected = (width, length) if part.turned else (length, width)
        assert abs(box.length - expected[0]) <= NEAR
        assert abs(box.width - expected[1]) <= NEAR
        assert box.x >= -NEAR
        assert box.x + box.length <= layout.length_mm + NEAR
        assert box.y >= -NEAR
        assert box.y + box.width <= layout.width_mm + NEAR
        out[part.piece] += 1
    for offcut in layout.offcuts:
        assert same(there.pop(offcut.region), offcut.rect)
    assert not there, "a rectangle was left lying about"
    for one, two in combinations(layout.placed, 2):
        assert clear(one.rect, two.rect, blade_mm), "parts overlap or leave no room for the blade"
    return out


def clear(a: Rect, b: Rect, gap: float) -> bool:
    """Say whether two rectangles lie apart by at least `gap` along one side."""
    along = max(a.x, b.x) - min(a.x + a.length, b.x + b.length)
    across = max(a.y, b.y) - min(a.y + a.width, b.y + b.width)
    return max(along, across) >= gap - NEAR


def sets_that_fit(
    length: int, width: int, ways: list[list[tuple[int, int]]], limits: list[int], blade: int = 0
) -> frozenset[tuple[int, ...]]:
    """Return every set of pieces (copies per kind) that whole-number cuts can take out of a sheet.

    Plain enumeration of all cuts at all whole positions: far too slow for anything but a few units.
    """
    none = tuple(0 for _ in limits)

    @cache
    def out_of(length: int, width: int) -> frozenset[tuple[int, ...]]:
        found = {none}
        for kind, shapes in enumerate(ways):
            if limits[kind] and (length, width) in shapes:
                found.add(tuple(int(k == kind) for k in range(len(limits))))
        halves = [((a, width), (length - a - blade, width)) for a in range(1, length)]
        halves += [((length, a), (length, width - a - blade)) for a in range(1, width)]
        for near, far in halves:
            left = out_of(*near)
            right = out_of(*far) if min(far) > 0 else frozenset({none})
            for one in left:
                for two in right:
                    both = tuple(a + b for a, b in zip(one, two, strict=True))
                    if all(n <= most for n, most in zip(both, limits, strict=True)):
                        found.add(both)
        return frozenset(found)

    return out_of(length, width)
