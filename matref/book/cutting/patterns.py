"""Where a cut can matter: normal patterns, thinned to the sizes that a best layout needs.

Herz (IBM J. Res. Dev. 16, 1972) and Christofides & Whitlock (Oper. Res. 25, 1977): every layout can be pushed
together until each cut lies at a sum of part sizes. Of two cuts that leave the same useful sizes only
one is needed (raster points: Terno, Lindemann & Scheithauer 1987), so each pair kept here is one in which
neither side can grow without the other shrinking.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

Demand = tuple[tuple[int, ...], int]  # the sizes a part can show along the axis, and its most copies


def sums(limit: int, demands: Sequence[Demand]) -> int:
    """Return, as a bit set, every size up to `limit` that parts laid in a row can reach (bit 0: none).

    >>> bin(sums(10, [((3,), 2), ((4,), 1)]))
    '0b10011011001'
    """
    everything = (1 << (limit + 1)) - 1
    reached = 1
    for sizes, copies in demands:
        for _ in range(min(copies, limit // min(sizes))):
            grown = reached
            for size in sizes:
                grown |= reached << size
            grown &= everything
            if grown == reached:
                break
            reached = grown
    return reached


def members(bits: int) -> list[int]:
    """Return the positions of the ones in a bit set, ascending.

    >>> members(0b10011)
    [0, 1, 4]
    """
    return [i for i, digit in enumerate(bin(bits)[:1:-1]) if digit == "1"]


@dataclass(frozen=True, slots=True)
class Axis:
    """The sizes that matter along one side, ascending from 0, and the pairs each can be cut into.

    `pairs[i]` lists index pairs (a, b): a strip of size `points[i]` gives strips of `points[a]` and `points[b]`.
    """

    points: list[int]
    pairs: list[list[tuple[int, int]]]

    def least(self, size: int) -> int:
        """Index of the smallest point that holds `size` (one past the end if none does)."""
        return bisect_left(self.points, size)

    def most(self, size: int) -> int:
        """Index of the largest point that `size` holds."""
        return bisect_right(self.points, size) - 1

    @property
    def work(self) -> int:
        """How many pairs there are."""
        return sum(map(len, self.pairs))


def axis(bits: int, most_pairs: int) -> Axis | None:
    """Return the sizes that matter for a bit set of `sums`, or None when they have more than `most_pairs`.

    >>> axis(sums(10, [((4,), 9)]), 100).points
    [0, 4, 8]
    """
    normal = members(bits)
    left = most_pairs
    found: dict[int, set[tuple[int, int]]] = {0: set()}
    todo = [normal[-1]]
    while todo:
        size = todo.pop()
        if size in found:
            continue
        pairs = set()
        for part in normal[1 : bisect_right(normal, size // 2)]:
            rest = normal[bisect_right(normal, size - part) - 1]
            part = normal[bisect_right(normal, size - rest) - 1]
            pairs.add((min(part, rest), max(part, rest)))
        found[size] = pairs
        left -= len(pairs)
        if left < 0:
            return None
        todo.extend(end for pair in pairs for end in pair)
    points = sorted(found)
    index = {size: i for i, size in enumerate(points)}
    return Axis(points, [[(index[a], index[b]) for a, b in sorted(found[size])] for size in points])
