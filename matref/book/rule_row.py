"""One row of the `rule` table as a plan reads it: its usual figure, its ends, and what it says as a distribution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from matref.estimator.distribution import Distribution, Exact, Uniform


class RuleRow(Protocol):
    """What is read of one row of `rule`."""

    @property
    def rule_id(self) -> str:
        """Id of the row."""

    @property
    def low(self) -> float | None:
        """Low end of the range, in the row's unit."""

    @property
    def value(self) -> float | None:
        """The usual figure."""

    @property
    def high(self) -> float | None:
        """High end of the range."""

    @property
    def source_id(self) -> str:
        """Who says so."""


@dataclass(frozen=True, slots=True)
class RuleValue:
    """One row of `rule`: its id, range and usual figure, and source."""

    rule_id: str
    low: float | None
    value: float | None
    high: float | None
    source_id: str


@dataclass(frozen=True, slots=True)
class Halves:
    """Half the chance evenly between `low` and `middle`, half evenly between `middle` and `high`.

    What a row with a usual figure and a range says, and no more.

    >>> [Halves(1, 1.5, 3).quantile(p) for p in (0.25, 0.5, 0.75)]
    [1.25, 1.5, 2.25]
    """

    low: float
    middle: float
    high: float

    def quantile(self, p: float) -> float:
        """Return the value below which a share `p` lies."""
        if p < 0.5:
            return self.low + 2 * p * (self.middle - self.low)
        return self.middle + (2 * p - 1) * (self.high - self.middle)


def number(row: RuleRow) -> float:
    """Return the usual figure of a row; where it has none, the middle of its range.

    >>> number(RuleValue("thread_length.pamphlet.extra", 101.6, None, 152.4, "book-repair-nd-binding-pamphlets"))
    127.0
    """
    if row.value is not None:
        return row.value
    return (least(row) + most(row)) / 2


def least(row: RuleRow) -> float:
    """Return the low end of a row, or its usual figure where it has no range."""
    return _first(row, row.low, row.value)


def most(row: RuleRow) -> float:
    """Return the high end of a row, or its usual figure where it has no range."""
    return _first(row, row.high, row.value)


def spread(row: RuleRow) -> Distribution:
    """Return what a row says as a distribution: exact, even over its range, or `Halves` round its usual figure.

    >>> spread(RuleValue("creep.kappa", 1.0, 1.5708, 2.0, "own-derivation"))
    Halves(low=1.0, middle=1.5708, high=2.0)
    >>> spread(RuleValue("pressing.k.given", None, 1.0, None, "own-derivation"))
    Exact(value=1.0)
    """
    low, high = least(row), most(row)
    if low == high:
        return Exact(low)
    return Uniform(low, high) if row.value is None else Halves(low, row.value, high)


def even(row: RuleRow) -> Distribution:
    """Return a row as a distribution with equal chance over its range, whatever its usual figure.

    >>> even(RuleValue("pressing.k.overall", 0.9, 0.96, 1.0, "own-derivation"))
    Uniform(low=0.9, high=1.0)
    """
    low, high = least(row), most(row)
    return Exact(low) if low == high else Uniform(low, high)


def _first(row: RuleRow, *numbers: float | None) -> float:
    for figure in numbers:
        if figure is not None:
            return figure
    raise ValueError(f"rule {row.rule_id} holds no number")
