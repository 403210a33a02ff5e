"""The rows that a damaged SQLite file still holds, read page by page from its bytes.

SQLite itself refuses a file with a broken header or a page missing; here every page is looked at for what it is. The
format is the published one (SQLite file format, sqlite.org/fileformat2.html); section numbers below are that page's.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field

Value = None | int | float | str | bytes
Cells = tuple[Value, ...]

_PAGE_SIZES = [2**power for power in range(9, 17)]
_USUAL_SIZE = 4096
_LEAF_TABLE, _INNER_TABLE, _LEAF_INDEX, _INNER_INDEX = 13, 5, 10, 2
_LARGEST_ROW = 64 << 20
_HEADER, _FRAME = 32, 24  # bytes before the frames of a log, and before the page in each


class Unreadable(ValueError):
    """A page or a row is not what the format says it should be."""


@dataclass(slots=True)
class Pages:
    """The pages of a file, numbered from 1; those that its write-ahead log holds stand before the older ones.

    `lost` are the pages that rows were looked for on and that cannot be read; `torn` counts single rows.
    """

    content: bytes
    log: bytes = b""
    size: int = field(init=False)
    usable: int = field(init=False)
    newer: dict[int, bytes] = field(init=False)
    lost: set[int] = field(init=False, default_factory=set)
    seen: set[int] = field(init=False, default_factory=set)
    torn: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        """Read the size of a page from the header; the usual one where that is damaged."""
        size = int.from_bytes(self.content[16:18], "big")
        size = 65536 if size == 1 else size
        self.size = size if size in _PAGE_SIZES else _USUAL_SIZE
        kept_back = self.content[20] if len(self.content) > 20 else 0
        self.usable = self.size - kept_back if self.size - kept_back >= 480 else self.size
        self.newer = log_pages(self.log, self.size)

    @property
    def count(self) -> int:
        """How many pages there are, a last one cut short included."""
        return max(-(-len(self.content) // self.size), max(self.newer, default=0))

    def header_number(self, offset: int) -> int:
        """Return a four-byte number of the file's header (1.3)."""
        return int.from_bytes(self.page(1)[offset : offset + 4], "big")

    def page(self, number: int) -> bytes:
        """Return a page; Unreadable where the file ends before it does."""
        page = self.newer.get(number) or self.content[(number - 1) * self.size : number * self.size]
        if number < 1 or len(page) < self.size:
            raise Unreadable(f"page {number} is missing")
        return page

    def rows(self, root: int) -> Iterator[Cells]:
        """Return the rows of the table whose first page is `root`, passing over what cannot be read."""
        ahead = [root]
        while ahead:
            number = ahead.pop()
            if number in self.seen:
                continue
            self.seen.add(number)
            try:
                below, found = self._open(number)
            except (Unreadable, IndexError, struct.error):
                self.lost.add(number)
                continue
            ahead += reversed(below)
            yield from found

    def loose(self) -> Iterator[Cells]:
        """Return the rows of pages that no table led to: what is above them is damaged, or they were given up."""
        torn = self.torn  # what looks like a row here may never have been one
        for number in range(1, self.count + 1):
            if number not in self.seen:
                try:
                    yield from self._open(number)[1]
                except (Unreadable, IndexError, struct.error):
                    continue
        self.torn = torn

    def _open(self, number: int) -> tuple[list[int], list[Cells]]:
        """Return the pages that a page points to, and the rows that it holds itself (1.6)."""
        page = self.page(number)
        start = 100 if number == 1 else 0
        kind = page[start]
        if kind not in (_LEAF_TABLE, _INNER_TABLE, _LEAF_INDEX, _INNER_INDEX):
            raise Unreadable(f"page {number} is none of a table")
        inner = kind in (_INNER_TABLE, _INNER_INDEX)
        cells = int.from_bytes(page[start + 3 : start + 5], "big")
        first = start + (12 if inner else 8)
        if first + 2 * cells > self.usable:
            raise Unreadable(f"page {number} cannot hold {cells} rows")
        below, rows = [], []
        for i in range(cells):
            place = int.from_bytes(page[first + 2 * i : first + 2 * i + 2], "big")
            if inner:
                below.append(int.from_bytes(page[place : place + 4], "big"))
                place += 4
            if kind != _INNER_TABLE:
                try:
                    rows.append(self._row(page, place, kind == _LEAF_TABLE))
                except (Unreadable, IndexError, struct.error, UnicodeDecodeError):
                    self.torn += 1
        if inner:
            below.append(int.from_bytes(page[start + 8 : start + 12], "big"))
        return below, rows

    def _row(self, page: bytes, place: int, of_table: bool) -> Cells:
        length, place = varint(page, place)
        if of_table:
            _, place = varint(page, place)
        most = self.usable - 35 if of_table else (self.usable - 12) * 64 // 255 - 23
        if length > _LARGEST_ROW:
            raise Unreadable("a row of absurd length")
        if length <= most:
            payload = page[place : place + length]
        else:
            least = (self.usable - 12) * 32 // 255 - 23
            here = least + (length - least) % (self.usable - 4)
            here = here if here <= most else least
            payload = page[place : place + here] + self._overflow(page[place + here : place + here + 4], length - here)
        if len(payload) < length:
            raise Unreadable("a row beyond the end of its page")
        return record(payload)

    def _overflow(self, pointer: bytes, length: int) -> bytes:
        parts, found, number = [], 0, int.from_bytes(pointer, "big")
        while found < length:
            page = self.page(number)
            self.seen.add(number)
            part = page[4 : min(self.usable, 4 + length - found)]
            parts.append(part)
            found += len(part)
            number = int.from_bytes(page[:4], "big")
        return b"".join(parts)


