"""One place where numbers typed by people are judged before any geometry is done with them."""

from __future__ import annotations

import math
from numbers import Real

from matref.errors import BadInput

SMALLEST = 1e-9
"""Below this nothing on a bench is a size; it also keeps quotients finite."""
LARGEST = 1e9
"""Above this nothing on a bench is a size; it also keeps products finite."""
MOST = 1_000_000
"""The highest believable count of anything in one book or pile."""


def _wrong(value: object, what: str, expected: str, example: object) -> BadInput:
    return BadInput(f"{what} is {repr(value)[:40]}", expected=expected, example=str(example))


def _number(value: float, what: str, expected: str, example: object) -> float:
    if isinstance(value, bool) or not isinstance(value, Real):
        raise _wrong(value, what, expected, example)
    try:
        number = float(value)
    except OverflowError:
        raise _wrong(value, what, expected, example) from None
    if not math.isfinite(number) or abs(number) > LARGEST:
        raise _wrong(value, what, expected, example)
    return number


def positive(value: float, what: str, example: object = 1) -> float:
    """A finite number above 0, returned as float; else BadInput. `what` names it with its unit.

    >>> positive(0.5, "thread diameter, mm")
    0.5
    >>> positive(-1, "thread diameter, mm", 0.5)
    Traceback (most recent call last):
    matref.errors.BadInput: thread diameter, mm is -1; expected a number above 0, for example: 0.5
    """
    expected = "a number above 0"
    number = _number(value, what, expected, example)
    if number < SMALLEST:
        raise _wrong(value, what, expected, example)
    return number


def not_negative(value: float, what: str, example: object = 0) -> float:
    """A finite number, 0 or above, returned as float; else BadInput.

    >>> not_negative(0, "guards, mm")
    0.0
    >>> not_negative(float("nan"), "guards, mm")
    Traceback (most recent call last):
    matref.errors.BadInput: guards, mm is nan; expected 0 or a number above it, for example: 0
    """
    expected = "0 or a number above it"
    number = _number(value, what, expected, example)
    if number < 0:
        raise _wrong(value, what, expected, example)
    return number


def between(value: float, low: float, high: float, what: str, example: object) -> float:
    """A number from low to high, both included, returned as float; else BadInput.

    >>> between(120, 0, 180, "round of the back, degrees", 120)
    120.0
    >>> between(200, 0, 180, "round of the back, degrees", 120)
    Traceback (most recent call last):
    matref.errors.BadInput: round of the back, degrees is 200; expected 0 to 180, for example: 120
    """
    expected = f"{low:g} to {high:g}"
    number = _number(value, what, expected, example)
    if not low <= number <= high:
        raise _wrong(value, what, expected, example)
    return number


def share(value: float, what: str, example: object = 0.5) -> float:
    """A part of a whole, 0 to 1, both included, returned as float; else BadInput.

    >>> share(60, "flattening", 0.6)
    Traceback (most recent call last):
    matref.errors.BadInput: flattening is 60; expected 0 to 1, for example: 0.6
    """
    return between(value, 0, 1, what, example)


def count(value: int, what: str, example: object = 5, least: int = 1) -> int:
    """A whole number of things, at least `least`, returned as int; else BadInput.

    >>> count(4, "sheets in a section")
    4
    >>> count(0, "sections")
    Traceback (most recent call last):
    matref.errors.BadInput: sections is 0; expected a whole number, 1 or more, for example: 5
    """
    expected = f"a whole number, {least} or more"
    number = _number(value, what, expected, example)
    if number != int(number):
        raise _wrong(value, what, expected, example)
    if number < least:
        raise _wrong(value, what, expected, example)
    if number > MOST:
        raise _wrong(value, what, f"{MOST} or fewer", example)
    return int(number)


def leaf_mm(leaf_um: float) -> float:
    """Leaf thickness given in µm, judged and returned in mm.

    >>> leaf_mm(100)
    0.1
    """
    return positive(leaf_um, "leaf thickness, µm", 100) / 1000


def left_over(value: float, what: str, because: str) -> float:
    """The difference of two lengths, mm, which has to leave something; else BadInput with the reason.

    >>> left_over(4.0, "the board's width", "the setback is wider than the page")
    4.0
    >>> left_over(-1.0, "the panel", "the extras take it")
    Traceback (most recent call last):
    matref.errors.BadInput: the panel comes out at -1 mm; expected more than 0: the extras take it
    """
    if not value > 0:
        raise BadInput(f"{what} comes out at {value:.4g} mm", expected=f"more than 0: {because}")
    return value
