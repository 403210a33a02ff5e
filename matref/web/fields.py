"""The fields in which evidence of a pile and a sample is typed, and a form as somebody filled it in.

The names are those of the JSON twins.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from matref.errors import BadInput
from matref.web.asking import Field, level

GROUPS: dict[str, tuple[Field, ...]] = {
    "known": (
        Field(
            "class",
            "Kind of paper",
            "Leave it at “not known” and matref works out what is likely.",
            kind="class",
            evidence="paper_class",
            named="class",
        ),
        Field(
            "grammage",
            "Printed weight",
            "From a label or wrapper: 80 g/m², 20 lb bond, 90 lb index.",
            "80",
            kind="grammage",
            evidence="grammage",
        ),
    ),
    "weighing": (
        Field("size", "Sheet size", "A4, foolscap, 210 × 297 mm, 8 1/2 × 11 in.", "A4", kind="size", evidence="size"),
        Field("sheets", "Sheets weighed", "How many lay on the scale.", "20", kind="count", evidence="sheets"),
        Field("mass", "Their mass", "98 g, 3 1/2 oz.", "98", kind="mass", evidence="mass"),
        Field(
            "scale_resolution",
            "Scale shows",
            "The smallest step of the display: 1 g, 0.1 g.",
            "1",
            kind="mass",
            evidence="scale_resolution",
        ),
    ),
    "stack": (
        Field(
            "stack_sheets",
            "Sheets in the stack",
            "One sheet under a gauge counts as a stack of 1.",
            "100",
            kind="count",
            evidence="stack_sheets",
        ),
        Field(
            "stack",
            "Thickness of the stack",
            "10.5 mm, 7/16 in, 104 µm.",
            "10.5 mm",
            kind="length",
            evidence="stack",
        ),
        Field(
            "with",
            "Measured with",
            kind="choice",
            choices=(("", "a ruler"), ("vernier", "a vernier"), ("micrometer", "a micrometer")),
            evidence="with_",
            usual="ruler",
        ),
        Field(
            "held",
            "Held",
            kind="choice",
            choices=(
                ("", "as usual for the tool"),
                ("hand", "by hand"),
                ("clamped", "between boards"),
                ("gauge", "by a gauge"),
            ),
            evidence="held",
        ),
    ),
    "book": (
        Field(
            "book_pages",
            "Pages of the book",
            "Counted or the last page number.",
            "240",
            kind="count",
            noun="pages",
            evidence="book_pages",
        ),
        Field(
            "book_thickness",
            "Thickness without the cover",
            "14 mm, 9/16 in.",
            "14 mm",
            kind="length",
            evidence="book_thickness",
        ),
        Field(
            "book_mass",
            "Mass of the book",
            "310 g. Its page size goes into “Sheet size”.",
            "310",
            kind="mass",
            evidence="book_mass",
        ),
        Field(
            "cover",
            "The cover is",
            kind="choice",
            choices=(("", "still on"), ("off", "off")),
            evidence="cover",
            usual="on",
        ),
    ),
    "ream": (
        Field(
            "ream_sheets",
            "Sheets in the ream",
            "As printed on the wrapper.",
            "500",
            kind="count",
            evidence="ream_sheets",
        ),
        Field(
            "ream_mass",
            "Mass of the ream",
            "2.5 kg, 5 lb. Its sheet size goes into “Sheet size”.",
            "2.5 kg",
            kind="mass",
            evidence="ream_mass",
        ),
    ),
    "more": (
        Field("level", "How sure the range should be", "0.9 means: true nine times in ten.", "0.9", kind="level"),
        Field(
            "sample",
            "One of my samples",
            "Its measurements then count for this pile.",
            kind="pick",
            offers="samples",
            named="sample",
        ),
    ),
}
LABEL = Field("label", "What you call it", example="chart paper, locker 3", named="label")
MEASURED_ON = Field("measured_on", "Measured on", "Year-month-day; today if left empty.", "2026-03-21", named="day")
NOTE = Field(
    "note",
    "Note",
    "For yourself: it is hidden in the tables and in exports unless asked for.",
    kind="note",
    named="note",
)
SAMPLE_FIELDS = (
    LABEL,
    MEASURED_ON,
    Field("same_as", "Same pile as", "The name or id of another sample of the same pile."),
    NOTE,
)
FIELDS = {entry.name: entry for group in GROUPS.values() for entry in group}
EVIDENCE_FIELDS = {name: entry for name, entry in FIELDS.items() if entry.evidence}
SAMPLE_FORM: dict[str, Field] = EVIDENCE_FIELDS | {entry.name: entry for entry in SAMPLE_FIELDS}
"""The fields of a sample: what it is called and the evidence."""

_ALIASES = {entry.evidence: name for name, entry in EVIDENCE_FIELDS.items() if entry.evidence != name}
_OPTION = re.compile(r"--([a-z]+(?:-[a-z]+)*)")


@dataclass(slots=True)
class Filled:
    """A form as filled in: what was typed, field by field, and what is wrong with it. `known`: its fields."""

    typed: dict[str, str]
    errors: dict[str, str] = field(default_factory=dict)
    general: str = ""
    units: str = "mm"
    known: Mapping[str, Field] = field(default_factory=lambda: FIELDS)

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
        return level(text) if text else 0.9

    def evidence(self) -> dict[str, str]:
        """Return the fields of `Evidence`, bare lengths in the visitor's unit."""
        return {
            entry.evidence: text for name, entry in self.known.items() if entry.evidence and (text := self.text(name))
        }

    def text(self, name: str) -> str:
        """Return what was typed into a field, "" for nothing, a bare length in the visitor's unit."""
        text = self.typed.get(name, "")
        return self.known[name].with_unit(text, self.units) if text else ""

    def blame(self, error: BadInput) -> None:
        """Put an error that concerns several fields beside the one to look at."""
        named = _OPTION.findall(f"{error.wrong} {error.expected} {error.example}")
        names = [n for n in (option.replace("-", "_") for option in named) if n in self.known]
        missing = [n for n in names if not self.typed.get(n)]
        words = in_words(error, self.known)
        if names:
            self.errors.setdefault((missing or names)[0], words)
        elif name := next((n for n, entry in self.known.items() if _speaks(error.wrong, entry.named)), ""):
            self.errors.setdefault(name, words)
        else:
            self.general = words


