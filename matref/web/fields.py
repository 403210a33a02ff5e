"""The fields in which evidence of a pile is typed: their words, their units, and errors beside the right one.

The names are those of the JSON twin. A bare length is in the visitor's unit; everything may carry its own.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from matref.errors import BadInput
from matref.quantities import (
    parse_count,
    parse_grammage,
    parse_length,
    parse_mass,
    parse_percentage,
    parse_size,
)

_BARE = re.compile(r"[\d\s.,/⁄½¼¾⅛⅜⅝⅞-]+")
_BARE_SIZE = re.compile(r"[\d\s.,/⁄½¼¾⅛⅜⅝⅞x×*-]+", re.IGNORECASE)
_OPTION = re.compile(r"--([a-z]+(?:-[a-z]+)*)")
_LONGEST = 400


@dataclass(frozen=True, slots=True)
class Field:
    """A field: its name in addresses and JSON, the label people read, a hint, and its choices if it has any."""

    name: str
    label: str
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    numeric: bool = False


GROUPS: dict[str, tuple[Field, ...]] = {
    "known": (
        Field("class", "Kind of paper", "Leave it at “not known” and matref works out what is likely."),
        Field("grammage", "Printed weight", "From a label or wrapper: 80 g/m², 20 lb bond, 90 lb index."),
    ),
    "weighing": (
        Field("size", "Sheet size", "A4, foolscap, 210 × 297 mm, 8 1/2 × 11 in."),
        Field("sheets", "Sheets weighed", "How many lay on the scale.", numeric=True),
        Field("mass", "Their mass", "98 g, 3 1/2 oz."),
        Field("scale_resolution", "Scale shows", "The smallest step of the display: 1 g, 0.1 g."),
    ),
    "stack": (
        Field("stack_sheets", "Sheets in the stack", "One sheet under a gauge counts as a stack of 1.", numeric=True),
        Field("stack", "Thickness of the stack", "10.5 mm, 7/16 in, 104 µm."),
        Field("with", "Measured with", "", (("", "a ruler"), ("vernier", "a vernier"), ("micrometer", "a micrometer"))),
        Field(
            "held",
            "Held",
            "",
            (
                ("", "as usual for the tool"),
                ("hand", "by hand"),
                ("clamped", "between boards"),
                ("gauge", "by a gauge"),
            ),
        ),
    ),
    "book": (
        Field("book_pages", "Pages of the book", "Counted or the last page number.", numeric=True),
        Field("book_thickness", "Thickness without the cover", "14 mm, 9/16 in."),
        Field("book_mass", "Mass of the book", "310 g. Its page size goes into “Sheet size”."),
        Field("cover", "The cover is", "", (("", "still on"), ("off", "off"))),
    ),
    "ream": (
        Field("ream_sheets", "Sheets in the ream", "As printed on the wrapper.", numeric=True),
        Field("ream_mass", "Mass of the ream", "2.5 kg, 5 lb. Its sheet size goes into “Sheet size”."),
    ),
    "more": (
        Field("level", "How sure the range should be", "0.9 means: true nine times in ten."),
        Field("sample", "One of my samples", "Its measurements then count for this pile."),
    ),
}
SAMPLE_FIELDS = (
    Field("label", "What you call it", "Chart paper, locker 3."),
    Field("measured_on", "Measured on", "Year-month-day; today if left empty."),
    Field("same_as", "Same pile as", "The name or id of another sample of the same pile."),
    Field("note", "Note", "For yourself: it is hidden in the tables and in exports unless asked for."),
)
FIELDS = {entry.name: entry for group in GROUPS.values() for entry in group}
_ALL = FIELDS | {entry.name: entry for entry in SAMPLE_FIELDS}
_EVIDENCE = {"class": "paper_class", "with": "with_"}
_ALIASES = {"paper_class": "class", "with_": "with"}
_LENGTHS = ("stack", "book_thickness")


@dataclass(slots=True)
class Filled:
    """A form as filled in: what was typed, field by field, and what is wrong with it."""

    typed: dict[str, str]
    errors: dict[str, str] = field(default_factory=dict)
    general: str = ""
    units: str = "mm"

    @property
    def empty(self) -> bool:
        """Whether nothing was typed (a level alone is nothing)."""
        return not any(text for name, text in self.typed.items() if name != "level")

    @property
    def used(self) -> list[str]:
        """The names of the fields that hold something or are wrong."""
        return [name for name, text in self.typed.items() if text] + list(self.errors)

    @property
    def wrong(self) -> bool:
        """Whether anything is wrong."""
        return bool(self.errors or self.general)

    def key(self) -> tuple[object, ...]:
        """Return what tells this question from others."""
        return (self.units, *sorted((n, t) for n, t in self.typed.items() if t))

    def level(self) -> float:
        """Return the level asked for, 0.9 where none was."""
        text = self.typed.get("level", "")
        return parse_percentage(text, default_unit="1", what="level").value if text else 0.9

    def evidence(self) -> dict[str, str]:
        """Return the fields of `Evidence`, bare lengths in the visitor's unit."""
        known = {}
        for name, text in self.typed.items():
            if text and name in FIELDS and name not in ("level", "sample"):
                known[_EVIDENCE.get(name, name)] = self._with_unit(name, text)
        return known

    def blame(self, error: BadInput) -> None:
        """Put an error that concerns several fields beside the one to look at."""
        named = _OPTION.findall(f"{error.wrong} {error.expected} {error.example}")
        names = [n for n in (option.replace("-", "_") for option in named) if n in FIELDS]
        missing = [n for n in names if not self.typed.get(n)]
        words = in_words(error)
        if names:
            self.errors.setdefault((missing or names)[0], words)
        elif name := next((n for n in ("class", "sample", "label", "note", "day") if n in error.wrong), ""):
            self.errors.setdefault({"day": "measured_on"}.get(name, name), words)
        else:
            self.general = words

    def _with_unit(self, name: str, text: str) -> str:
        if self.units != "in":
            return text
        bare = (name in _LENGTHS and _BARE.fullmatch(text)) or (name == "size" and _BARE_SIZE.fullmatch(text))
        return f"{text} in" if bare else text


