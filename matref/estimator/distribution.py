"""What is known of one number: a distribution that can be asked for its quantiles.

Every uncertain quantity (a caliper, a thread's diameter, a pressing factor) is one of these. Standard
library only, so that look-ups and estimates start at once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Protocol

_STANDARD_NORMAL = NormalDist()


class Distribution(Protocol):
    """A one-dimensional distribution, in the unit of the quantity it describes."""

    def quantile(self, p: float) -> float:
        """Return the value below which a share `p` (0 < p < 1) of the distribution lies."""
        ...


@dataclass(frozen=True, slots=True)
class Exact:
    """A number taken as it stands."""

    value: float

    def quantile(self, p: float) -> float:  # noqa: ARG002 - the same at every p
        """Return the value itself."""
        return self.value


@dataclass(frozen=True, slots=True)
class Uniform:
    """Anywhere between two bounds with equal chance (GUM 4.3.7).

    >>> Uniform(0.4, 1.0).quantile(0.5)
    0.7
    """

    low: float
    high: float

    def quantile(self, p: float) -> float:
        """Return the value a share `p` of the way from low to high."""
        return self.low + p * (self.high - self.low)


@dataclass(frozen=True, slots=True)
class Normal:
    """A normal distribution with mean and standard uncertainty `u`."""

    mean: float
    u: float

    def quantile(self, p: float) -> float:
        """Return mean + z(p)·u."""
        return self.mean + self.u * _STANDARD_NORMAL.inv_cdf(p)


@dataclass(frozen=True, slots=True)
class LogNormal:
    """A positive quantity whose natural logarithm is normal with mean `mu` and standard deviation `sigma`.

    >>> round(LogNormal(math.log(100), 0.05).quantile(0.95), 1)
    108.6
    """

    mu: float
    sigma: float

    def quantile(self, p: float) -> float:
        """Return exp(mu + z(p)·sigma)."""
        return math.exp(self.mu + self.sigma * _STANDARD_NORMAL.inv_cdf(p))


@dataclass(frozen=True, slots=True)
class LogNormalMixture:
    """A mixture of log-normals: `parts` holds (weight, mu, sigma) on the natural-log scale, weights summing to 1.

    >>> two = LogNormalMixture(((0.5, math.log(90), 0.02), (0.5, math.log(110), 0.02)))
    >>> [round(two.quantile(p)) for p in (0.05, 0.5, 0.95)]
    [88, 99, 113]
    """

    parts: tuple[tuple[float, float, float], ...]

    def below(self, log_value: float) -> float:
        """Return the share of the distribution below exp(log_value)."""
        root2 = math.sqrt(2)
        return sum(w * 0.5 * math.erfc((mu - log_value) / (s * root2)) for w, mu, s in self.parts)

    def quantile(self, p: float) -> float:
        """Return the quantile to a relative 1e-9: Newton's steps, kept inside a bracket that only shrinks."""
        low = min(mu - 9 * s for _, mu, s in self.parts)
        high = max(mu + 9 * s for _, mu, s in self.parts)
        x = sum(w * mu for w, mu, _ in self.parts)
        while high - low > 1e-9:
            excess = self.below(x) - p
            low, high = (low, x) if excess > 0 else (x, high)
            density = self._density(x)
            step = excess / density if density > 0 else math.inf
            if abs(step) < 1e-10:
                break
            x = x - step if low < x - step < high else (low + high) / 2
        return math.exp(x)

    def _density(self, log_value: float) -> float:
        """Return the density of the logarithm."""
        norm = math.sqrt(2 * math.pi)
        return sum(w * math.exp(-0.5 * ((log_value - mu) / s) ** 2) / (s * norm) for w, mu, s in self.parts)

    @property
    def log_sd(self) -> float:
        """Standard deviation of the logarithm."""
        mean = sum(w * mu for w, mu, _ in self.parts)
        return math.sqrt(sum(w * (s * s + (mu - mean) ** 2) for w, mu, s in self.parts))
