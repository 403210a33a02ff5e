"""The line of a paper class: log caliper against log grammage, with the doubt about the line itself.

Standard library only: the fit writes lines to the file, prediction reads them back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

REFERENCE_GSM = 80.0  # where the lines are anchored: an ordinary office sheet


def log_ratio(grammage_gsm: float) -> float:
    """Return x = log(grammage / 80 g/m²), the covariate of every line.

    >>> log_ratio(80.0)
    0.0
    """
    return math.log(grammage_gsm / REFERENCE_GSM)


def gsm_at(x: float) -> float:
    """Return the grammage, g/m², whose `log_ratio` is x.

    >>> round(gsm_at(log_ratio(120.0)), 9)
    120.0
    """
    return REFERENCE_GSM * math.exp(x)


class Line(NamedTuple):
    """log(caliper in µm) = intercept + slope·x, with the 2 × 2 covariance of (intercept, slope)."""

    intercept: float
    slope: float
    var_intercept: float
    cov: float
    var_slope: float

    def mean(self, x: float) -> float:
        """Return the mean log caliper at x."""
        return self.intercept + self.slope * x

    def variance(self, x: float) -> float:
        """Return the variance of `mean(x)`; the scatter of single products about the line is not in it."""
        return self.var_intercept + 2 * x * self.cov + x * x * self.var_slope

    def updated(self, totals: Totals) -> Line:
        """Return the line after personal samples: Bayes' rule for a line with known weights.

        Samples that were added and taken away again leave no trace, because only their totals count.
        """
        if totals.w == 0:
            return self
        det = self.var_intercept * self.var_slope - self.cov**2
        if det <= 0:  # a class that shares the common slope exactly: only the intercept can learn
            spread = self.var_intercept
            gain = spread / (1 + spread * totals.w)
            shift = gain * (totals.wy - self.intercept * totals.w - self.slope * totals.wx)
            return Line(self.intercept + shift, self.slope, gain, self.cov, self.var_slope)
        a, b, d = self.var_slope / det, -self.cov / det, self.var_intercept / det  # prior information
        r, s = a * self.intercept + b * self.slope, b * self.intercept + d * self.slope
        a, b, d = a + totals.w, b + totals.wx, d + totals.wxx
        r, s = r + totals.wy, s + totals.wxy
        det = a * d - b * b
        return Line((d * r - b * s) / det, (a * s - b * r) / det, d / det, -b / det, a / det)


@dataclass(frozen=True, slots=True)
class Totals:
    """Weighted sums over the personal samples of one class (x and y as in Line, w = 1 / variance)."""

    count: int = 0
    w: float = 0.0
    wx: float = 0.0
    wy: float = 0.0
    wxx: float = 0.0
    wxy: float = 0.0
