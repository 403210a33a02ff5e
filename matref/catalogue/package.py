"""The packaged data: a Frictionless Data Package of CSV tables, read without any library.

`datapackage.json` (the Data Package standard, version 1) names every table, its columns with type and unit,
and its control totals: bytes, SHA-256 and rows, which `matref.catalogue.seal` writes.
"""

from __future__ import annotations

import csv
import json
import re
from binascii import crc32
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from matref.errors import FileTrouble

Value = str | int | float | None
"""One typed cell; an empty cell is None."""

SEAL_COMMAND = "python -m matref.catalogue.seal"
_IDENTIFIER = re.compile(r"[a-z][a-z0-9_]*")
_TYPES = ("string", "integer", "number", "boolean", "year")


class Field(NamedTuple):
    """One column: its Frictionless type, its unit ('' where it has none) and what it may hold."""

    name: str
    type: str
    title: str
    description: str
    unit: str = ""
    required: bool = False
    unique: bool = False
    minimum: float | None = None
    maximum: float | None = None
    enum: tuple[Value, ...] = ()

    def read(self, text: str) -> Value:
        """Return the cell's text as this column's type; raise ValueError when it does not fit.

        >>> weight = Field("grammage_gsm", "number", "grammage", "mass of a square metre", "g/m2")
        >>> weight.read("80"), weight.read("")
        (80.0, None)
        """
        if text == "":
            return None
        if self.type == "number":
            return float(text)
        if self.type in ("integer", "year"):
            return int(text)
        if self.type == "boolean":
            if text not in ("0", "1"):
                raise ValueError(f"{text!r} is neither 0 nor 1")
            return int(text)
        return text


class ForeignKey(NamedTuple):
    """Columns of a table that point to columns of another one."""

    columns: tuple[str, ...]
    table: str
    references: tuple[str, ...]


class Table(NamedTuple):
    """One resource of the package: a CSV file and what its columns mean."""

    name: str
    path: Path
    title: str
    description: str
    fields: tuple[Field, ...]
    primary_key: tuple[str, ...]
    foreign_keys: tuple[ForeignKey, ...]
    bytes: int
    hash: str
    row_count: int

    def has(self, column: str) -> bool:
        """Tell whether the table has that column."""
        return any(field.name == column for field in self.fields)

    def rows(self) -> Iterator[dict[str, Value]]:
        """Yield the rows of the CSV file, each cell typed by its column."""
        with self.path.open(encoding="utf-8", newline="") as file:
            reader = csv.reader(file, strict=True)
            header = next(reader, [])
            if header != [field.name for field in self.fields]:
                raise _trouble(self.path, "its columns are not those that datapackage.json lists, in that order")
            for cells in reader:
                if len(cells) != len(self.fields):
                    raise _trouble(self.path, f"line {reader.line_num} has {len(cells)} cells")
                yield {
                    field.name: self._cell(field, text, reader.line_num)
                    for field, text in zip(self.fields, cells, strict=True)
                }

    def _cell(self, field: Field, text: str, line: int) -> Value:
        try:
            return field.read(text)
        except ValueError as error:
            raise _trouble(self.path, f"line {line}, {field.name}: {error}") from error


class Package(NamedTuple):
    """The whole data package: edition, licence and tables in their order."""

    folder: Path
    edition: str
    licence: str
    tables: tuple[Table, ...]

    def table(self, name: str) -> Table:
        """Return the table of that name."""
        for table in self.tables:
            if table.name == name:
                return table
        raise _trouble(self.folder / "datapackage.json", f"it lists no table {name!r}")

    def verify(self) -> None:
        """Compare every file with the sealed size and hash; raise FileTrouble at the first that differs."""
        for table in self.tables:
            size, digest = fingerprint(table.path)
            if (size, digest) != (table.bytes, table.hash):
                raise _trouble(table.path, f"it differs from its entry in datapackage.json ({SEAL_COMMAND})")


