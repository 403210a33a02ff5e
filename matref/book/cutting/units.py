"""Millimetres to whole units and back, so that sums of sizes are exact."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from matref.errors import BadInput

PER_MM = 1000  # the finest unit is a micrometre, far below what a knife can follow
LARGEST_MM = 1_000_000.0


def refuse(wrong: str, expected: str, example: str = "") -> BadInput:
    """Return the one-line error for something that cannot be cut."""
    return BadInput(wrong, expected=expected, example=example)


def check_size(name: str, value: float) -> float:
    """Return `value` (mm) as a float; refuse what is not a number above 0 and at most a kilometre.

    >>> check_size("length of board", 120)
    120.0
    """
    size = check_number(name, value)
    if not 0 < size <= LARGEST_MM:
        raise refuse(f"{name} is {size:g} mm", "a size above 0 mm and at most 1 000 000 mm", "297")
    return size


def check_number(name: str, value: float) -> float:
    """Return `value` as a float; refuse text, not-a-number and infinity."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise refuse(f"{name} is {value!r}", "a plain number")
    return float(value)


def check_count(name: str, value: int, least: int = 1) -> int:
    """Return `value`; refuse what is not a whole number of at least `least`."""
    if isinstance(value, bool) or not isinstance(value, int) or value < least:
        raise refuse(f"{name} is {value!r}", f"a whole number, {least} or more", "2")
    return value


def check_blade(blade_mm: float) -> float:
    """Return the width lost to a cut in mm; a knife loses 0, a saw some."""
    blade = check_number("blade_mm", blade_mm)
    if not 0 <= blade <= 100:
        raise refuse(f"blade_mm is {blade:g}", "a width lost per cut from 0 to 100 mm", "blade_mm=0.5")
    return blade


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
