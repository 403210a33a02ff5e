"""Numbers as the pages show them, in the visitor's unit."""

from __future__ import annotations

from matref.estimator.estimate import Estimate
from matref.quantities import format_range

_MIL_UM = 25.4


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


def ends(estimate: Estimate) -> tuple[float, float, float]:
    """Return value, low and high."""
    return estimate.value, estimate.low, estimate.high
