"""What is usual of a class where readings do not say: its grammages, and its bulk when nobody published pairs.

A usual range holds about four in five of what turns up; on the log scale it is taken for a normal distribution.
Standard library only.
"""

from __future__ import annotations

import math
import sqlite3
from typing import NamedTuple

from matref.estimator.line import Line, log_ratio

_FOUR_IN_FIVE = 2 * 1.2815515655446004  # standard deviations between the 10 % and the 90 % quantile
_LEAST_GRAMMAGE_SD = 0.15  # makings that nobody thinks usual turn up in piles all the same


class Usual(NamedTuple):
    """A usual range on the log scale: its middle and standard deviation."""

    mean: float
    sd: float

    @classmethod
    def between(cls, low: float, high: float) -> Usual:
        """Return the normal distribution with four fifths of its mass between log(low) and log(high).

        >>> usual = Usual.between(70, 100)
        >>> round(math.exp(usual.mean), 1), round(usual.sd, 3)
        (83.7, 0.139)
        """
        return cls(0.5 * (math.log(low) + math.log(high)), math.log(high / low) / _FOUR_IN_FIVE)


def usual_grammages(connection: sqlite3.Connection) -> dict[str, Usual]:
    """Return class id to the usual log grammage (g/m²), where it is known."""
    found = _read(connection, "grammage")
    return {c: usual._replace(sd=max(usual.sd, _LEAST_GRAMMAGE_SD)) for c, usual in found.items()}


def usual_bulks(connection: sqlite3.Connection) -> dict[str, Usual]:
    """Return class id to the usual log bulk (cm³/g), where it is known."""
    return _read(connection, "bulk")


def line_of(bulk: Usual, grammage: Usual, common: Line) -> Line:
    """Return the line of a class without readings: its usual bulk at its usual grammage, sloped as the `common` line.

    Caliper (µm) is bulk (cm³/g) times grammage (g/m²), ISO 534.

    >>> line = line_of(Usual.between(1.8, 4.0), Usual.between(6, 60), Line(4.6, 0.94, 0.02, 0.0, 0.001))
    >>> round(math.exp(line.mean(log_ratio(20))))
    53
    """
    x = log_ratio(math.exp(grammage.mean))
    intercept = bulk.mean + grammage.mean - common.slope * x
    cov = -x * common.var_slope
    return Line(intercept, common.slope, bulk.sd**2 + x * x * common.var_slope, cov, common.var_slope)


def _read(connection: sqlite3.Connection, quantity: str) -> dict[str, Usual]:
    rows = connection.execute("SELECT class_id, low, high FROM usual_range WHERE quantity = ?", (quantity,))
    return {class_id: Usual.between(low, high) for class_id, low, high in rows}
