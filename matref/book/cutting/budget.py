"""How long a search may go on: a number of steps, a deadline, and a word to whoever is waiting."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from matref.errors import BadInput

LOOK_AT_CLOCK = 64  # steps between two looks at the clock


@dataclass(frozen=True, slots=True)
class Progress:
    """What a search can say while it runs: the best found, what could be reached, steps and seconds."""

    best: float
    bound: float
    steps: int
    seconds: float


class Spent(Exception):
    """The steps or the seconds are used up; the search keeps the best it has."""


class Budget:
    """Counts the steps of a search and raises `Spent` when `steps` or `deadline_s` is used up."""

    def __init__(
        self,
        steps: int,
        deadline_s: float | None = None,
        progress: Callable[[Progress], object] | None = None,
    ) -> None:
        if steps < 1:
            raise BadInput(f"steps {steps}", expected="one step or more", example="steps=20000")
        if deadline_s is not None and not deadline_s > 0:
            raise BadInput(f"deadline_s {deadline_s:g}", expected="a time above 0 seconds", example="deadline_s=2")
        self.steps = steps
        self.used = 0
        self.progress = progress
        self.began = time.monotonic()
        self.end = None if deadline_s is None else self.began + deadline_s
        self._next_look = LOOK_AT_CLOCK

    def spend(self, count: int = 1) -> None:
        """Use `count` steps; raise `Spent` when there are no more or the deadline has passed."""
        self.used += count
        if self.used > self.steps:
            raise Spent
        if self.used >= self._next_look:
            self._next_look = self.used + LOOK_AT_CLOCK
            if self.end is not None and time.monotonic() > self.end:
                raise Spent

    def spent(self, count: int = 1) -> bool:
        """Use `count` steps and say whether the budget is spent, for a loop that has a result to return."""
        try:
            self.spend(count)
        except Spent:
            return True
        return False

    def share(self, part: float) -> Budget:
        """Return a budget of the given part (0 to 1) of the steps left, with the same deadline.

        What the share uses is not charged here: the caller calls `spend(share.used)`.
        """
        child = Budget(max(1, int((self.steps - self.used) * part)))
        child.end = self.end
        return child

    def tell(self, best: float, bound: float) -> None:
        """Tell the one who waits, if anybody does."""
        if self.progress is not None:
            self.progress(Progress(best, bound, self.used, time.monotonic() - self.began))
