"""Typed text to exact numbers: what every parser of this package shares.

A number is kept as a ratio of whole numbers, so 0.1, 1/8 and 25.4 stay exact until the last division.
Accepted: '2.1', '2,1', '.5', '10.', '1/8', '1 1/8', '1-1/8', '1½', '1e-3'. Decimal digits of any script and
full-width characters are read as 0 to 9 and ASCII. Refused with a reason: signs, ranges, thousands separators.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple, TypeAlias

from matref.errors import BadInput, shown
from matref.quantities.units import LENGTH_MM, MASS_G, UNIT_OF, Ratio, Table

LONGEST: Final = 200
Typed: TypeAlias = str | float
"""What a person types or a file holds: text with or without a unit, or a bare number."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A typed quantity in the unit of its kind.

    `unit` is 'mm', 'um' (thickness), 'g', 'g/m2', '1' (percentages, as a fraction) or a counted noun such as
    'sheets'. `resolution`, in the same unit, is the step in which the number was written: the last decimal
    place ('2.1 mm' 0.1 mm, '10 mm' 1 mm, '2.10 mm' 0.01 mm), or the fraction used ('1 3/8 in' an eighth of an
    inch); of a compound, that of its last part ('2 lb 3 oz' one ounce). Counts have resolution 0.
    `note` tells what was taken for granted, if anything.
    """

    value: float
    unit: str
    as_typed: str
    resolution: float
    note: str = ""

    @property
    def step(self) -> float:
        """The resolution; 0 where the number is a single step ("1 in"), which is a name rather than a reading."""
        return self.resolution if self.resolution < self.value else 0.0


class Number(NamedTuple):
    """An exact number `top / bottom`, written in steps of `step / bottom`."""

    top: int
    bottom: int
    step: int = 1

    def times(self, ratio: Ratio) -> Number:
        """Give the number in another unit, still exact."""
        return Number(self.top * ratio[0], self.bottom * ratio[1], self.step * ratio[0])

    def plus(self, finer: Number) -> Number:
        """Add a part that is written more finely; the sum has that part's step."""
        return Number(
            self.top * finer.bottom + finer.top * self.bottom,
            self.bottom * finer.bottom,
            finer.step * self.bottom,
        )

    @property
    def value(self) -> float:
        """The nearest float."""
        return self.top / self.bottom

    @property
    def resolution(self) -> float:
        """The step in which the number was written."""
        return self.step / self.bottom


class Asked(NamedTuple):
    """What was asked for and what was typed, so that every refusal can name both."""

    what: str
    typed: str
    expected: str
    example: str

    def refuse(self, reason: str) -> BadInput:
        """Build the error for a reason (the caller raises it)."""
        wrong = f"{self.what} '{shown(self.typed)}': {shown(reason, len(reason))}"
        return BadInput(wrong, expected=self.expected, example=self.example)

    def within(self, number: Number, least: float, most: float, unit: str) -> Number:
        """Pass a number on if it lies from `least` to `most` (in `unit`), else refuse it as absurd."""
        if not least <= number.value <= most:
            raise self.refuse(f"{number.value:.3g} {unit} is outside {least:.9g} to {most:.9g} {unit}")
        return number


def as_text(value: Typed) -> str:
    """Give the text of what was typed; a bare number becomes its shortest decimal form.

    >>> as_text(10.0), as_text(0.104), as_text(" 2.1 mm ")
    ('10', '0.104', '2.1 mm')
    """
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool) or not hasattr(value, "__float__"):
        return f"{value!r}"[: LONGEST + 1]
    try:
        number = float(value)
    except (OverflowError, TypeError, ValueError):
        return "a number too large"
    return str(int(number)) if number.is_integer() and abs(number) < 1e15 else repr(number)


_ALIKE: Final = {"µ": "u", "μ": "u", "×": "x", "✕": "x", "⨯": "x", "⁄": "/", "∕": "/", "²": "^2", "⅟": "1/"}
_ALIKE.update(dict.fromkeys("−–—‐‑‒", "-") | dict.fromkeys("″“”„", '"') | dict.fromkeys("′’‘", "'"))


def _plain(char: str) -> str:
    """Give the ASCII spelling of one character, or the character itself if it has none."""
    if char.isascii():
        return char
    if char in _ALIKE:
        return _ALIKE[char]
    if char.isdecimal():
        return str(unicodedata.decimal(char))
    if unicodedata.category(char) == "Cf":  # invisible marks that come along with pasted text
        return ""
    flat = unicodedata.normalize("NFKC", char).replace("μ", "u")
    if "⁄" in flat:  # a vulgar fraction; the spaces keep 1½ from becoming 11/2
        return f" {flat.replace('⁄', '/')} "
    # Other numerals (³, ①) stay as they are and are refused: NFKC would turn 10³ into 103.
    return flat if flat.isascii() and not char.isnumeric() else char


def tidy(asked: Asked) -> str:
    """Give the typed text in lower-case ASCII with single spaces; refuse it if empty or too long."""
    if len(asked.typed) > LONGEST:
        raise asked.refuse(f"more than {LONGEST} characters")
    text = " ".join("".join(map(_plain, asked.typed)).lower().split()).replace("''", '"')
    if not text:
        raise asked.refuse("nothing was typed")
    return text


