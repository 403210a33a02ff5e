"""One key of a plan file: its name, its kind, what it means, and how its value is read.

Lengths may be written in millimetres (`page_width_mm = 100`), in inches (`page_width_in = 4`), or as text with a unit
under either name (`page_width_mm = "4 in"`): the unit in the text wins.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Literal, NamedTuple

from matref.errors import BadInput, shown
from matref.quantities import Size, parse_count, parse_length, parse_mass, parse_size, parse_thickness
from matref.quantities.typed import Asked, as_text, scan_number, tidy

Kind = Literal[
    "length", "measure", "thickness", "mass", "grammage", "count", "number", "choice", "flag", "text", "names", "size"
]
SUFFIXES: Mapping[str, tuple[str, ...]] = {
    "length": ("_mm", "_in"),
    "measure": ("_mm", "_in"),
    "thickness": ("_um", "_mm", "_in"),
    "mass": ("_g",),
    "grammage": ("_gsm",),
}
Sizes = Mapping[str, tuple[float, float]]


class Length(NamedTuple):
    """A length as read, mm, with the step in which it was written, mm."""

    mm: float
    step_mm: float


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a table.

    `stem`: the name without its unit. `example`: a value as TOML has it, printed in the reference and in errors.
    `default`: what happens without it, in words. `bare`: the stem alone is a name too, for a value that carries its
    own unit or is in the first unit (the names that the command has for evidence). `noun`: what a count counts.
    """

    stem: str
    kind: Kind
    meaning: str
    example: str
    default: str = "none"
    choices: tuple[str, ...] = ()
    noun: str = ""
    low: float = 0.0
    high: float = 1e6
    bare: bool = False
    also: tuple[str, ...] = ()
    zero: bool = False

    @property
    def name(self) -> str:
        """The name as the reference has it, unit included."""
        return self.stem + SUFFIXES.get(self.kind, ("",))[0]

    @property
    def names(self) -> tuple[str, ...]:
        """All names that are understood, the usual one first."""
        stems = (self.stem, *self.also)
        found = [stem + suffix for stem in stems for suffix in SUFFIXES.get(self.kind, ("",))]
        return (*found, *stems) if self.bare and self.kind in SUFFIXES else tuple(found)

    def read(self, name: str, value: object, path: str, sizes: Sizes | None = None) -> Any:
        """Return the value under `name`: Length (length), Size (size), int (count), float (number), bool (flag), str.

        Masses, grammages, thicknesses and measures stay as typed, with a unit, because their last digit says how well
        they are known. BadInput names the `path`.
        """
        try:
            return self._read(name, value, sizes)
        except BadInput as error:
            what = error.wrong.removeprefix(f"{name} ")
            example = error.example or f"{self.name} = {self.example}"
            if "=" not in example:
                example = f"{self.name} = {self.example}"
            raise BadInput(f"{path}.{name}: {what}", expected=error.expected, example=example) from error

    def _read(self, name: str, value: object, sizes: Sizes | None) -> Any:
        if self.kind == "flag":
            return self._flag(value)
        if self.kind == "names":
            return self._names(value)
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise self._wrong(value)
        if isinstance(value, str) and not value.strip():
            raise BadInput("nothing is given", expected=self._expected())
        if self.kind in ("text", "choice"):
            return self._text(value)
        if self.kind == "size":
            return _sized(parse_size(value, sizes if _has_name(value) else None, what=name))
        if self.kind == "count":
            if self.zero and str(value).strip() == "0":
                return 0
            return int(parse_count(value, noun=self.noun, what=name).value)
        if self.kind == "number":
            return self._number(name, value)
        return self._measured(name, value)

    def _measured(self, name: str, value: str | float) -> Any:
        unit = next((s[1:] for s in SUFFIXES[self.kind] if name.endswith(s)), SUFFIXES[self.kind][0][1:])
        if self.kind == "length":
            found = parse_length(value, default_unit=unit, what=name, allow_zero=self.zero)
            if not self.low <= found.value <= self.high:
                raise BadInput(f"{found.value:g} mm is out of proportion", expected=f"{self.low:g} to {self.high:g} mm")
            return Length(found.value, found.resolution)
        if self.kind == "thickness":
            parse_thickness(value, default_unit=unit, what=name)
        if self.kind == "measure":
            parse_length(value, default_unit=unit, what=name)
        if self.kind == "mass":
            parse_mass(value, default_unit=unit, what=name)
        return (
            value if isinstance(value, str) and _has_unit(value) else f"{as_text(value)} {_TYPED_UNIT.get(unit, unit)}"
        )

    def _number(self, name: str, value: str | float) -> float:
        asked = Asked(name, as_text(value), f"a number from {self.low:g} to {self.high:g}", self.example)
        number, rest = scan_number(tidy(asked), asked)
        if rest not in ("", "%"):
            raise asked.refuse(f"'{rest[:20]}' after the number")
        if not self.low <= number.value <= self.high:
            raise asked.refuse("out of range")
        return number.value

    def _text(self, value: str | float) -> str:
        if not isinstance(value, str):
            raise self._wrong(value)
        text = value.strip()
        if len(text) > 200 or not text.isprintable():
            raise BadInput("this is no plain text", expected="up to 200 printable characters")
        if self.kind == "choice" and text.lower() not in self.choices:
            near = get_close_matches(text.lower(), self.choices, 1, 0.5)
            hint = f" (near: {near[0]})" if near else ""
            raise BadInput(f'"{text[:40]}" is not known{hint}', expected=" or ".join(self.choices))
        return text.lower() if self.kind == "choice" else text

    def _names(self, value: object) -> str:
        parts = value if isinstance(value, list | tuple) else [value]
        words = [part.strip() for part in parts if isinstance(part, str) and part.strip()]
        if not words or len(words) < len(parts):
            raise self._wrong(value)
        return ",".join(map(self._text, words))

    def _flag(self, value: object) -> bool:
        words = {"true": True, "yes": True, "false": False, "no": False}
        if isinstance(value, bool):
            return value
        if isinstance(value, str) and value.strip().lower() in words:
            return words[value.strip().lower()]
        raise self._wrong(value)

    def _wrong(self, value: object) -> BadInput:
        return BadInput(f"{_shown(value)} does not belong here", expected=self._expected())

    def _expected(self) -> str:
        kinds = {
            "length": "a length",
            "measure": "a length",
            "thickness": "a thickness",
            "mass": "a mass",
            "grammage": "a grammage",
            "count": f"a whole number of {self.noun}",
            "number": "a number",
            "flag": "true or false",
            "size": "a size or the name of one",
            "choice": " or ".join(self.choices),
        }
        return kinds.get(self.kind, "text in quotes")


_TYPED_UNIT = {"gsm": "g/m2"}


def _sized(size: Size) -> Size:
    if min(size.width_mm, size.height_mm) < 5 or max(size.width_mm, size.height_mm) > 20_000:
        raise BadInput(f"{size.as_typed[:40]} is out of proportion", expected="5 mm to 20 m a side")
    return size


def _has_name(value: str | float) -> bool:
    return isinstance(value, str) and not value.strip()[:1].isdigit()


def _has_unit(text: str) -> bool:
    return any(c.isalpha() or c in "\"'#" for c in text)


def _shown(value: object) -> str:
    try:
        text = repr(value)
    except (ValueError, RecursionError):
        text = type(value).__name__
    return shown(text)
