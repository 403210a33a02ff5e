"""Sizes of sheets and pieces: two lengths, or a name."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from matref.quantities.typed import Asked, Typed, add_parts, as_text, plain_name, scan_parts, tidy
from matref.quantities.units import LENGTH_MM

_CROSS: Final = re.compile(r" ?(?:x|\*|\bby\b) ?", re.ASCII)
_SMALL_MM: Final = 50.0


@dataclass(frozen=True, slots=True)
class Size:
    """A width and a height in mm, in the order typed.

    `resolution_mm` is the finer of the two steps in which the sides were written (one rule measured both); 0 for
    a name, which is nominal: the tolerance of its standard is another matter. `name` is '' for measured sizes.
    """

    width_mm: float
    height_mm: float
    as_typed: str
    resolution_mm: float
    name: str = ""

    @property
    def area_m2(self) -> float:
        """Area in m²."""
        return self.width_mm * self.height_mm / 1e6


def parse_size(
    typed: Typed,
    sizes: Mapping[str, tuple[float, float]] | None = None,
    *,
    default_unit: str = "mm",
    what: str = "size",
) -> Size:
    """Read a size: '210 x 297 mm', '210×297', '8 1/2 x 11 in', or a name in `sizes` (name: width, height in mm).

    A unit given once holds for both sides. Capitals do not matter in names. Without any unit, a size whose
    sides are both below 50 is refused when the default is mm, for '8.5 x 11' is hardly ever meant in mm.

    >>> parse_size("8 1/2 x 11 in")
    Size(width_mm=215.9, height_mm=279.4, as_typed='8 1/2 x 11 in', resolution_mm=12.7, name='')
    >>> parse_size("a5", {"A5": (148, 210)}).name
    'A5'
    """
    asked = Asked(what, as_text(typed), "a width x a height with a unit, or a sheet-size name", "210 x 297 mm")
    text = tidy(asked)
    names = {text: text} if sizes and text in sizes else {plain_name(name): name for name in sizes or {}}
    if sizes and text in names:
        width, height = sizes[names[text]]
        return Size(float(width), float(height), asked.typed, 0.0, names[text])
    sides = _CROSS.split(text)
    if len(sides) != 2 or not all(sides):
        raise asked.refuse(_nearest(text, names) or "this is not a width and a height")
    parts = [scan_parts(side, asked) for side in sides]
    units = [side[-1][1] for side in parts]
    given = units[1] or units[0]
    pair = [add_parts(side, LENGTH_MM, given or default_unit, asked) for side in parts]
    for side in pair:
        asked.within(side, 1, 1e6, "mm")
    if not given and default_unit == "mm" and max(side.value for side in pair) < _SMALL_MM:
        raise asked.refuse("no unit, and very small in mm; say in, cm or mm")
    resolution = min(side.resolution for side in pair)
    return Size(pair[0].value, pair[1].value, asked.typed, resolution)


def _nearest(text: str, names: Mapping[str, str]) -> str:
    """Say which known names are spelled most like a mistyped one; '' if no name was meant."""
    if not text[0].isalpha():
        return ""
    from difflib import get_close_matches  # only a mistake pays for the import

    near = [names[name] for name in get_close_matches(text, names, n=3)]
    return "no such size name" + (f"; nearest: {', '.join(near)}" if near else "")
