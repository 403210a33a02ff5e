"""Timing two things side by side, and one table of ratios for all of them. Ratios are of the quickest of several turns.

The two sides take turns, so that whatever else the machine does meets both.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Ratio:
    """A measured ratio: `what` over `than` in seconds, held against `limit` (at most, or at least)."""

    what: str
    than: str
    seconds: float
    than_seconds: float
    limit: float
    at_least: bool = False
    note: str = ""

    @property
    def value(self) -> float:
        """How many times as long; where the other is to be slower, how many times as quick."""
        return self.than_seconds / self.seconds if self.at_least else self.seconds / self.than_seconds

    @property
    def passed(self) -> bool:
        """Whether the limit is kept."""
        return self.value >= self.limit if self.at_least else self.value <= self.limit


def seconds(run: Callable[[], object]) -> float:
    """Return how long one run takes."""
    began = time.perf_counter()
    run()
    return time.perf_counter() - began


def compare(
    what: str,
    run: Callable[[], object],
    than: str,
    other: Callable[[], object],
    *,
    limit: float,
    turns: int = 7,
    at_least: bool = False,
    note: str = "",
) -> Ratio:
    """Time `run` and `other` in turns and return the ratio of their quickest."""
    both = [(seconds(run), seconds(other)) for _ in range(turns)]
    return Ratio(what, than, min(a for a, _ in both), min(b for _, b in both), limit, at_least, note)


def show(ratios: Iterable[Ratio]) -> bool:
    """Print the table line by line as ratios come in; return whether all limits were kept."""
    print(f"{'what':52} {'s':>9} {'beside':40} {'s':>9} {'ratio':>7} {'limit':>7}")
    kept = True
    for r in ratios:
        kept &= r.passed
        sign = "≥" if r.at_least else "≤"
        print(
            f"{r.what:52} {r.seconds:9.4f} {r.than:40} {r.than_seconds:9.4f} {r.value:7.2f} {sign}{r.limit:6g} "
            f"{'pass' if r.passed else 'FAIL'} {r.note}",
            flush=True,
        )
    return kept
