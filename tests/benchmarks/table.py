"""One row of the table of benchmarks, and the table as text: the same on the screen and in RESULTS.md."""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass

HEADINGS = ("part", "what", "value", "beside", "its value", "ratio", "limit", "kept", "note")


@dataclass(frozen=True, slots=True)
class Limit:
    """What a ratio may be, in words and as two ends."""

    words: str
    low: float = -math.inf
    high: float = math.inf

    def holds(self, ratio: float) -> bool:
        """Tell whether the ratio keeps within it."""
        return self.low <= ratio <= self.high


def at_most(high: float) -> Limit:
    """Return the limit of what should not cost more than so many times as much."""
    return Limit(f"at most {high:g}", high=high)


def at_least(low: float) -> Limit:
    """Return the limit of what should be so many times as good."""
    return Limit(f"at least {low:g}", low=low)


@dataclass(frozen=True, slots=True)
class Row:
    """What was measured, its value, what it is held beside with its value in the same run, and their ratio.

    The ratio is value over the other's value; a row whose ratio is another says so in its note.
    """

    what: str
    value: str
    beside: str
    its_value: str
    ratio: float
    limit: Limit | None = None
    note: str = ""

    @property
    def kept(self) -> bool | None:
        """Whether the limit is kept; None without one."""
        return None if self.limit is None else self.limit.holds(self.ratio)

    def cells(self) -> tuple[str, ...]:
        """Return the row as text, in the order of HEADINGS without the part."""
        kept = {None: "", True: "yes", False: "NO"}[self.kept]
        ratio = "" if math.isnan(self.ratio) else f"{self.ratio:.3g}" if abs(self.ratio) < 100 else f"{self.ratio:.0f}"
        limit = self.limit.words if self.limit else ""
        return (self.what, self.value, self.beside, self.its_value, ratio, limit, kept, self.note)


def broken_off(error: BaseException) -> Row:
    """Return the row of a part that could not be measured to its end; it keeps no limit."""
    name = type(error).__name__
    return Row("the rest of this part broke off", name, "", "", math.nan, Limit("to run to its end", low=0))


def as_text(rows: Sequence[tuple[str, Row]]) -> str:
    """Return (part, row) pairs as a table in Markdown, its columns aligned for the screen."""
    cells = [HEADINGS, *((part, *row.cells()) for part, row in rows)]
    widths = [max(len(line[i]) for line in cells) for i in range(len(HEADINGS))]
    lines = ["| " + " | ".join(c.ljust(w) for c, w in zip(line, widths, strict=True)) + " |" for line in cells]
    return "\n".join([lines[0], "|" + "|".join("-" * (w + 2) for w in widths) + "|", *lines[1:]])


def in_time(seconds: float) -> str:
    """Return a time to three figures.

    >>> in_time(12.34), in_time(0.01234), in_time(0.00001234)
    ('12.3 s', '12.3 ms', '12.3 µs')
    """
    scale, unit = next(((k, u) for k, u in ((1.0, "s"), (1e3, "ms")) if seconds * k >= 1), (1e6, "µs"))
    return f"{seconds * scale:.3g} {unit}" if seconds * scale < 1000 else f"{seconds * scale:.0f} {unit}"


def percent(share: float) -> str:
    """Return a share as a percentage.

    >>> percent(0.9), percent(0.0625)
    ('90 %', '6.2 %')
    """
    return f"{100 * share:.1f} %".replace(".0 %", " %")


def say(words: str) -> None:
    """Tell whoever waits what is being done."""
    print(words, file=sys.stderr, flush=True)