def fill(
    fields: Mapping[str, list[str]], units: str, *, strict: bool = False, known: Mapping[str, Field] = FIELDS
) -> Filled:
    """Return the form that these fields make; several classes become one list. `strict`: refuse unknown fields."""
    typed: dict[str, str] = {}
    for given, values in fields.items():
        name = _ALIASES.get(given, given)
        if name in known:
            texts = [text.strip() for text in values if text.strip()]
            typed[name] = ",".join(dict.fromkeys(texts)) if known[name].kind == "class" else (texts or [""])[-1]
        elif strict and given not in ("units",) and not given.startswith("_"):
            near = get_close_matches(given, known, 1) or [next(iter(known))]
            raise BadInput(f"no field called {given[:40]}", expected=", ".join(known), example=near[0])
    return Filled(typed, units=units, known=known)


def check(filled: Filled, connection: sqlite3.Connection) -> None:
    """Read every field by itself, so that what is misspelt is told beside it."""
    for name, text in filled.typed.items():
        if not text:
            continue
        try:
            filled.known[name].check(text, filled.units, connection)
        except BadInput as error:
            filled.errors[name] = in_words(error, filled.known)


def in_words(error: BadInput, known: Mapping[str, Field] = FIELDS) -> str:
    """Return an error without the names of a command's options, which nobody sees on a page.

    >>> in_words(BadInput("a stack needs both", expected="--stack-sheets and --stack", example='--stack "10 mm"'))
    'a stack needs both; fill in “Sheets in the stack” and “Thickness of the stack”'
    """

    def label(match: re.Match[str]) -> str:
        entry = known.get(match[1].replace("-", "_"))
        return f"“{entry.label}”" if entry else match[0]

    example = "" if "--" in error.example or error.example.startswith("matref") else error.example
    expected = _OPTION.sub(label, error.expected)
    words = _OPTION.sub(label, error.wrong)
    if expected:
        words += f"; fill in {expected}" if "--" in error.expected else f"; expected {expected}"
    return f"{words}, for example {example}" if example else words


def field_name(evidence_name: str) -> str:
    """Return the name that a field of `Evidence` has in addresses.

    >>> field_name("paper_class"), field_name("mass")
    ('class', 'mass')
    """
    return _ALIASES.get(evidence_name, evidence_name)


def _speaks(words: str, name: str) -> bool:
    return bool(name) and re.search(rf"\b{re.escape(name)}\b", words) is not None