def plain_name(name: str) -> str:
    """Give a name as `tidy` gives what was typed, so that the two can be compared.

    >>> plain_name("M weight, 8½ × 11 in")
    'm weight, 8 1/2 x 11 in'
    """
    return tidy(Asked("name", name, "", ""))


_FRACTION: Final = re.compile(r"(?:(\d+)[ -])?(\d+) ?/ ?(\d+)", re.ASCII)
_DECIMAL: Final = re.compile(r"(\d+)(?:\.(\d*)|(,)(\d+))?(?:e([+-]?\d{1,3}))?|[.,](\d+)", re.ASCII)
_MORE: Final = re.compile(r" ?[-~±]? ?\d|'\d{3}|[.,_±]", re.ASCII)
_UNIT: Final = re.compile(r" ?-?([a-z]+|[\"'#%])\.? ?", re.ASCII)


def scan_number(text: str, asked: Asked) -> tuple[Number, str]:
    """Take the number at the start of tidied text; give it and the rest."""
    if text.startswith("-"):
        raise asked.refuse("a quantity cannot be negative")
    if match := _FRACTION.match(text):
        number = _fraction(*match.groups(), asked=asked)
    elif match := _DECIMAL.match(text):
        whole, decimals, comma, comma_decimals, exponent, bare = match.groups()
        if comma and len(comma_decimals) == 3 and len(whole) <= 3 and not whole.startswith("0"):
            raise asked.refuse("the comma may mean a decimal or thousands; write 1000, or 1.000 with a point")
        number = _decimal(whole or "0", decimals or comma_decimals or bare or "", int(exponent or 0), asked)
    else:
        raise asked.refuse(f"'{text[:20]}' does not start with a number")
    rest = text[match.end() :]
    if _MORE.match(rest):
        raise asked.refuse("this is not one number; leave out ranges, tolerances and thousands separators")
    return number, rest.strip()


def _fraction(whole: str | None, top: str, bottom: str, *, asked: Asked) -> Number:
    above, below = int(top), int(bottom)
    if below == 0:
        raise asked.refuse("a fraction cannot have 0 below the line")
    if whole is not None and above >= below:
        raise asked.refuse(f"{top}/{bottom} after a whole number must be less than one")
    return Number(int(whole or 0) * below + above, below)


def _decimal(whole: str, decimals: str, exponent: int, asked: Asked) -> Number:
    if abs(exponent) > 30:
        raise asked.refuse("the number is out of all proportion")
    bottom = 10 ** (len(decimals) + max(-exponent, 0))
    step = 10 ** max(exponent, 0)
    return Number(int(whole + decimals) * step, bottom, step)


def look_up_unit(word: str, table: Table, asked: Asked) -> Ratio:
    """Give the ratio of a unit as spelled by people; say what kind of unit it is if it is another kind."""
    unit = UNIT_OF.get(word, word)
    if unit in table:
        return table[unit]
    if unit == "pt":
        raise asked.refuse("a point is 0.001 in of thickness but 1/72 in on a printed page; use another unit")
    for kind, other in (("length", LENGTH_MM), ("mass", MASS_G)):
        if unit in other:
            raise asked.refuse(f"'{word}' is a unit of {kind}")
    raise asked.refuse(f"'{word[:20]}' is not a unit known here")


def scan_parts(text: str, asked: Asked) -> list[tuple[Number, str]]:
    """Split tidied text such as '2 lb 3 oz' into numbers and unit words; a missing unit is ''."""
    parts: list[tuple[Number, str]] = []
    while text:
        number, text = scan_number(text, asked)
        match = _UNIT.match(text)
        if text and not match:
            raise asked.refuse(f"'{text[:20]}' is not a unit known here")
        parts.append((number, match[1] if match else ""))
        text = text[match.end() :] if match else ""
    return parts


_COMPOUNDS: Final = (("yd", "ft", "in"), ("m", "cm", "mm"), ("kg", "g", "mg"), ("lb", "oz"))


def add_parts(parts: list[tuple[Number, str]], table: Table, default_unit: str, asked: Asked) -> Number:
    """Add the parts of a compound, each smaller than one of the unit before it; give the exact sum."""
    if len(parts) == 1:
        number, word = parts[0]
        return number.times(look_up_unit(word or default_unit, table, asked))
    units = [UNIT_OF.get(word, word) for _, word in parts]
    if not any([unit for unit in chain if unit in units] == units for chain in _COMPOUNDS):
        raise asked.refuse("these parts do not make one quantity")
    scaled = [(number, look_up_unit(word, table, asked)) for number, word in parts]
    for (number, ratio), (finer, finer_ratio) in pairwise(scaled):
        if number.bottom != 1:
            raise asked.refuse("only the last part may be a fraction")
        if finer.times(finer_ratio).value >= Number(*ratio).value:
            raise asked.refuse("each part must be less than one of the unit before it")
    total = Number(0, 1)
    for number, ratio in scaled:
        total = total.plus(number.times(ratio))
    return total
