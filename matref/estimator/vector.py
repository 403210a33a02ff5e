"""Whole columns at once: the caliper of many papers of known class and grammage.

The same lines and the same scatter as a single answer, where the grammage is taken as exact. The log half-width of
each class is worked out on a grid of log grammage and read off between its points; the ends of the range are within
1e-4 of the exact ones from 1 to 10 000 g/m², and take the last grid point's width beyond.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from matref.errors import BadInput
from matref.estimator.distribution import LogNormalMixture
from matref.estimator.estimate import check_level
from matref.estimator.line import REFERENCE_GSM, Line
from matref.estimator.model import Model, Scatter

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_GRID = 65
_FIRST, _LAST = math.log(1 / REFERENCE_GSM), math.log(10_000 / REFERENCE_GSM)
_ROWS_AT_ONCE = 8_192  # what fits the processor's cache


class Columns(NamedTuple):
    """Median and ends of the central interval, one entry per row, µm."""

    value: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Predictor:
    """Tables for one model and level: intercept and slope by class, and by class and grid point the log half-width
    with its rise to the next point.
    """

    class_ids: tuple[str, ...]
    intercept: NDArray[np.float64]
    slope: NDArray[np.float64]
    half: NDArray[np.float64]
    rise: NDArray[np.float64]

    @classmethod
    def of(cls, model: Model, level: float = 0.9) -> Predictor:
        """Prepare a model for rows; its classes get the codes 0, 1, … in the order of `class_ids`."""
        check_level(level)
        known: dict[tuple[Line, str], list[float]] = {}  # classes without readings share a line
        for m in model.classes.values():
            if (m.line, m.family) not in known:
                known[m.line, m.family] = _half_widths(m.line, model.scatter[m.family], level)
        half = np.array([known[m.line, m.family] for m in model.classes.values()])
        rise = np.diff(half, axis=1, append=half[:, -1:])
        lines = [m.line for m in model.classes.values()]
        return cls(
            tuple(model.classes),
            np.array([line.intercept for line in lines]),
            np.array([line.slope for line in lines]),
            half.ravel(),
            rise.ravel(),
        )

    def codes(self, class_ids: Sequence[str]) -> NDArray[np.intp]:
        """Return the code of each class id; BadInput for one that the model has not."""
        known = {c: i for i, c in enumerate(self.class_ids)}
        strange = next((c for c in class_ids if c not in known), None)
        if strange is not None:
            raise BadInput(f'no class called "{strange}"', expected="a class id", example="copier")
        return np.fromiter((known[c] for c in class_ids), np.intp, len(class_ids))

    def predict(self, code: ArrayLike, grammage_gsm: ArrayLike) -> Columns:
        """Return the caliper of rows of class `code` (one for all, or one per row) at `grammage_gsm` (g/m², positive).

        BadInput where a grammage is not a positive number or a code is none of ours.
        """
        gsm = np.atleast_1d(np.asarray(grammage_gsm, dtype=np.float64))
        codes = np.asarray(code, dtype=np.intp)
        if codes.ndim and codes.shape != gsm.shape:
            raise BadInput(f"{codes.size} codes for {gsm.size} grammages", expected="one code, or one for each row")
        if codes.size and not (codes.min() >= 0 and codes.max() < len(self.class_ids)):
            raise BadInput("a code of no class", expected=f"0 to {len(self.class_ids) - 1}")
        found = Columns(np.empty(gsm.shape), np.empty(gsm.shape), np.empty(gsm.shape))
        for start in range(0, len(gsm), _ROWS_AT_ONCE):
            part = slice(start, start + _ROWS_AT_ONCE)
            self._fill(found, part, codes[part] if codes.ndim else codes, gsm[part])
        return found

    def _fill(self, found: Columns, part: slice, code: NDArray[np.intp], gsm: NDArray[np.float64]) -> None:
        if not (gsm.min() > 0 and gsm.max() < math.inf):  # a NaN fails both
            raise BadInput("a grammage that is not a positive number", expected="g/m² above 0", example="80")
        x = np.log(gsm / REFERENCE_GSM)
        place = (x - _FIRST) * ((_GRID - 1) / (_LAST - _FIRST))
        np.clip(place, 0, _GRID - 1, out=place)
        step = place.astype(np.intp)
        place -= step
        step += code * _GRID
        place *= self.rise.take(step)
        place += self.half.take(step)
        ratio = np.exp(place, out=place)
        x *= self.slope.take(code)
        x += self.intercept.take(code)
        value = np.exp(x, out=found.value[part])
        np.divide(value, ratio, out=found.low[part])
        np.multiply(value, ratio, out=found.high[part])


def _half_widths(line: Line, scatter: Scatter, level: float) -> list[float]:
    """Return the log half-width of one product at each grid point."""
    found = []
    for i in range(_GRID):
        variance = line.variance(_FIRST + (_LAST - _FIRST) * i / (_GRID - 1))
        parts = tuple((w, 0.0, math.sqrt(variance + (f * scatter.sd) ** 2)) for w, f in scatter.nodes)
        found.append(math.log(LogNormalMixture(parts).quantile((1 + level) / 2)))
    return found
