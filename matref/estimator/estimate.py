"""The Estimate: a value with its range, used for every number that reaches a person."""

from __future__ import annotations

from dataclasses import dataclass

from matref.errors import BadInput
from matref.estimator.distribution import Distribution


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with a central interval: the truth lies in low..high with probability `level`.

    `value` is the median; value, low and high share the unit that the name holding the Estimate carries.
    """

    value: float
    low: float
    high: float
    level: float = 0.9

    @classmethod
    def of(cls, distribution: Distribution, level: float = 0.9) -> Estimate:
        """Return the median and the central interval of `distribution` at `level` (between 0 and 1).

        >>> from matref.estimator.distribution import Uniform
        >>> e = Estimate.of(Uniform(0.0, 1.0), 0.9)
        >>> (e.value, round(e.low, 3), round(e.high, 3))
        (0.5, 0.05, 0.95)
        """
        check_level(level)
        tail = (1 - level) / 2
        return cls(distribution.quantile(0.5), distribution.quantile(tail), distribution.quantile(1 - tail), level)

    @property
    def half_width(self) -> float:
        """Half the interval's width, in the value's unit."""
        return (self.high - self.low) / 2

    def as_json(self) -> dict[str, float]:
        """Return plain numbers for JSON: value, low, high."""
        return {"value": self.value, "low": self.low, "high": self.high}


def check_level(level: float) -> None:
    """Refuse a level outside 0.5 to 0.999 (an interval narrower or wider than that helps nobody)."""
    if not 0.5 <= level <= 0.999:
        raise BadInput(
            f"level {level:g} is not usable", expected="a share between 0.5 and 0.999", example="--level 0.9"
        )
