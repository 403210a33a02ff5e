"""What is known of one number: a distribution that can be asked for its quantiles.

Every uncertain quantity (a caliper, a thread's diameter, a pressing factor) is one of these. Standard
library only, so that look-ups and estimates start at once.
"""

from __future__ import annotations

import math
from typing import NamedTuple, Protocol

_ROOT_HALF = math.sqrt(0.5)
_NORMAL_PEAK = 1 / math.sqrt(2 * math.pi)


def _z(p: float) -> float:
    """Return the standard normal quantile."""
    from statistics import NormalDist  # not needed by an estimate, whose distributions are mixtures

    return NormalDist().inv_cdf(p)


class Distribution(Protocol):
    """A one-dimensional distribution, in the unit of the quantity it describes."""

    def quantile(self, p: float) -> float:
        """Return the value below which a share `p` (0 < p < 1) of the distribution lies."""
        ...


class Exact(NamedTuple):
    """A number taken as it stands."""

    value: float

    def quantile(self, p: float) -> float:  # noqa: ARG002 - the same at every p
        """Return the value itself."""
        return self.value


class Uniform(NamedTuple):
    """Anywhere between two bounds with equal chance (GUM 4.3.7).

    >>> Uniform(0.4, 1.0).quantile(0.5)
    0.7
    """

    low: float
    high: float

    def quantile(self, p: float) -> float:
        """Return the value a share `p` of the way from low to high."""
        return self.low + p * (self.high - self.low)


class Normal(NamedTuple):
    """A normal distribution with mean and standard uncertainty `u`."""

    mean: float
    u: float

    def quantile(self, p: float) -> float:
        """Return mean + z(p)·u."""
        return self.mean + self.u * _z(p)


class LogNormal(NamedTuple):
    """A positive quantity whose natural logarithm is normal with mean `mu` and standard deviation `sigma`.

    >>> round(LogNormal(math.log(100), 0.05).quantile(0.95), 1)
    108.6
    """

    mu: float
    sigma: float

    def quantile(self, p: float) -> float:
        """Return exp(mu + z(p)·sigma)."""
        return math.exp(self.mu + self.sigma * _z(p))


class LogNormalMixture(NamedTuple):
    """A mixture of log-normals: `parts` holds (weight, mu, sigma) on the natural-log scale, weights summing to 1.

    >>> two = LogNormalMixture(((0.5, math.log(90), 0.02), (0.5, math.log(110), 0.02)))
    >>> [round(two.quantile(p)) for p in (0.05, 0.5, 0.95)]
    [88, 99, 113]
    """

    parts: tuple[tuple[float, float, float], ...]

    def below(self, log_value: float) -> float:
        """Return the share of the distribution below exp(log_value)."""
        return self._at(log_value)[0]

    def quantile(self, p: float) -> float:
        """Return the quantile to a relative 1e-9: Newton's steps, kept inside a bracket that only shrinks."""
        low = min(mu - 9 * s for _, mu, s in self.parts)
        high = max(mu + 9 * s for _, mu, s in self.parts)
        mean, sd = self._moments()
        x = min(max(mean + sd * math.log(p / (1 - p)) / 1.702, low), high)  # a logistic curve is near enough to begin
        while high - low > 1e-9:
            below, density = self._at(x)
            low, high = (low, x) if below > p else (x, high)
            step = (below - p) / density if density > 0 else math.inf
            if not low < x - step < high:
                x = (low + high) / 2
                continue
            x -= step
            if abs(step) < 1e-6:  # what is left is of the order of its square
                break
        return math.exp(x)

    def _at(self, log_value: float) -> tuple[float, float]:
        """Return the share below exp(log_value) and the density of the logarithm there, in one pass."""
        below = density = 0.0
        for w, mu, s in self.parts:
            z = (log_value - mu) / s
            below += w * math.erfc(-z * _ROOT_HALF)
            density += w * math.exp(-0.5 * z * z) / s
        return 0.5 * below, density * _NORMAL_PEAK

    def _moments(self) -> tuple[float, float]:
        """Return mean and standard deviation of the logarithm."""
        mean = math.fsum(w * mu for w, mu, _ in self.parts)
        return mean, math.sqrt(math.fsum(w * (s * s + (mu - mean) ** 2) for w, mu, s in self.parts))

    @property
    def log_sd(self) -> float:
        """Standard deviation of the logarithm."""
        return self._moments()[1]
