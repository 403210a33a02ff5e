"""How one thing is asked for on a form, and how what is typed there is read.

A length without a unit is in the visitor's unit, mm or inches; every other bare number is in the unit that its label
names. Whatever is typed may carry its own unit.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from matref.errors import BadInput
from matref.quantities import (
    parse_count,
    parse_grammage,
    parse_length,
    parse_mass,
    parse_percentage,
    parse_size,
    parse_thickness,
)
from matref.quantities.typed import Asked, scan_number, tidy

Kind = Literal[
    "text",
    "note",
    "count",
    "number",
    "level",
    "length",
    "size",
    "mass",
    "grammage",
    "thickness",
    "class",
    "choice",
    "pick",
    "plan",
]
_UNITS: Mapping[str, str] = {"mass": "g", "grammage": "g/m²", "thickness": "µm"}
_IN_VISITORS_UNIT = ("length", "size")
_BARE = re.compile(r"[\d\s.,/⁄½¼¾⅛⅜⅝⅞-]+")
_BARE_SIZE = re.compile(r"[\d\s.,/⁄½¼¾⅛⅜⅝⅞x×*-]+", re.IGNORECASE)
_LONGEST = 400
_LONGEST_TEXT: Mapping[str, int] = {"note": 10_000, "plan": 20_000}

Choices = tuple[tuple[str, str], ...]
"""Values with the words that people read; the value "" stands for what happens when nothing is chosen."""


@dataclass(frozen=True, slots=True)
class Field:
    """A field: its name in addresses and JSON, the label people read, a hint, an example, its choices if it has any.

    `noun`: what a count counts. `of`: the unit of a plain number. `evidence`: the field of
    `matref.estimator.evidence.Evidence` that it fills. `usual`: what programs call the choice that is sent as
    nothing. `named`: the word by which errors speak of it. `offers`: the list of `matref.web.offers` from which
    it may be taken. `wanted`: nothing can be answered without it.
    """

    name: str
    label: str
    hint: str = ""
    example: str = ""
    kind: Kind = "text"
    choices: Choices = ()
    noun: str = "sheets"
    of: str = ""
    evidence: str = ""
    usual: str = ""
    named: str = ""
    offers: str = ""
    wanted: bool = False

    @property
    def numeric(self) -> bool:
        """Whether a bare number is usual."""
        return self.kind in ("count", "number")

    def unit(self, units: str) -> str:
        """Return the unit of a bare number, "" where there is none; `units`: the visitor's unit of lengths.

        >>> Field("stack", "Thickness of the stack", kind="length").unit("in")
        'in'
        >>> Field("mass", "Mass", kind="mass").unit("in")
        'g'
        """
        return units if self.kind == "length" else self.of or _UNITS.get(self.kind, "")

    def with_unit(self, text: str, units: str) -> str:
        """Return what was typed, with the visitor's unit where a length or a size came without one.

        >>> Field("stack", "Thickness of the stack", kind="length").with_unit("7/16", "in")
        '7/16 in'
        """
        bare = _BARE_SIZE if self.kind == "size" else _BARE
        if units != "in" or self.kind not in _IN_VISITORS_UNIT or not bare.fullmatch(text):
            return text
        return f"{text} in"

    def check(self, text: str, units: str, connection: sqlite3.Connection) -> None:
        """Raise BadInput where this text cannot be what the field asks for, whatever else was filled in."""
        longest = _LONGEST_TEXT.get(self.kind, _LONGEST)
        if len(text) > longest:
            raise BadInput("that is too long", expected=f"at most {longest} characters")
        if self.choices:
            known = {value for value, _ in self.choices}
            if text not in known | {self.usual}:
                raise BadInput(
                    f"“{text[:40]}” is not a choice", expected=" or ".join(sorted(known | {self.usual} - {""}))
                )
        elif self.kind == "count":
            parse_count(text, noun=self.noun)
        elif self.kind in _READERS:
            _READERS[self.kind](self.with_unit(text, units), self.label.lower(), connection)


def number(text: str, what: str = "number") -> float:
    """Return a plain number, with a point or a comma; BadInput for anything else.

    >>> number("0,75")
    0.75
    """
    asked = Asked(what, text, "a number", "0.75")
    found, rest = scan_number(tidy(asked), asked)
    if rest:
        raise asked.refuse(f"“{rest[:20]}” after the number")
    return found.value


def level(text: str) -> float:
    """Return how sure a range should be, as a share; BadInput outside 0.5 to 0.999.

    >>> level("90 %")
    0.9
    """
    share = parse_percentage(text, default_unit="1", what="level").value
    if not 0.5 <= share <= 0.999:
        raise BadInput(f"a level of {share:g}", expected="a share between 0.5 and 0.999", example="0.9")
    return share


def _grammage(text: str, what: str, connection: sqlite3.Connection) -> object:
    from matref.catalogue.grades import basis_factors

    return parse_grammage(text, basis_factors(connection), what=what)


def _size(text: str, what: str, connection: sqlite3.Connection) -> object:
    from matref.catalogue.grades import sheet_sizes

    return parse_size(text, sheet_sizes(connection), what=what)


_READERS: Mapping[str, Callable[[str, str, sqlite3.Connection], object]] = {
    "number": lambda text, what, _: number(text, what),
    "level": lambda text, _what, _connection: level(text),
    "length": lambda text, what, _: parse_length(text, what=what),
    "size": _size,
    "mass": lambda text, what, _: parse_mass(text, what=what),
    "grammage": _grammage,
    "thickness": lambda text, what, _: parse_thickness(text, what=what),
}
