"""What past cases tell of the next one, when cases of one kind are more alike than cases of different kinds.

A factor φ of a new case is wanted, with a prior of any shape. Past cases told values of it, each with its doubt. Cases
vary: φ_i = μ + common + kind (one effect for each way of grouping) + own. All effects are normal and together have the
prior's mean μ and variance σ²; how σ² is shared out between them is not known and is averaged over, each share weighed
by how well it explains the values (Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 5: exchangeable groups, flat
prior on the standard deviation within). So a case of another kind tells something, one of the same kind more.

Doubt comes in two layers (JCGM 100:2008, 5.2): that of each reading, and that which all cases of one batch have in
common, such as a thread's thickness; the latter does not shrink with the number of cases.

The values enter the prior as a likelihood, Normal posterior over Normal prior: without any, the prior comes back as it
is, and nothing gets outside its range. Standard library only; the work grows in proportion to the cases.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from matref.estimator.distribution import Distribution, Exact

_BINS = 200
_MOMENT_POINTS = 100
_OWN_SHARES = tuple((k + 0.5) / 10 for k in range(10))  # of the standard deviation; midpoints of a flat prior
_LOG_2PI = math.log(2 * math.pi)

_Term = tuple[float, float]  # value, variance


@dataclass(frozen=True, slots=True)
class Told:
    """What one case told: its kinds, its batch, the value with its own standard uncertainty u, and the relative
    standard uncertainty that the whole batch has in common."""

    kinds: tuple[str, ...]
    batch: str
    value: float
    u: float
    batch_u: float


@dataclass(frozen=True, slots=True)
class Learned:
    """A distribution in bins: `edges` ascending, `below` the share below each edge (0 to 1), even within a bin.

    >>> Learned((0.4, 0.7, 1.0), (0.0, 0.8, 1.0)).quantile(0.4)
    0.55
    """

    edges: tuple[float, ...]
    below: tuple[float, ...]

    def quantile(self, p: float) -> float:
        """Return the value below which a share `p` lies."""
        upper = min(max(bisect_left(self.below, p), 1), len(self.below) - 1)
        low, high = self.below[upper - 1], self.below[upper]
        part = (p - low) / (high - low) if high > low else 0.5
        return self.edges[upper - 1] + part * (self.edges[upper] - self.edges[upper - 1])


def moments(distribution: Distribution) -> tuple[float, float]:
    """Return mean and standard deviation, from 100 evenly spaced quantiles.

    >>> from matref.estimator.distribution import Uniform
    >>> mean, sd = moments(Uniform(0.4, 1.0))
    >>> round(mean, 3), round(sd, 3)  # (low + high)/2 and (high - low)/√12, GUM 4.3.7
    (0.7, 0.173)
    """
    if isinstance(distribution, Exact):
        return distribution.value, 0.0
    values = [distribution.quantile((i + 0.5) / _MOMENT_POINTS) for i in range(_MOMENT_POINTS)]
    mean = math.fsum(values) / len(values)
    return mean, math.sqrt(math.fsum((v - mean) ** 2 for v in values) / len(values))


def learn(prior: Distribution, told: Sequence[Told], kinds: tuple[str, ...]) -> Distribution:
    """Return what is known of the factor in a new case of these kinds (as many as each of the told cases has)."""
    if not told or isinstance(prior, Exact):
        return prior
    mean, sd = moments(prior)
    blocks = _blocks(prior, told)
    found = [_update(blocks, kinds, shares, mean, sd**2) for shares in _shares(len(kinds))]
    edges = tuple(prior.quantile(i / _BINS) for i in range(_BINS + 1))
    centres = [prior.quantile((i + 0.5) / _BINS) for i in range(_BINS)]
    logs = [
        [evidence + 0.5 * (math.log(sd**2 / v) - (x - m) ** 2 / v + (x - mean) ** 2 / sd**2) for x in centres]
        for evidence, m, v in found
    ]
    top = max(map(max, logs))
    masses = [math.fsum(math.exp(row[i] - top) for row in logs) for i in range(_BINS)]
    total, below = math.fsum(masses), [0.0]
    for mass in masses:
        below.append(below[-1] + mass / total)
    return Learned(edges, (*(b / below[-1] for b in below[:-1]), 1.0))


def _shares(ways: int) -> Iterator[tuple[float, ...]]:
    """Yield how the variance may be shared out: (own, common, one for each way of grouping), summing to 1."""
    for own in _OWN_SHARES:
        rest = 1 - own**2
        if not ways:
            yield own**2, rest
            continue
        parts = ways + 1
        yield own**2, *([rest / parts] * parts)
        for heavy in range(parts):
            yield own**2, *(rest * ((1 + (k == heavy) * parts) / (2 * parts)) for k in range(parts))


@dataclass(frozen=True, slots=True)
class _Batch:
    """The cases of one batch and kind: their values with the readings' variances, and the batch's common doubt."""

    batch: str
    cases: tuple[_Term, ...]
    common: float


@dataclass(frozen=True, slots=True)
class _Block:
    """Batches of one kind that end up as one term: all that occur in this kind alone, or a single one that does not.

    `shared` names the batch, and `common` is its doubt, where other kinds have cases of it too.
    """

    kinds: tuple[str, ...]
    batches: tuple[_Batch, ...]
    shared: str | None
    common: float


def _blocks(prior: Distribution, told: Sequence[Told]) -> list[_Block]:
    """Return the cases sorted into blocks, so that the work grows with the kinds and not with the cases."""
    least, most = prior.quantile(0.001), prior.quantile(0.999)
    sorted_out: dict[tuple[str, ...], dict[str, list[Told]]] = {}
    for one in told:
        sorted_out.setdefault(one.kinds, {}).setdefault(one.batch, []).append(one)
    kinds_of = Counter(batch for batches in sorted_out.values() for batch in batches)
    found = []
    for kinds, batches in sorted_out.items():
        alone = []
        for name, cases in batches.items():
            about = min(max(math.fsum(c.value for c in cases) / len(cases), least), most)
            common = max(c.batch_u for c in cases) * about
            batch = _Batch(name, tuple((c.value, c.u**2) for c in cases), common)
            if kinds_of[name] > 1:
                found.append(_Block(kinds, (replace(batch, common=0.0),), name, common))
            else:
                alone.append(batch)
        if alone:
            found.append(_Block(kinds, tuple(alone), None, 0.0))
    return found


def _update(
    blocks: Sequence[_Block], kinds: tuple[str, ...], shares: tuple[float, ...], mean: float, variance: float
) -> tuple[float, float, float]:
    """Return log evidence, and mean and variance of the new case, for one way of sharing out the variance."""
    own = shares[0] * variance
    alike = [share * variance for share in shares[1:]]

    def covariance(a: tuple[str, ...], b: tuple[str, ...]) -> float:
        return alike[0] + math.fsum(v for v, x, y in zip(alike[1:], a, b, strict=True) if x == y)

    evidence, terms = 0.0, []
    for block in blocks:
        inner = [_merged([(value, u2 + own) for value, u2 in batch.cases]) for batch in block.batches]
        outer = [(value, v + batch.common**2) for ((value, v), _), batch in zip(inner, block.batches, strict=True)]
        term, constant = _merged(outer)
        evidence += constant + math.fsum(c for _, c in inner)
        terms.append(term)
    matrix = [
        [
            covariance(a.kinds, b.kinds) + (a.common * b.common if a.shared and a.shared == b.shared else 0.0)
            for b in blocks
        ]
        for a in blocks
    ]
    for i, (_, v) in enumerate(terms):
        matrix[i][i] += v
    root = _cholesky(matrix)
    misfit = _forward(root, [value - mean for value, _ in terms])
    reach = _forward(root, [covariance(kinds, block.kinds) for block in blocks])
    evidence -= math.fsum(math.log(root[i][i]) + 0.5 * (z * z + _LOG_2PI) for i, z in enumerate(misfit))
    return (
        evidence,
        mean + math.fsum(r * z for r, z in zip(reach, misfit, strict=True)),
        variance - math.fsum(r * r for r in reach),
    )


def _merged(terms: Sequence[_Term]) -> tuple[_Term, float]:
    """Return several normal readings of one value as one, and the log of the factor that is left over."""
    if len(terms) == 1:
        return terms[0], 0.0
    weight = math.fsum(1 / v for _, v in terms)
    mean = math.fsum(value / v for value, v in terms) / weight
    spread = math.fsum((value - mean) ** 2 / v + math.log(v) + _LOG_2PI for value, v in terms)
    return (mean, 1 / weight), 0.5 * (_LOG_2PI - math.log(weight) - spread)


def _cholesky(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    root: list[list[float]] = []
    for i, row in enumerate(matrix):
        found: list[float] = []
        for j in range(i):
            found.append((row[j] - math.fsum(found[k] * root[j][k] for k in range(j))) / root[j][j])
        found.append(math.sqrt(row[i] - math.fsum(x * x for x in found)))
        root.append(found)
    return root


def _forward(root: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    found: list[float] = []
    for row, value in zip(root, right, strict=True):
        found.append((value - math.fsum(r * x for r, x in zip(row, found, strict=False))) / row[-1])
    return found
