"""Timing two things side by side. Times are the quickest of several turns.

The two sides take turns, so that whatever else the machine does meets both.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from table import Limit, Row, in_time


def seconds(run: Callable[[], object]) -> float:
    """Return how long one run takes."""
    began = time.perf_counter()
    run()
    return time.perf_counter() - began


def compare(
    what: str,
    run: Callable[[], object],
    beside: str,
    other: Callable[[], object],
    *,
    limit: Limit | None = None,
    turns: int = 7,
    before: Callable[[], object] = lambda: None,
    note: str = "",
) -> Row:
    """Time `run` and `other` in turns and compare their quickest; `before` runs ahead of every turn, untimed."""
    both = []
    for _ in range(turns):
        before()
        both.append((seconds(run), seconds(other)))
    ours, theirs = min(a for a, _ in both), min(b for _, b in both)
    return Row(what, in_time(ours), beside, in_time(theirs), ours / theirs, limit, note)