def fill(
    fields: Mapping[str, list[str]], units: str, *, strict: bool = False, known: Mapping[str, Field] = FIELDS
) -> Filled:
    """Return the form that these fields make; several classes become one list. `strict`: refuse unknown fields."""
    typed: dict[str, str] = {}
    for given, values in fields.items():
        name = _ALIASES.get(given, given)
        if name in known:
            texts = [text.strip() for text in values if text.strip()]
            typed[name] = ",".join(dict.fromkeys(texts)) if name == "class" else (texts or [""])[-1]
        elif strict and given not in ("units",) and not given.startswith("_"):
            near = get_close_matches(given, known, 1) or ["class"]
            raise BadInput(f"no field called {given[:40]}", expected=", ".join(known), example=near[0])
    return Filled(typed, units=units)


def check(filled: Filled, connection: sqlite3.Connection) -> None:
    """Read every field by itself, so that what is misspelt is told beside it."""
    from matref.catalogue.grades import basis_factors, sheet_sizes

    readers: dict[str, Callable[[str], object]] = {
        "grammage": lambda text: parse_grammage(text, basis_factors(connection)),
        "size": lambda text: parse_size(text, sheet_sizes(connection)),
        "sheets": parse_count,
        "mass": parse_mass,
        "scale_resolution": lambda text: parse_mass(text, what="step of the scale"),
        "stack_sheets": parse_count,
        "stack": parse_length,
        "book_pages": lambda text: parse_count(text, noun="pages"),
        "book_thickness": parse_length,
        "book_mass": parse_mass,
        "ream_sheets": parse_count,
        "ream_mass": parse_mass,
        "level": _level,
    }
    for name, text in filled.typed.items():
        if not text:
            continue
        try:
            if len(text) > _LONGEST and name != "note":
                raise BadInput("that is too long", expected=f"at most {_LONGEST} characters")
            if name in readers:
                readers[name](filled._with_unit(name, text))
            choices = {value for value, _ in _ALL[name].choices}
            if choices and text not in choices | _spoken(name):
                raise BadInput(f"“{text[:40]}” is not a choice", expected=" or ".join(sorted(choices - {""})))
        except BadInput as error:
            filled.errors[name] = in_words(error)


def in_words(error: BadInput) -> str:
    """Return an error without the names of a command's options, which nobody sees on a page.

    >>> in_words(BadInput("a stack needs both", expected="--stack-sheets and --stack", example='--stack "10 mm"'))
    'a stack needs both; fill in “Sheets in the stack” and “Thickness of the stack”'
    """
    example = "" if "--" in error.example or error.example.startswith("matref") else error.example
    expected = _OPTION.sub(_label, error.expected)
    words = error.wrong if "--" not in error.wrong else _OPTION.sub(_label, error.wrong)
    if expected:
        words += f"; fill in {expected}" if "--" in error.expected else f"; expected {expected}"
    return f"{words}, for example {example}" if example else words


SAMPLE_FORM: dict[str, Field] = {
    name: entry for name, entry in _ALL.items() if name not in (field.name for field in GROUPS["more"])
}
"""The fields of a sample: what it is called and the evidence."""


def field_name(evidence_name: str) -> str:
    """Return the name that a field of `Evidence` has in addresses.

    >>> field_name("paper_class"), field_name("mass")
    ('class', 'mass')
    """
    return _ALIASES.get(evidence_name, evidence_name)


def _label(match: re.Match[str]) -> str:
    entry = FIELDS.get(match[1].replace("-", "_"))
    return f"“{entry.label}”" if entry else match[0]


def _spoken(name: str) -> set[str]:
    return {"ruler"} if name == "with" else {"on"} if name == "cover" else set()


def _level(text: str) -> Any:
    level = parse_percentage(text, default_unit="1", what="level").value
    if not 0.5 <= level <= 0.999:
        raise BadInput(f"a level of {level:g}", expected="a share between 0.5 and 0.999", example="0.9")
    return level
