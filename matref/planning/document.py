"""A plan file as read and checked: tables of values, every mistake told in one line with the path of its key."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from matref.errors import BadInput, FileTrouble, shown
from matref.planning import schema
from matref.planning.keys import Key, Length, Sizes
from matref.quantities import Size

Source = str | os.PathLike[str] | Mapping[str, Any]
_LARGEST_BYTES = 1_000_000
_LONGEST_LINE = 5000
_MOST_ROWS = 100


@dataclass(frozen=True, slots=True)
class Values:
    """The values of one table by the keys' usual names; a key that was left out is None."""

    path: str
    given: Mapping[str, Any] = field(default_factory=dict)

    def __contains__(self, name: object) -> bool:
        """Tell whether the key was given."""
        return name in self.given

    def text(self, name: str) -> str | None:
        """Return text."""
        value: str | None = self.given.get(name)
        return value

    def typed(self, name: str) -> str | None:
        """Return a quantity as typed, with its unit."""
        return self.text(name)

    def length(self, name: str) -> Length | None:
        """Return a length with its step."""
        value: Length | None = self.given.get(name)
        return value

    def mm(self, name: str) -> float | None:
        """Return a length, mm."""
        value = self.length(name)
        return None if value is None else value.mm

    def size(self, name: str) -> Size | None:
        """Return a size."""
        value: Size | None = self.given.get(name)
        return value

    def whole(self, name: str) -> int | None:
        """Return a count."""
        value: int | None = self.given.get(name)
        return value

    def number(self, name: str) -> float | None:
        """Return a number."""
        value: float | None = self.given.get(name)
        return value

    def flag(self, name: str, default: bool) -> bool:
        """Return a yes or no."""
        value: bool = self.given.get(name, default)
        return value


@dataclass(frozen=True, slots=True)
class Document:
    """A plan file: its tables, the rows of stock, and the candidates to compare, each a document of its own."""

    name: str
    book: Values
    paper: Values
    cover: Values
    sewing: Values
    stock: Values
    pieces: tuple[Values, ...] = ()
    shop: tuple[Values, ...] = ()
    candidates: tuple[Document, ...] = ()


def read_document(source: Source, sizes: Sizes | None = None) -> Document:
    """Read a plan from a TOML file or from a mapping of the same shape; `sizes` are the names of sheet sizes.

    >>> read_document({"book": {"page_width_in": 4}}).book.mm("page_width_mm")
    101.6
    """
    plain, name = (source, "plan") if isinstance(source, Mapping) else (load(source), Path(source).stem)
    return _document(plain, name, sizes)


def load(path: str | os.PathLike[str]) -> dict[str, Any]:
    """Return the plain content of a TOML file; BadInput in one line for what is not TOML."""
    import tomllib

    place = Path(path).expanduser()
    try:
        if place.stat().st_size > _LARGEST_BYTES:
            raise FileTrouble(f"{place} is too large for a plan", expected="a plan file of at most 1 MB")
        text = place.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise FileTrouble(
            f"{place} does not exist", expected="a plan file", example="matref plan --starter logbook.toml"
        ) from error
    except OSError as error:
        raise FileTrouble(f"{place} cannot be read: {error.strerror or error}", expected="a plan file") from error
    except UnicodeDecodeError as error:
        raise BadInput(f"{place} is not UTF-8 text", expected="a plan file in TOML") from error
    if any(len(line) > _LONGEST_LINE for line in text.splitlines()):  # a key of many dots takes the parser for ever
        raise BadInput(f"{place} has a line of more than {_LONGEST_LINE} characters", expected="a plan file in TOML")
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise BadInput(f"{place} is not TOML: {error}", expected="lines such as page_width_mm = 100") from error


def _document(plain: Mapping[str, Any], name: str, sizes: Sizes | None) -> Document:
    known = {table.path: table for table in schema.PLAN_TABLES}
    _refuse_unknown(plain, [*known, "compare"])
    found = {path: _values(table, plain.get(path, {}), path, sizes) for path, table in known.items()}
    stock = plain.get("stock", {})
    pieces = _rows(schema.PIECES, stock.get("pieces", []), "stock.pieces", sizes)
    shop = _rows(schema.SHOP, stock.get("shop", []), "stock.shop", sizes)
    candidates = tuple(
        _candidate(plain, row, number, sizes)
        for number, row in enumerate(_listed(plain.get("compare", []), "compare"), 1)
    )
    title = found["book"].text("title")
    return Document(title or name, **found, pieces=pieces, shop=shop, candidates=candidates)


