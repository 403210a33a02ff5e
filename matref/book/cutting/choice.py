"""Which pieces of stock to cut into: every choice in order of cost, cheapest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from heapq import heappop, heappush


def choices(costs: Sequence[float], counts: Sequence[int]) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Yield (cost, sorts) for every choice of pieces, cheapest first, each once; the empty one is left out.

    `sorts` names each piece by the place of its sort in `costs`; a sort occurs at most `counts` times.

    >>> list(choices([2, 3], [2, 1]))
    [(2, (0,)), (3, (1,)), (4, (0, 0)), (5, (0, 1)), (7, (0, 0, 1))]
    """
    order = sorted(range(len(costs)), key=lambda sort: costs[sort])
    waiting: list[tuple[float, tuple[int, ...]]] = []
    for place, sort in enumerate(order):
        if counts[sort]:
            heappush(waiting, (costs[sort], (place,)))
    while waiting:
        cost, places = heappop(waiting)
        yield cost, tuple(order[place] for place in places)
        for place in range(places[-1], len(order)):
            if places.count(place) < counts[order[place]]:
                heappush(waiting, (cost + costs[order[place]], (*places, place)))