def log_pages(log: bytes, size: int) -> dict[int, bytes]:
    """Return the pages of a write-ahead log that were committed and are whole (4.1 to 4.4)."""
    if len(log) < _HEADER or log[:4] not in (b"\x37\x7f\x06\x82", b"\x37\x7f\x06\x83"):
        return {}
    order = ">" if log[3] == 0x83 else "<"
    salts = log[16:24]
    sums = _checksum(log[:24], order, (0, 0))
    if int.from_bytes(log[8:12], "big") != size or struct.unpack(">II", log[24:32]) != sums:
        return {}
    kept: dict[int, bytes] = {}
    waiting: dict[int, bytes] = {}
    for start in range(_HEADER, len(log) - _FRAME - size + 1, _FRAME + size):
        head, page = log[start : start + _FRAME], log[start + _FRAME : start + _FRAME + size]
        sums = _checksum(page, order, _checksum(head[:8], order, sums))
        if head[8:16] != salts or struct.unpack(">II", head[16:24]) != sums:
            break
        waiting[int.from_bytes(head[:4], "big")] = page
        if int.from_bytes(head[4:8], "big"):
            kept |= waiting
            waiting = {}
    return kept


def _checksum(data: bytes, order: str, sums: tuple[int, int]) -> tuple[int, int]:
    one, two = sums
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for i in range(0, len(words), 2):
        one = (one + words[i] + two) & 0xFFFFFFFF
        two = (two + words[i + 1] + one) & 0xFFFFFFFF
    return one, two


def varint(data: bytes, place: int) -> tuple[int, int]:
    """Return a variable-length number and where it ends (1.6).

    >>> varint(bytes([0x81, 0x00]), 0)
    (128, 2)
    """
    value = 0
    for i in range(8):
        byte = data[place + i]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, place + i + 1
    return value << 8 | data[place + 8], place + 9


def record(payload: bytes) -> Cells:
    """Return the values of a row (2.1); Unreadable where its parts do not add up.

    >>> record(bytes([3, 1, 17, 42]) + b"hi")
    (42, 'hi')
    """
    end, place = varint(payload, 0)
    if not place <= end <= len(payload):
        raise Unreadable("a row whose heading does not fit")
    values: list[Value] = []
    body = end
    while place < end:
        kind, place = varint(payload, place)
        length = (0, 1, 2, 3, 4, 6, 8, 8, 0, 0, 0, 0)[kind] if kind < 12 else (kind - 12) // 2
        part = payload[body : body + length]
        if len(part) < length or kind in (10, 11):
            raise Unreadable("a row whose values do not fit")
        body += length
        values.append(_value(kind, part))
    if place != end or body != len(payload):
        raise Unreadable("a row that is longer than its values")
    return tuple(values)


def _value(kind: int, part: bytes) -> Value:
    if kind == 0:
        return None
    if kind in (8, 9):
        return kind - 8
    if kind == 7:
        number: float = struct.unpack(">d", part)[0]
        return number
    if kind < 7:
        return int.from_bytes(part, "big", signed=True)
    return part.decode("utf-8") if kind % 2 else part