def _candidate(plain: Mapping[str, Any], row: Mapping[str, Any], number: int, sizes: Sizes | None) -> Document:
    """A candidate is the plan with some of its tables changed."""
    path = f"compare.{number}"
    tables = [table.path for table in schema.PLAN_TABLES]
    _refuse_unknown({key: value for key, value in row.items() if key != "name"}, tables, path)
    name = _values(schema.COMPARE, {key: row[key] for key in row if key == "name"}, path, sizes).text("name")
    changed: dict[str, Any] = {key: value for key, value in plain.items() if key in tables}
    for table, given in row.items():
        if table == "name":
            continue
        _table(given, f"{path}.{table}")
        before = changed.get(table, {})
        changed[table] = given if table == "paper" else {**_without_twins(before, given, table), **given}
    if isinstance(changed.get("book"), Mapping):
        changed["book"] = {key: value for key, value in changed["book"].items() if key != "title"}
    try:
        return _document({**changed, "compare": []}, name or f"candidate {number}", sizes)
    except BadInput as error:
        raise BadInput(f"{path}: {error.wrong}", expected=error.expected, example=error.example) from error


def _without_twins(before: Mapping[str, Any], given: Mapping[str, Any], path: str) -> dict[str, Any]:
    """Drop what a candidate says anew under another name (page_width_in for page_width_mm; pages for sections)."""
    table = next(table for table in schema.PLAN_TABLES if table.path == path)
    keys = [key for name in given if isinstance(name, str) and (key := table.find(name))]
    gone = {name for key in keys for name in key.names}
    sizes = ("sections", "pages", "use")
    if path == "book" and any(name in given for name in sizes):
        gone |= set(sizes)
    return {name: value for name, value in before.items() if name not in gone}


def _rows(table: schema.Table, rows: object, path: str, sizes: Sizes | None) -> tuple[Values, ...]:
    return tuple(_values(table, row, f"{path}.{number}", sizes) for number, row in enumerate(_listed(rows, path), 1))


def _listed(rows: object, path: str) -> Sequence[Mapping[str, Any]]:
    if not isinstance(rows, Sequence) or isinstance(rows, str | bytes):
        raise BadInput(f"{path} is not a list of tables", expected=f"[[{path}]] before each of them")
    if len(rows) > _MOST_ROWS:
        raise BadInput(f"{path} has {len(rows)} tables", expected=f"at most {_MOST_ROWS}")
    return [_table(row, f"{path}.{number}") for number, row in enumerate(rows, 1)]


def _table(value: object, path: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadInput(f"{path} is not a table", expected=f"[{path}] with its keys below")
    return value


def _values(table: schema.Table, given: object, path: str, sizes: Sizes | None) -> Values:
    found: dict[str, Any] = {}
    names: dict[str, str] = {}
    for name, value in _table(given, path).items():
        if path == "stock" and name in ("pieces", "shop"):
            continue
        key = table.find(name) if isinstance(name, str) else None
        if key is None:
            raise _unknown(name, path, table)
        if key.name in found:
            raise BadInput(f"{path}.{name}: given already as {names[key.name]}", expected="one of the two")
        found[key.name], names[key.name] = key.read(name, value, path, sizes), name
    return Values(path, found)


def _refuse_unknown(plain: Mapping[str, Any], known: Sequence[str], path: str = "") -> None:
    for name, value in plain.items():
        if name in known:
            continue
        where = f"{path}.{_shown(name)}" if path else _shown(name)
        for table in schema.PLAN_TABLES:
            if isinstance(name, str) and not isinstance(value, Mapping) and table.find(name):
                raise BadInput(f"{where}: this key belongs in [{table.path}]", expected=f"it below [{table.path}]")
        raise BadInput(
            f"{where}: no such table{_near(name, known)}", expected=", ".join(f"[{table}]" for table in known)
        )


def _unknown(name: object, path: str, table: schema.Table) -> BadInput:
    where = f"{path}.{_shown(name)}"
    near = _near(name, table.names)
    if not near:
        for other in schema.PLAN_TABLES:
            if isinstance(name, str) and other is not table and other.find(name):
                return BadInput(f"{where}: this key belongs in [{other.path}]", expected=f"it below [{other.path}]")
    example = next(
        (f"{key.name} = {key.example}" for key in table.keys if near and any(n in near for n in key.names)), ""
    )
    return BadInput(
        f"{where}: no such key{near}", expected="" if near else f"one of {_usual(table.keys)}", example=example
    )


def _usual(keys: Sequence[Key]) -> str:
    return ", ".join(key.name for key in keys)


def _near(name: object, known: Sequence[str]) -> str:
    found = get_close_matches(name, known, 1, 0.6) if isinstance(name, str) else []
    return f", the nearest is {found[0]}" if found else ""


def _shown(name: object) -> str:
    return shown(name if isinstance(name, str) else repr(name))
