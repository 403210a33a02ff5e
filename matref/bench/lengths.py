"""Lengths and ranges as they are written on a sheet of work, in millimetres or inches."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Literal

from matref.errors import BadInput
from matref.quantities import format_length, format_range, round_to

Units = Literal["mm", "in"]
Plain = Mapping[str, Any]
KNIFE_MM = 0.4
"""No dimension to cut is written finer than this uncertainty asks for: a tenth of a millimetre."""
_IN_TEXT = re.compile(r"\d+(?:\.\d+)?(?: (?:x|×|to) \d+(?:\.\d+)?)* mm\b")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def units_of(text: str) -> Units:
    """Return the units that were asked for; BadInput if they are neither.

    >>> units_of("in")
    'in'
    """
    if text == "mm":
        return "mm"
    if text == "in":
        return "in"
    raise BadInput(f'"{text}" as unit of length', expected="mm or in", example="in")


def dimension(mm: float, units: Units, u_mm: float = 0.0) -> str:
    """Return a length as a drawing has it, without the unit: to a tenth of a millimetre or a 1/32 inch.

    u_mm: half the range of the length, mm; where that is large, whole millimetres do. Below an inch 1/64 inch.

    >>> dimension(131.68, "mm"), dimension(131.68, "mm", 5.2), dimension(131.68, "in"), dimension(2.0, "in")
    ('131.7', '132', '5 3/16', '5/64')
    """
    if units == "in":
        return format_length(mm, "in", finest=32 if abs(mm) >= 25.4 else 64).removesuffix(" in")
    return f"{round_to(mm, max(KNIFE_MM, min(u_mm, 9.0))):g}"


def length(mm: float, units: Units, u_mm: float = 0.0) -> str:
    """Return a length with its unit.

    >>> length(131.68, "mm")
    '131.7 mm'
    """
    return f"{dimension(mm, units, u_mm)} {units}"


def size(width_mm: float, height_mm: float, units: Units, u_mm: float = 0.0) -> str:
    """Return a width and a height.

    >>> size(104, 156, "mm")
    '104 × 156 mm'
    """
    return f"{dimension(width_mm, units, u_mm)} × {dimension(height_mm, units)} {units}"


def ranged(estimate: Plain, unit: str, units: Units) -> str:
    """Return an estimate (value, low, high in `unit`: "um" or "mm") with its range.

    >>> ranged({"value": 12.0, "low": 11.0, "high": 13.0}, "mm", "in")
    '0.47 in (0.43 to 0.51)'
    >>> ranged({"value": 103.7, "low": 97.6, "high": 110.9}, "um", "mm")
    '104 µm (98 to 111)'
    """
    value, low, high = (float(estimate[name]) for name in ("value", "low", "high"))
    return format_range(value, low, high, unit, units)


def thin(mm: float, units: Units) -> str:
    """Return a thickness without its unit: below 3 mm to a hundredth of a mm or a thousandth of an inch.

    >>> thin(0.834, "mm"), thin(7.26, "mm"), thin(0.834, "in")
    ('0.83', '7.3', '0.033')
    """
    if mm >= 3:
        return dimension(mm, units)
    return f"{mm:.2f}" if units == "mm" else f"{mm / 25.4:.3f}"


def in_units(text: str, units: Units) -> str:
    """Return a sentence with its millimetres turned to inches where those are wanted.

    >>> in_units("turn-in 17 mm all round, square 3 mm", "in")
    'turn-in 43/64 in all round, square 1/8 in'
    """
    if units == "mm":
        return text

    def turned(found: re.Match[str]) -> str:
        inches = _NUMBER.sub(lambda number: _any(float(number[0])), found[0].removesuffix(" mm"))
        return f"{inches} in"

    return _IN_TEXT.sub(turned, text)


def _any(mm: float) -> str:
    return "0" if mm == 0 else dimension(mm, "in") if mm >= 1.5 else thin(mm, "in")


def half_range(part: Plain) -> float:
    """Return half the range of a part's width, mm."""
    return (float(part["width_high_mm"]) - float(part["width_low_mm"])) / 2


def plain(plan: object) -> Plain:
    """Return a plan as plain values: one that offers `as_json()`, or what that gave."""
    found = plan.as_json() if hasattr(plan, "as_json") else plan
    if not isinstance(found, Mapping) or "text_block" not in found:
        raise BadInput("this is no plan", expected="a plan, or the JSON of one")
    return found
