"""Numbers for people: no more digits than their uncertainty supports, inches as fractions."""

from __future__ import annotations

import math

from matref.errors import BadInput
from matref.quantities.units import shown_unit

_PER_INCH = {"um": 25_400.0, "mm": 25.4}
_FINEST_INCH_FRACTIONS = (2, 4, 8, 16, 32, 64)


def decimals_for(u: float) -> int:
    """Give the decimal places a value with standard uncertainty `u` deserves (negative: tens, hundreds).

    At most two significant digits of `u` (GUM 7.2.6): two if it begins with 100 to 354, else one (rounding rule
    of the Particle Data Group, Review of Particle Physics, introduction).

    >>> decimals_for(0.027), decimals_for(0.41), decimals_for(65)
    (3, 1, -1)
    """
    if not (math.isfinite(u) and u > 0):
        raise BadInput(f"an uncertainty of {u!r}", expected="a number above 0", example="0.41")
    digits, exponent = f"{u:.2e}".split("e")
    leading = round(100 * float(digits))
    return 1 - int(exponent) if leading <= 354 else -int(exponent)


def round_to(value: float, u: float) -> float:
    """Round a value to the digits its standard uncertainty `u` supports; `u` = 0 leaves it alone.

    >>> round_to(10.05762, 0.027)  # the example of GUM 7.2.6
    10.058
    """
    return value if 0 <= u <= 1e-12 * abs(value) else _rounded(value, decimals_for(u))


def _rounded(value: float, decimals: int) -> float:
    """Round a half away from zero as people do, though the float of 9.45 lies a little below it."""
    return round(math.nextafter(value, math.copysign(math.inf, value)), decimals) + 0.0


def _fixed(value: float, decimals: int) -> str:
    return f"{_rounded(value, decimals):.{max(decimals, 0)}f}"


def _trimmed(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _exponent(value: float) -> int:
    return math.floor(math.log10(abs(value)))


def format_number(value: float, significant: int = 6) -> str:
    """Give a number without exponent or needless zeros, to at most `significant` digits.

    >>> format_number(215.9), format_number(0.00001), format_number(1234567.0)
    ('215.9', '0.00001', '1234570')
    """
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    return _trimmed(_fixed(value, significant - 1 - _exponent(value)))


def format_range(value: float, low: float, high: float, unit: str, preference: str = "mm") -> str:
    """Give a value with its interval; half the interval's width decides the digits (see `decimals_for`).

    Lengths (µm, mm) turn to decimals of an inch with the preference "in": a fraction would hide how wide the range is.

    >>> format_range(103.7, 97.6, 110.9, "um")
    '104 µm (98 to 111)'
    >>> format_range(12.0, 11.0, 13.0, "mm", "in")
    '0.47 in (0.43 to 0.51)'
    >>> format_range(19, 19, 19, "mm")
    '19 mm'
    """
    if not low <= high:
        raise BadInput(f"an interval from {low!r} to {high!r}", expected="the lower end first")
    if preference == "in" and unit in _PER_INCH:
        value, low, high, unit = value / _PER_INCH[unit], low / _PER_INCH[unit], high / _PER_INCH[unit], "in"
    shown = shown_unit(unit)
    half = (high - low) / 2
    if half <= 1e-9 * abs(value):
        return f"{format_number(value)} {shown}".rstrip()
    decimals = decimals_for(half)
    ends = f"({_fixed(low, decimals)} to {_fixed(high, decimals)})"
    return " ".join(part for part in (_fixed(value, decimals), shown, ends) if part)


def format_length(mm: float, preference: str = "mm", *, u_mm: float = 0.0, finest: int = 32) -> str:
    """Give a length in mm or, if preferred, in inches, so that `parse_length` reads it back.

    Inches are fractions no finer than 1/`finest` (2 to 64), and no finer than the standard uncertainty `u_mm`
    asks for; below 1/16 inch, where a fraction would be too coarse, or with `finest` 0, they are decimals. With
    `u_mm` the digits follow it; without, they are tenths of a mm, or three significant digits if that is more.

    >>> format_length(215.9), format_length(215.9, "in"), format_length(0.1044), format_length(0.1044, "in")
    ('215.9 mm', '8 1/2 in', '0.104 mm', '0.00411 in')
    >>> format_length(131.7, "in", finest=64), format_length(131.7, "in", u_mm=0.41), format_length(131.7, u_mm=2)
    ('5 3/16 in', '5 3/16 in', '131.7 mm')
    """
    if not math.isfinite(mm):
        raise BadInput(f"a length of {mm!r} mm", expected="a finite number")
    if not 0 <= u_mm < math.inf:
        raise BadInput(f"an uncertainty of {u_mm!r} mm", expected="0 (none given) or more", example="0.41")
    if preference not in ("mm", "in"):
        raise BadInput(f"'{preference}' as unit of length", expected="mm or in", example="in")
    if finest not in (0, *_FINEST_INCH_FRACTIONS):
        raise BadInput(f"inch fractions of 1/{finest}", expected="0, 2, 4, 8, 16, 32 or 64", example="32")
    if preference == "mm":
        return f"{_decimal(mm, u_mm, coarsest=1)} mm"
    inches, u_in = mm / 25.4, u_mm / 25.4
    if finest and abs(inches) >= 1 / 16:
        return f"{_inch_fraction(inches, u_in, finest)} in"
    return f"{_decimal(inches, u_in, coarsest=2)} in"


def _decimal(value: float, u: float, coarsest: int) -> str:
    """Give decimals: as many as `u` supports, else `coarsest` places or three significant digits."""
    if u > 1e-9 * abs(value):
        return _fixed(value, decimals_for(u))
    if value == 0:
        return "0"
    return _trimmed(_fixed(value, max(coarsest, 2 - _exponent(value))))


def _inch_fraction(inches: float, u: float, finest: int) -> str:
    """Give inches to the coarsest power-of-two fraction not coarser than `u`, at most as fine as allowed."""
    steps = [n for n in _FINEST_INCH_FRACTIONS if n <= finest]
    denominator = next((n for n in steps if u and 1 / n <= u), finest)
    whole, top = divmod(round(abs(inches) * denominator), denominator)
    sign = "-" if inches < 0 else ""
    if top == 0:
        return f"{sign}{whole}"
    common = math.gcd(top, denominator)
    fraction = f"{top // common}/{denominator // common}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"
