"""Tables in text files as spreadsheets write them: encoding and separator found out, rows streamed with line numbers.

Encodings: UTF-8 with or without a byte-order mark, UTF-16 with one, else Windows-1252, which is said. Separators:
comma, semicolon, tab, whichever splits the heading most. Quoting as in RFC 4180.
"""

from __future__ import annotations

import codecs
import csv
import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from tempfile import SpooledTemporaryFile
from typing import BinaryIO

from matref.database import one_line_errors
from matref.errors import BadInput

MOST_BYTES = 100_000_000
MOST_COLUMNS = 500
_LONGEST_LINE = 1_000_000
_MOST_LINES = 3_000_000
_CHUNK = 1 << 20
_IN_MEMORY = 4 << 20
_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the line it begins on and its cells; `trouble` says why the table cannot be read beyond it."""

    line: int
    cells: tuple[str, ...]
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """An open table: encoding, name of the separator, the heading's cells, and the rows that are not blank."""

    encoding: str
    separator: str
    heading: tuple[str, ...]
    rows: Iterator[Row]


@contextmanager
def open_table(source: str | os.PathLike[str] | BinaryIO) -> Iterator[Table]:
    """Open a table given by path or as an open binary file; BadInput for what is no table of text.

    The content is copied aside as it is read, at most 100 MB, so that a pipe will do and nothing changes meanwhile.
    """
    with SpooledTemporaryFile(max_size=_IN_MEMORY) as copy:
        if isinstance(source, (str, os.PathLike)):
            with one_line_errors(os.fspath(source)), open(source, "rb") as file:
                encoding = _copy(file, copy)
        else:
            encoding = _copy(source, copy)
        copy.seek(0)
        text = io.TextIOWrapper(copy, encoding=encoding, newline="")
        try:
            yield _table(text, encoding)
        finally:
            text.detach()


def _copy(source: BinaryIO, copy: SpooledTemporaryFile[bytes]) -> str:
    """Copy the bytes, and return the encoding that all of them are good in."""
    size, encoding = 0, ""
    decoders: dict[str, codecs.IncrementalDecoder] = {}
    chunk = source.read(_CHUNK)
    encoding = next((name for mark, name in _MARKS if chunk.startswith(mark)), "")
    for name in (encoding,) if encoding else ("utf-8", "cp1252"):
        decoders[name] = codecs.getincrementaldecoder(name)()
    while True:
        size += len(chunk)
        if size > MOST_BYTES:
            raise BadInput("the table is larger than 100 MB", expected="a table of samples")
        for name, decoder in list(decoders.items()):
            try:
                decoder.decode(chunk, final=not chunk)
            except UnicodeDecodeError:
                del decoders[name]
        if not decoders:
            raise BadInput("the file is not text in an encoding known here", expected="UTF-8, UTF-16 or Windows-1252")
        if not chunk:
            return next(iter(decoders))
        copy.write(chunk)
        chunk = source.read(_CHUNK)


def _table(text: io.TextIOWrapper, encoding: str) -> Table:
    lines = _Lines(text)
    first = next((line for line in lines if line.strip(",;\t \r\n")), "")
    if not first:
        raise BadInput("the table is empty", expected="a heading and at least one row")
    separator = max(_SEPARATORS, key=lambda mark: len(_split(first, mark)))
    before = lines.number - 1
    reader = csv.reader(chain([first], lines), delimiter=separator, strict=True)
    try:
        heading = tuple(next(reader))
    except csv.Error as error:
        raise BadInput(f"line {before + 1}: the heading cannot be read: {error}") from error
    if len(heading) > MOST_COLUMNS:
        raise BadInput(f"the table has {len(heading)} columns", expected=f"{MOST_COLUMNS} at most")
    name = {"utf-8-sig": "UTF-8", "utf-8": "UTF-8", "utf-16": "UTF-16", "cp1252": "Windows-1252"}[encoding]
    return Table(name, _SEPARATORS[separator], heading, _rows(reader, before))


def _rows(reader: Iterator[list[str]], before: int) -> Iterator[Row]:
    begins = before + reader.line_num + 1  # type: ignore[attr-defined]
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except (csv.Error, BadInput) as error:
            wrong = error.wrong if isinstance(error, BadInput) else str(error)
            yield Row(begins, (), f"the table cannot be read from here on: {wrong}")
            return
        if any(cell.strip() for cell in cells):
            yield Row(begins, tuple(cells))
        begins = before + reader.line_num + 1  # type: ignore[attr-defined]


class _Lines:
    """The lines of a text with their ends; refuses binary content and lines without end."""

    def __init__(self, text: io.TextIOWrapper) -> None:
        self._text = text
        self.number = 0

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = self._text.readline(_LONGEST_LINE)
        if not line:
            raise StopIteration
        self.number += 1
        if self.number > _MOST_LINES:
            raise BadInput(f"the table has more than {_MOST_LINES} lines", expected="one row for each sample")
        if "\0" in line:
            raise BadInput(f"line {self.number} holds a NUL character: this is not text", expected="a table of text")
        if len(line) == _LONGEST_LINE and not line.endswith(("\n", "\r")):
            raise BadInput(f"line {self.number} is longer than a million characters", expected="one row a line")
        return line


def _split(line: str, separator: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=separator))
    except csv.Error:
        return []
