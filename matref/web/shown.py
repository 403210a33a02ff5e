"""Numbers as the pages show them, in the visitor's unit."""

from __future__ import annotations

from matref.estimator.estimate import Estimate
from matref.quantities import decimals_for, format_length, format_range, round_to

_MIL_UM = 25.4
_MM_PER_INCH = 25.4


def caliper(estimate: Estimate, units: str) -> str:
    """Return a caliper given in µm: in µm, or in thousandths of an inch.

    >>> caliper(Estimate(104.0, 98.0, 110.0), "mm"), caliper(Estimate(101.6, 99.06, 104.14), "in")
    ('104 µm (98 to 110)', '4.00 thousandths of an inch (3.90 to 4.10)')
    """
    value, low, high = ends(estimate)
    if units == "in":
        return format_range(value / _MIL_UM, low / _MIL_UM, high / _MIL_UM, "thousandths of an inch")
    return format_range(value, low, high, "um")


def length(estimate: Estimate, units: str) -> str:
    """Return a length given in mm: in mm, or in inches.

    >>> length(Estimate(12.7, 12.0, 13.4), "in")
    '0.500 in (0.472 to 0.528)'
    """
    return format_range(*ends(estimate), "mm", units)


def size(width_mm: float, height_mm: float, units: str) -> str:
    """Return the two sides of a piece.

    >>> size(600, 450, "mm"), size(215.9, 279.4, "in")
    ('600 × 450 mm', '8 1/2 × 11 in')
    """
    if units == "mm":
        return f"{width_mm:g} × {height_mm:g} mm"
    return f"{format_length(width_mm, units).removesuffix(' in')} × {format_length(height_mm, units)}"


def ends(estimate: Estimate) -> tuple[float, float, float]:
    """Return value, low and high."""
    return estimate.value, estimate.low, estimate.high


def give_or_take(value: float, u: float, unit: str = "", units: str = "mm") -> str:
    """Return a value with its standard uncertainty, to the digits that this supports; lengths in mm may turn to inches.

    >>> give_or_take(78.566, 0.412), give_or_take(9.0, 0.0408, "mm", "in")
    ('78.6 ± 0.4', '0.3543 ± 0.0016 in')
    """
    if unit == "mm" and units == "in":
        value, u, unit = value / _MM_PER_INCH, u / _MM_PER_INCH, "in"
    if u <= 0:
        return f"{value:g} {unit}".rstrip()
    decimals = max(decimals_for(u), 0)
    return f"{round_to(value, u):.{decimals}f} ± {round_to(u, u):.{decimals}f} {unit}".rstrip()
