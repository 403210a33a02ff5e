"""Millimetres to whole units and back, so that sums of sizes are exact."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from matref.book.check import between

PER_MM = 1000  # the finest unit is a micrometre, far below what a knife can follow
LARGEST_MM = 1_000_000.0


def size_mm(value: float, what: str) -> float:
    """Return a size in mm as a float; BadInput for what is not a number from a unit to a kilometre.

    >>> size_mm(120, "length of board, mm")
    120.0
    """
    return between(value, 1 / PER_MM, LARGEST_MM, what, 297)


@dataclass(frozen=True, slots=True)
class Scale:
    """Whole units for one problem: `unit_um` micrometres each, and the blade in them.

    Every size grows by the blade's width before it is counted. A part then brings its own cut along,
    and a sheet grown the same way holds exactly what the real sheet holds with cuts that lose material.
    """

    unit_um: int
    blade: int

    @classmethod
    def of(cls, sizes_mm: Iterable[float], blade_mm: float) -> Scale:
        """Return the coarsest scale that holds every size exactly.

        >>> Scale.of([300, 120.5], 0.5)
        Scale(unit_um=500, blade=1)
        """
        blade = round(blade_mm * PER_MM)
        unit = math.gcd(blade, *(_micrometres(size) for size in sizes_mm)) or 1
        return cls(unit, blade // unit)

    def grown(self, size_mm: float) -> int:
        """Return a size in units, with one blade's width added."""
        return _micrometres(size_mm) // self.unit_um + self.blade

    def mm(self, units: int) -> float:
        """Return a position or a distance of `units` in mm."""
        return units * self.unit_um / PER_MM

    def real_mm(self, grown: int) -> float:
        """Return the size in mm of something that was grown by the blade (0 if the blade eats it all)."""
        return max(0, grown - self.blade) * self.unit_um / PER_MM


def _micrometres(size_mm: float) -> int:
    """Round down, forgiving the last digits of a float: three parts of 100/3 mm fit on 100 mm."""
    return math.floor(size_mm * PER_MM + 1e-6)
