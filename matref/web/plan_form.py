"""A plan as filled in on the page: fields named `table.key` to the mapping that the planner reads, and errors back."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from matref.errors import BadInput
from matref.planning.schema import PLAN_TABLES
from matref.web.book_fields import BOOK_FIELDS

MORE = "more"
"""The field for what has no field of its own: tables as in a plan file."""
CANDIDATES = 3
"""How many other papers or threads can be set beside the plan."""

_BESIDE = ("name", "class", "grammage_gsm", "caliper_um", "thread")
_TABLES = {table.path: table for table in PLAN_TABLES}
_PATH = re.compile(r"^(book|paper|cover|sewing|stock)(?:\.|: )([a-z_]+)")
_TABLE = re.compile(r"^(?:book|paper|cover|sewing|stock)(?:\.[a-z_]+)?: ")
_TYPED = re.compile(r"^'[^']*': ")
_BELOW = re.compile(r"it below \[")
_WORD = re.compile(r"(?<![.a-z_])[a-z_]+(?![.a-z_])")
_GIVEN = re.compile(r"\b([a-z_]+) = ")
_SETTING = re.compile(r'^([a-z_]+) = "?([^"]*)"?$')
_LONGEST_MORE = 20_000


@dataclass(slots=True)
class PlanForm:
    """A plan as filled in, and what is wrong with it: field by field, at the top, and as `told` by the planner."""

    typed: dict[str, str]
    units: str
    errors: dict[str, str] = field(default_factory=dict)
    general: str = ""
    told: str = ""

    @property
    def begun(self) -> bool:
        """Whether anything is said of the book itself, so that there is something to plan."""
        return any(t and n != "book.level" and n.startswith(("book.", MORE)) for n, t in self.typed.items())

    @property
    def empty(self) -> bool:
        """Whether nothing was filled in."""
        return not any(self.typed.values())

    @property
    def wrong(self) -> bool:
        """Whether anything is wrong."""
        return bool(self.errors or self.general)

    @property
    def used(self) -> list[str]:
        """The names of the fields that hold something or are wrong."""
        return [name for name, text in self.typed.items() if text] + list(self.errors)

    def key(self) -> tuple[object, ...]:
        """Return what tells this plan from others."""
        return (self.units, *sorted((n, t) for n, t in self.typed.items() if t))

    def plan(self) -> dict[str, Any]:
        """Return the mapping that the planner reads, in the shape of a plan file."""
        plan: dict[str, Any] = self._more()
        for name, text in self.typed.items():
            table, _, key = name.partition(".")
            if not text or table not in _TABLES:
                continue
            plan.setdefault(table, {})
            if not isinstance(plan[table], dict):
                raise BadInput(f"{table} is no table", expected=f"[{table}]")
            plan[table][key] = self._value(table, key, text)
        beside = list(self._candidates())
        if beside:
            plan["compare"] = [*plan.get("compare", []), *beside]
        return plan

    def blame(self, error: BadInput) -> None:
        """Put an error beside the field whose key it names, else at the top, in the words of the form."""
        self.told = str(error)
        name = self._concerned(error)
        expected = "" if _BELOW.match(error.expected) else _in_labels(error.expected)
        words = _in_labels(_TYPED.sub("", _TABLE.sub("", error.wrong)))
        if expected:
            words += f"; fill in {expected}" if expected != error.expected else f"; expected {expected}"
        if not name:
            self.general = words
            return
        example = _SETTING.match(error.example)
        if example and f"{name.partition('.')[0]}.{example[1]}" == name and "“" not in words:
            words += f", for example {example[2]}"
        self.errors[name] = words

    def _concerned(self, error: BadInput) -> str:
        """Return the name of the field to look at, "" where there is none."""
        found = _PATH.search(error.wrong)
        if found is None:
            return ""
        table = _TABLES[found[1]]
        if key := table.find(found[2]):
            return f"{table.path}.{key.name}"
        for name, entry in BOOK_FIELDS.items():
            if name.startswith(f"{table.path}.") and entry.named and re.search(rf"\b{entry.named}\b", error.wrong):
                return name
        asked = [f"{table.path}.{k.name}" for word in _WORD.findall(error.expected) if (k := table.find(word))]
        return next((name for name in asked if not self.typed.get(name)), asked[0] if asked else "")

    def _value(self, table: str, name: str, text: str) -> str | int:
        key = _TABLES[table].find(name)
        if key is None:
            near = get_close_matches(name, _TABLES[table].names, 1) or [_TABLES[table].names[0]]
            raise BadInput(f"{table} has no key {name[:40]}", expected=f"one such as {table}.{near[0]}")
        if key.kind == "count" and text.isascii() and text.isdigit() and len(text) < 9:
            return int(text)
        return BOOK_FIELDS[f"{table}.{key.name}"].with_unit(text, self.units)

    def _candidates(self) -> Iterator[dict[str, Any]]:
        for number in range(1, CANDIDATES + 1):
            given = {key: self.typed.get(f"beside.{number}.{key}", "") for key in _BESIDE}
            paper = {key: given[key] for key in ("class", "grammage_gsm", "caliper_um") if given[key]}
            sewing = {"thread": given["thread"]} if given["thread"] else {}
            if paper or sewing:
                name = given["name"] or " ".join((*paper.values(), *sewing.values()))
                yield {"name": name} | ({"paper": paper} if paper else {}) | ({"sewing": sewing} if sewing else {})

    def _more(self) -> dict[str, Any]:
        text = self.typed.get(MORE, "")
        if len(text) > _LONGEST_MORE:
            raise BadInput("the plan file is too long", expected=f"at most {_LONGEST_MORE} characters")
        try:
            return tomllib.loads(text)
        except (ValueError, RecursionError) as error:
            raise BadInput(f"the lines as in a plan file cannot be read: {str(error)[:120]}") from error


def fill_plan(fields: Mapping[str, list[str]], units: str, *, strict: bool = False) -> PlanForm:
    """Return the form that these fields make. `strict`: refuse fields that a plan does not have."""
    typed = {}
    for given, values in fields.items():
        name = _ALSO.get(given, given)
        texts = [text.strip() for text in values if text.strip()]
        if name == MORE or name.startswith("beside.") or ("." in name and name.partition(".")[0] in _TABLES):
            known = BOOK_FIELDS.get(name)
            several = known is not None and known.kind == "class"
            typed[name] = ",".join(dict.fromkeys(texts)) if several else (texts or [""])[-1]
        elif strict and name != "units" and not name.startswith("_"):
            raise BadInput(
                f"no field called {given[:40]}", expected="table.key as in a plan file", example="book.page_width_mm"
            )
    return PlanForm(typed, units)


def _in_labels(text: str) -> str:
    """Put the labels of the form in the place of keys that nobody sees there; plain words stay.

    >>> _in_labels("stack_sheets and stack"), _in_labels("the size of the leaves, as leaf_size")
    ('“Sheets in the stack” and “Thickness of the stack”', 'the size of the leaves, as “Size of a leaf”')
    """

    def label(found: re.Match[str]) -> str:
        known = listed or "_" in found[0]
        return f"“{_LABELS[found[0]]}”" if known and found[0] in _LABELS else found[0]

    listed = _LISTED.fullmatch(text) is not None
    return _WORD.sub(label, _GIVEN.sub(lambda found: f"“{_LABELS.get(found[1], found[1])}”: ", text))


_ALSO = {f"{t.path}.{key.stem}": f"{t.path}.{key.name}" for t in PLAN_TABLES for key in t.keys if key.bare}
_LABELS = {
    name: BOOK_FIELDS[f"{table.path}.{key.name}"].label
    for table in reversed(PLAN_TABLES)
    for key in table.keys
    for name in key.names
}
_LISTED = re.compile(r"(?:one of )?[a-z_]+(?:, (?:or )?[a-z_]+)*(?: and [a-z_]+)?(?: together)?")
