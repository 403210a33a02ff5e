"""Widths of text in the typeface that the drawings are laid out for: its TrueType files lie in `fonts`.

Only what a layout needs is read, from the tables `head`, `hhea`, `hmtx` and `cmap` (format 4) of ISO/IEC 14496-22.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

REGULAR, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"
CAPITAL = 0.729
"""Height of capitals and figures as a share of the size."""
DESCENT = 0.236
"""How far letters such as g reach below the line, as a share of the size."""


def font_bytes(name: str) -> bytes:
    """Return the TrueType file of a typeface, `REGULAR` or `BOLD`."""
    return (files("matref.bench") / "fonts" / f"{name}.ttf").read_bytes()


def text_width_mm(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Return the width of a line of text, mm, set in a size of `size_mm`; characters unknown count as a box.

    >>> round(text_width_mm("100", 2.5), 2)
    4.29
    """
    widths = _widths(BOLD if bold else REGULAR)
    return size_mm * sum(widths.get(ord(letter), widths[-1]) for letter in text)


def shortened(text: str, room_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """Return the text cut to the width there is, with an ellipsis where something is left out.

    >>> shortened("page and overhang", 12, 2.5)
    'page an…'
    """
    if text_width_mm(text, size_mm, bold=bold) <= room_mm:
        return text
    while text and text_width_mm(text.rstrip() + "…", size_mm, bold=bold) > room_mm:
        text = text[:-1]
    return text.rstrip() + "…" if text else ""


def wrapped(text: str, room_mm: float, size_mm: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines no wider than the room; a single word that is wider is cut short.

    >>> wrapped("cut for the high end of the spine", 30, 2.5)
    ['cut for the high end of the', 'spine']
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size_mm, bold=bold) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(shortened(word, room_mm, size_mm, bold=bold))
    return lines


@cache
def _widths(name: str) -> Mapping[int, float]:
    """Return code point to advance width as a share of the size; -1 stands for what the font lacks."""
    font = font_bytes(name)
    tables = {}
    for entry in range(_u16(font, 4)):
        tag, _, offset, _ = struct.unpack_from(">4sLLL", font, 12 + 16 * entry)
        tables[tag] = offset
    per_em = _u16(font, tables[b"head"] + 18)
    full = _u16(font, tables[b"hhea"] + 34)

    def advance(glyph: int) -> float:
        at = tables[b"hmtx"] + 4 * min(glyph, full - 1)
        return _u16(font, at) / per_em

    return {-1: advance(0), **{code: advance(glyph) for code, glyph in _glyphs(font, tables[b"cmap"]).items()}}


def _glyphs(font: bytes, cmap: int) -> dict[int, int]:
    """Return code point to glyph from the first subtable of format 4."""
    offsets = [struct.unpack_from(">HHL", font, cmap + 4 + 8 * i)[2] for i in range(_u16(font, cmap + 2))]
    at = next(cmap + offset for offset in offsets if _u16(font, cmap + offset) == 4)
    count = _u16(font, at + 6) // 2
    ends, starts = at + 14, at + 16 + 2 * count
    deltas, ranges = starts + 2 * count, starts + 4 * count
    found = {}
    for segment in range(count):
        first, last = _u16(font, starts + 2 * segment), _u16(font, ends + 2 * segment)
        delta, far = _u16(font, deltas + 2 * segment), _u16(font, ranges + 2 * segment)
        for code in range(first, min(last, 0xFFFE) + 1):
            glyph = code if far == 0 else _u16(font, ranges + 2 * segment + far + 2 * (code - first))
            if glyph:
                found[code] = (glyph + delta) & 0xFFFF
    return found


def _u16(font: bytes, at: int) -> int:
    number: int = struct.unpack_from(">H", font, at)[0]
    return number
