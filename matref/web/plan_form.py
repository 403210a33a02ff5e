"""The form of a plan: one field for each key of a plan file, named `table.key`, made from the planner's own schema."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from matref.errors import BadInput
from matref.planning.keys import Key
from matref.planning.schema import PLAN_TABLES, Table

MORE = "more"
"""The field for what has no field of its own: tables as in a plan file."""
CANDIDATES = 3
"""How many other papers or threads can be set beside the plan."""

_BESIDE = ("name", "class", "grammage_gsm", "caliper_um", "thread")
_FIRST: Mapping[str, tuple[str, ...]] = {
    "book": ("structure", "page_width", "page_height", "sections", "pages", "sheets_per_section", "title"),
    "paper": ("class", "grammage", "sample", "caliper", "size", "sheets", "mass", "stack_sheets", "stack", "leaves"),
    "cover": ("cloth_mm", "card_mm", "board_mm", "square", "turn_in"),
    "sewing": ("by", "thread", "needle", "machine_limit"),
    "stock": (),
}
TITLES = {"book": "The book", "paper": "Its paper", "cover": "Its cover", "sewing": "Sewing", "stock": "Shelf"}
_BARE = re.compile(r"[\d\s.,/⁄½¼¾⅛⅜⅝⅞-]+")
_BARE_SIZE = re.compile(r"[\d\s.,/⁄½¼¾⅛⅜⅝⅞x×*-]+", re.IGNORECASE)
_PATH = re.compile(r"^(book|paper|cover|sewing|stock)(?:\.|: )([a-z_]+)")
_LONGEST_MORE = 20_000


@dataclass(frozen=True, slots=True)
class PlanField:
    """A field: its name, its label, what happens without it, its choices."""

    name: str
    label: str
    hint: str
    choices: tuple[str, ...] = ()
    numeric: bool = False
    wanted: bool = False


@dataclass(slots=True)
class PlanForm:
    """A plan as filled in, and what is wrong with it."""

    typed: dict[str, str]
    units: str
    errors: dict[str, str] = field(default_factory=dict)
    general: str = ""

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
            table, _, key_name = name.partition(".")
            if not text or table not in _FIRST:
                continue
            key, value = self._value(table, key_name, text)
            plan.setdefault(table, {})
            if not isinstance(plan[table], dict):
                raise BadInput(f"{table} is no table", expected=f"[{table}]")
            plan[table][key] = value
        beside = list(self._candidates())
        if beside:
            plan["compare"] = [*plan.get("compare", []), *beside]
        return plan

    def blame(self, error: BadInput) -> None:
        """Put an error beside the field whose key it names, else at the top."""
        found = _PATH.search(error.wrong)
        key = found and _TABLES[found[1]].find(found[2])
        words = str(error) if not error.expected else f"{error.wrong}; expected {error.expected}"
        if found and key:
            self.errors[f"{found[1]}.{key.name}"] = words.removeprefix(found[0]).lstrip(": ")
        else:
            self.general = words

    def _value(self, table: str, name: str, text: str) -> tuple[str, str]:
        key = _TABLES[table].find(name)
        if key is None:
            near = get_close_matches(name, _TABLES[table].names, 1) or [_TABLES[table].names[0]]
            raise BadInput(f"{table} has no key {name[:40]}", expected=f"one such as {near[0]}")
        if self.units == "in":
            if key.kind in ("length", "measure") and _BARE.fullmatch(text):
                return name, f"{text} in"
            if key.kind == "size" and _BARE_SIZE.fullmatch(text):
                return name, f"{text} in"
        return name, text

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
    for name, values in fields.items():
        text = next((v.strip() for v in reversed(values) if v.strip()), "")
        if name == MORE or name.startswith("beside.") or ("." in name and name.partition(".")[0] in _FIRST):
            typed[name] = text
        elif strict and name != "units" and not name.startswith("_"):
            raise BadInput(
                f"no field called {name[:40]}", expected="table.key as in a plan file", example="book.page_width_mm"
            )
    return PlanForm(typed, units)


def shown_fields() -> dict[str, tuple[list[PlanField], list[PlanField]]]:
    """Return table to the fields shown at once and those shown when asked for."""
    found = {}
    for table in PLAN_TABLES:
        first = [key for stem in _FIRST[table.path] for key in table.keys if stem in (key.stem, key.name)]
        rest = [key for key in table.keys if key not in first]
        found[table.path] = ([_field(table, k) for k in first], [_field(table, k) for k in rest])
    return found


def _field(table: Table, key: Key) -> PlanField:
    choices = ("yes", "no") if key.kind == "flag" else key.choices
    wanted = key.default == "must be given"
    hint = "" if wanted or key.default == "none" else f"Left empty: {key.default}."
    label = key.meaning[:1].upper() + key.meaning[1:]
    numeric = key.kind in ("count", "number")
    return PlanField(f"{table.path}.{key.name}", label, hint, choices, numeric, wanted)


_TABLES = {table.path: table for table in PLAN_TABLES}