def data_folder() -> Path:
    """Return the folder of the data: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "data"
    return installed if installed.is_dir() else package.parent / "data"


def read_package(folder: Path | None = None) -> Package:
    """Read the description of the data in `folder` (None: the packaged data); no table is read yet."""
    folder = folder or data_folder()
    descriptor = read_descriptor(folder)
    try:
        return Package(
            folder=folder,
            edition=_edition_of(descriptor),
            licence=", ".join(licence["name"] for licence in descriptor["licenses"]),
            tables=tuple(_table(folder, resource) for resource in descriptor["resources"]),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise _trouble(folder / "datapackage.json", f"{type(error).__name__} {error}") from error


def edition(folder: Path | None = None) -> str:
    """Return the edition of the data: its version and a short digest of the sealed hashes, '0.1.0+1a2b3c4d'.

    Only `datapackage.json` is read, so that opening a current file costs a millisecond or two.
    """
    folder = folder or data_folder()
    try:
        return _edition_of(read_descriptor(folder))
    except KeyError as error:
        raise _trouble(folder / "datapackage.json", f"it has no {error} ({SEAL_COMMAND})") from error


def read_descriptor(folder: Path) -> dict[str, Any]:
    """Return `datapackage.json` of `folder` as it stands."""
    path = folder / "datapackage.json"
    try:
        descriptor = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise _trouble(path, str(error)) from error
    if not isinstance(descriptor, dict):
        raise _trouble(path, "it is not a JSON object")
    return descriptor


def fingerprint(path: Path) -> tuple[int, str]:
    """Return the size in bytes and the hash of a file in the Data Package's notation, 'sha256:...'."""
    import hashlib

    try:
        content = path.read_bytes()
    except OSError as error:
        raise _trouble(path, str(error)) from error
    return len(content), "sha256:" + hashlib.sha256(content).hexdigest()


def _edition_of(descriptor: dict[str, Any]) -> str:
    # A CRC of the SHA-256 sums tells editions apart as well as eight digits can, and spares every start OpenSSL.
    lines = sorted(f"{resource['name']} {resource['hash']}\n" for resource in descriptor["resources"])
    return f"{descriptor['version']}+{crc32(''.join(lines).encode()):08x}"


def _table(folder: Path, resource: dict[str, Any]) -> Table:
    schema = resource["schema"]
    return Table(
        name=_identifier(resource["name"]),
        path=folder / resource["path"],
        title=resource["title"],
        description=resource["description"],
        fields=tuple(_field(field) for field in schema["fields"]),
        primary_key=_names(schema["primaryKey"]),
        foreign_keys=tuple(
            ForeignKey(
                _names(key["fields"]),
                _identifier(key["reference"]["resource"]),
                _names(key["reference"]["fields"]),
            )
            for key in schema.get("foreignKeys", [])
        ),
        bytes=resource["bytes"],
        hash=resource["hash"],
        row_count=resource["rows"],
    )


def _field(field: dict[str, Any]) -> Field:
    limits = field.get("constraints", {})
    if field["type"] not in _TYPES:
        raise ValueError(f"{field['name']}: type {field['type']!r} is not one of {', '.join(_TYPES)}")
    return Field(
        name=_identifier(field["name"]),
        type=field["type"],
        title=field["title"],
        description=field["description"],
        unit=field.get("unit", ""),
        required=limits.get("required", False),
        unique=limits.get("unique", False),
        minimum=limits.get("minimum"),
        maximum=limits.get("maximum"),
        enum=tuple(limits.get("enum", ())),
    )


def _names(value: str | list[str]) -> tuple[str, ...]:
    return tuple(_identifier(name) for name in ([value] if isinstance(value, str) else value))


def _identifier(name: str) -> str:
    if not _IDENTIFIER.fullmatch(name):
        raise ValueError(f"{name!r} is not a plain lower-case name")
    return name


def _trouble(path: Path, wrong: str) -> FileTrouble:
    return FileTrouble(f"data file {path.name}: {wrong}")
