"""Evidence that does not fit together: found, said, and the likeliest slip named.

Each observation is compared with what all the others (and the class, where one is named) lead one to expect. Slips
that people make, such as counting leaves for sheets, are tried in turn: the one that makes the evidence far more
likely is named. Nothing is corrected on the quiet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import Posterior, posterior
from matref.quantities import basis_factor

IMPOSSIBLE = 1e-6  # tail probability below which the evidence is refused
DOUBTFUL = 0.01  # and below which it is answered with a warning

_SLIP_GAIN = math.log(20.0)
_BOND = math.log(basis_factor(17 * 25.4, 22 * 25.4))  # g/m² per lb of 500 sheets of the basic size
_BOOK = math.log(basis_factor(25 * 25.4, 38 * 25.4))


class Slip(NamedTuple):
    """A mistake people make: what it does to log(reading), and the words for it."""

    about: str
    shift: float
    words: str


# Exact consequences of counting or reading in the wrong unit; `shift` is added to the logarithm read.
_SLIPS = (
    Slip("weighing", math.log(2), "leaves were counted as sheets, or the size is that of the folded sheet"),
    Slip("weighing", -math.log(2), "folded sheets were counted once but the size is that of half a sheet"),
    Slip("weighing", math.log(28.349523125), "the mass is in ounces, not grams"),
    Slip("weighing", math.log(1000), "the mass is in kilograms, not grams"),
    Slip("weighing", -2 * math.log(2.54), "the size is in inches, not centimetres"),
    Slip("weighing", 2 * math.log(10), "the size is in millimetres, not centimetres"),
    Slip("weighing", -math.log(10), "there is a nought too few in the number of sheets"),
    Slip("weighing", math.log(10), "there is a nought too many in the number of sheets"),
    Slip("stack", math.log(2), "leaves were counted as sheets"),
    Slip("stack", -math.log(2), "folded sheets were counted once"),
    Slip("stack", math.log(2.54), "the stack was read in inches, not centimetres"),
    Slip("stack", -math.log(2.54), "the stack was read in centimetres, not inches"),
    Slip("stack", math.log(10), "there is a nought too few in the thickness"),
    Slip("stack", -math.log(10), "there is a nought too many in the thickness"),
    Slip("stack", math.log(25.4), "the stack was read in inches, not millimetres"),
    Slip("gauge", math.log(10), "the gauge's decimal point slipped one place"),
    Slip("gauge", -math.log(10), "the gauge's decimal point slipped one place"),
    Slip("gauge", math.log(2.54), "the gauge reads thousandths of an inch, not hundredths of a millimetre"),
    Slip("gauge", math.log(25.4), "the gauge reads inches, not millimetres"),
    Slip("gauge", -math.log(2), "two sheets were under the gauge"),
    Slip("label", _BOND, "the label is in pounds of bond paper, not g/m²"),
    Slip("label", _BOOK, "the label is in pounds of book paper, not g/m²"),
    Slip("book", math.log(2), "pages were counted as leaves"),
    Slip("book", -math.log(2), "leaves were counted, not pages"),
)


class Doubt(NamedTuple):
    """An observation that the rest does not lead one to expect: its tail probability and the likeliest slip.

    `slip_gain`: log of how many times likelier the slip makes all the evidence (0 where none is named).
    """

    observation: Observation
    probability: float
    expected: str
    slip: str | None
    slip_gain: float = 0.0

    @property
    def text(self) -> str:
        """One line for people."""
        line = f"{self.observation.words} does not fit the rest, which leads one to expect {self.expected}"
        return f"{line}; perhaps {self.slip}" if self.slip else line


def doubts(model: Model, observations: Sequence[Observation], *, class_named: bool = True) -> list[Doubt]:
    """Return the observations that do not fit the others: those that a slip explains first, then the most doubtful.

    One observation with no class named has nothing to contradict. A grammage by itself is doubtful at worst, and only
    where its class has readings: classes come in more weights than were published.
    """
    if len(observations) == 1 and not class_named:
        return []
    found = []
    for i, own in enumerate(observations):
        others = [*observations[:i], *observations[i + 1 :]]
        lone_grammage = not others and not own.caliper_part
        if lone_grammage and not any(m.readings for m in model.classes.values()):
            continue
        probability, low, high = _expected(posterior(model, others), own)
        if lone_grammage:
            probability = max(probability, IMPOSSIBLE)
        if probability < DOUBTFUL:
            slip = _likeliest(model, observations, i)
            found.append(Doubt(own, probability, _range_words(own, low, high), *slip))
    found.sort(key=lambda d: (-d.slip_gain, d.probability))
    # One slip is enough: what it explains needs no other, and the other way round of the same slip would deny it.
    return found[:1] + [d._replace(slip=None) for d in found[1:]]


def _expected(rest: Posterior, own: Observation) -> tuple[float, float, float]:
    """Return the two-sided tail probability of an observation under `rest`, and the 90 % range expected of it (log)."""
    below = above = 0.0
    mean = square = 0.0
    for part in rest.parts:
        centre = own.grammage_part * part.mean_g + own.caliper_part * part.mean_c
        variance = (
            own.grammage_part**2 * part.var_g
            + 2 * own.grammage_part * own.caliper_part * part.cov
            + own.caliper_part**2 * part.var_c
            + own.u**2
        )
        z = (own.value - centre) / math.sqrt(variance)
        below += part.weight * 0.5 * math.erfc(-z / math.sqrt(2))
        above += part.weight * 0.5 * math.erfc(z / math.sqrt(2))
        mean += part.weight * centre
        square += part.weight * (variance + centre**2)
    sd = math.sqrt(max(square - mean**2, 0.0))
    return 2 * min(below, above), mean - 1.645 * sd, mean + 1.645 * sd


def _range_words(own: Observation, low: float, high: float) -> str:
    unit = "g/m²" if own.grammage_part else "µm a sheet"
    return f"{_two_digits(math.exp(low))} to {_two_digits(math.exp(high))} {unit}"


def _two_digits(value: float) -> str:
    """Return two significant digits without an exponent.

    >>> [_two_digits(v) for v in (7.26, 104.0, 1234.0)]
    ['7.3', '100', '1200']
    """
    step = 10 ** (math.floor(math.log10(value)) - 1)
    return f"{round(value / step) * step:.{max(0, -math.floor(math.log10(step)))}f}"


def _likeliest(model: Model, observations: Sequence[Observation], i: int) -> tuple[str | None, float]:
    """Return the slip that explains observation i best and its gain.

    It must make the evidence at least twenty times likelier, and the observation fit the rest.
    """
    rest = posterior(model, [*observations[:i], *observations[i + 1 :]])
    base = posterior(model, observations).log_evidence
    best, words = _SLIP_GAIN, None
    for slip in _SLIPS:
        if slip.about != observations[i].about:
            continue
        changed = replace(observations[i], value=observations[i].value + slip.shift)
        gain = posterior(model, [*observations[:i], changed, *observations[i + 1 :]]).log_evidence - base
        if gain > best and _expected(rest, changed)[0] >= DOUBTFUL:
            best, words = gain, slip.words
    return (words, best) if words else (None, 0.0)
