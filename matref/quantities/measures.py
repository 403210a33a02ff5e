"""Lengths, thicknesses, masses, counts and percentages from typed text."""

from __future__ import annotations

from typing import Final

from matref.quantities.typed import (
    Asked,
    Number,
    Quantity,
    Typed,
    add_parts,
    as_text,
    scan_number,
    scan_parts,
    tidy,
)
from matref.quantities.units import LENGTH_MM, MASS_G, THICKNESS_UM, Table


def _measure(asked: Asked, table: Table, default_unit: str) -> Number:
    return add_parts(scan_parts(tidy(asked), asked), table, default_unit, asked)


def _quantity(number: Number, unit: str, asked: Asked) -> Quantity:
    return Quantity(number.value, unit, asked.typed, number.resolution)


def parse_length(typed: Typed, *, default_unit: str = "mm", what: str = "length", allow_zero: bool = False) -> Quantity:
    """Read a length; the value is in mm, from 0.1 µm to 10 km.

    Units: mm, cm, m, µm (um, micron), in (inch, "), ft (foot, '), yd, mil (thou, 0.001 in). A bare number is in
    `default_unit`. Compounds such as '1 ft 6 in' are added. `what` names the field in errors (BadInput).

    >>> parse_length("5 3/16 in")
    Quantity(value=131.7625, unit='mm', as_typed='5 3/16 in', resolution=1.5875, note='')
    >>> parse_length("2,1 mm").value, parse_length(2.1).value, parse_length('8½"').value
    (2.1, 2.1, 215.9)
    """
    asked = Asked(what, as_text(typed), "a length in mm, cm, m, µm, in, ft, yd or mil", "24.5 mm, or 1 1/8 in")
    number = _measure(asked, LENGTH_MM, default_unit)
    if not (allow_zero and number.top == 0):
        asked.within(number, 1e-4, 1e7, "mm")
    return _quantity(number, "mm", asked)


def parse_thickness(typed: Typed, *, default_unit: str = "um", what: str = "thickness") -> Quantity:
    """Read the thickness of a sheet, board or cloth; the value is in µm, from 1 µm to 100 mm.

    Units as for `parse_length`, and the board maker's point ('10 pt', 0.001 in). A bare number is in
    `default_unit`.

    >>> parse_thickness("10 pt").value, parse_thickness("4 mil").value, parse_thickness("0.104 mm").value
    (254.0, 101.6, 104.0)
    """
    asked = Asked(what, as_text(typed), "a thickness in µm, mm, in, mil or pt (0.001 in)", "104 µm, or 10 pt")
    number = asked.within(_measure(asked, THICKNESS_UM, default_unit), 1, 1e5, "µm")
    return _quantity(number, "um", asked)


def parse_mass(typed: Typed, *, default_unit: str = "g", what: str = "mass") -> Quantity:
    """Read a mass; the value is in g, from 0.1 mg to 10 t. Units: mg, g, kg, oz (avoirdupois), lb.

    >>> parse_mass("2 lb 3 oz").value, parse_mass("499,5").value
    (992.233309375, 499.5)
    """
    asked = Asked(what, as_text(typed), "a mass in g, kg, mg, oz or lb", "498 g, or 2 lb 3 oz")
    number = asked.within(_measure(asked, MASS_G, default_unit), 1e-4, 1e7, "g")
    return _quantity(number, "g", asked)


_PLURAL: Final = {
    "board": "boards",
    "copy": "copies",
    "leaf": "leaves",
    "line": "lines",
    "page": "pages",
    "piece": "pieces",
    "section": "sections",
    "sheet": "sheets",
    "station": "stations",
}
REAM_SHEETS: Final = 500
_REAM_NOTE: Final = "a ream taken as 500 sheets (ISO 4046-3); older reams also held 480 or 516"


def parse_count(typed: Typed, *, noun: str = "sheets", what: str = "") -> Quantity:
    """Read a whole number of things from 1 to ten million; the noun, in the plural, may follow it.

    Where sheets are counted, 'ream' is 500 with a note. Other nouns than the one asked for are refused: 100
    leaves are not 100 sheets.

    >>> parse_count("100 sheets").value, parse_count("1 ream").value
    (100.0, 500.0)
    >>> parse_count("100 leaves")
    Traceback (most recent call last):
    matref.errors.BadInput: number of sheets '100 leaves': leaves are counted here, not sheets; expected a \
whole number of sheets, for example: 48 sheets
    """
    asked = Asked(what or f"number of {noun}", as_text(typed), f"a whole number of {noun}", f"48 {noun}")
    number, word = scan_number(tidy(asked), asked)
    word = word.rstrip(".")
    counted, note = _PLURAL.get(word, word), ""
    if noun == "sheets" and word in ("ream", "reams"):
        number, counted, note = number.times((REAM_SHEETS, 1)), noun, _REAM_NOTE
    if counted not in ("", noun):
        raise asked.refuse(f"{counted[:20]} are counted here, not {noun}")
    if number.top % number.bottom:
        raise asked.refuse("this is not a whole number")
    return Quantity(asked.within(number, 1, 1e7, noun).value, noun, asked.typed, 0.0, note)


def parse_percentage(typed: Typed, *, default_unit: str = "%", what: str = "percentage") -> Quantity:
    """Read a share from 0 to 100 %; the value is a fraction (unit '1').

    A bare number is in per cent, or a fraction when `default_unit` is '1'.

    >>> parse_percentage("8,5 %").value, parse_percentage("0.9", default_unit="1").value
    (0.085, 0.9)
    """
    bare = default_unit == "1"
    asked = Asked(what, as_text(typed), "a share from 0 to 100 %", "0.9, or 90 %" if bare else "8 %")
    number, word = scan_number(tidy(asked), asked)
    if word not in ("", "%", "percent", "per cent", "pct"):
        raise asked.refuse(f"'{word[:20]}' is not '%'")
    fraction = number if bare and not word else number.times((1, 100))
    if not 0 <= fraction.value <= 1:
        raise asked.refuse("more than the whole")
    return _quantity(fraction, "1", asked)
