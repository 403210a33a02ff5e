"""The marks of a drawing: lines, arcs and texts in millimetres on the paper, y downward; two renderers share them.

Line types after ISO 128-2: wide for what is cut, narrow for folds and for dimension and extension lines, dashed for
sewing, chain for centre lines, double-dotted for things that lie beside or behind.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from matref.bench.typeface import CAPITAL, DESCENT, text_width_mm

Style = Literal["wide", "narrow", "dashed", "chain", "double-dotted"]
Anchor = Literal["start", "middle", "end"]
WIDE_MM, NARROW_MM = 0.5, 0.18
WIDTHS: dict[Style, float] = {
    "wide": WIDE_MM,
    "narrow": NARROW_MM,
    "dashed": 0.25,
    "chain": NARROW_MM,
    "double-dotted": NARROW_MM,
}
DASHES: dict[Style, tuple[float, ...]] = {
    "wide": (),
    "narrow": (),
    "dashed": (1.6, 0.9),
    "chain": (5.0, 0.8, 0.4, 0.8),
    "double-dotted": (4.0, 0.7, 0.4, 0.7, 0.4, 0.7),
}
"""Lengths of strokes and gaps, mm."""
TEXT_MM, SMALL_MM = 2.6, 2.2


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, mm: left, top, right, bottom."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Width, mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height, mm."""
        return self.bottom - self.top

    def overlaps(self, other: Box, by_mm: float = 0.0) -> bool:
        """Tell whether two boxes share an area, more than `by_mm` deep both ways."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > by_mm
            and min(self.bottom, other.bottom) - max(self.top, other.top) > by_mm
        )


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    style: Style = "narrow"

    @property
    def box(self) -> Box:
        """The rectangle round it."""
        return Box(min(self.x1, self.x2), min(self.y1, self.y2), max(self.x1, self.x2), max(self.y1, self.y2))


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight lines from point to point, closed or filled on wish (white hides what was drawn before)."""

    points: tuple[tuple[float, float], ...]
    style: Style = "narrow"
    closed: bool = False
    fill: Literal["", "black", "white"] = ""

    @property
    def box(self) -> Box:
        """The rectangle round it."""
        across, down = zip(*self.points, strict=True)
        return Box(min(across), min(down), max(across), max(down))


@dataclass(frozen=True, slots=True)
class Arc:
    """A part of a circle from `start_deg` to `end_deg`, clockwise on the page, 0 to the right."""

    x: float
    y: float
    radius: float
    start_deg: float
    end_deg: float
    style: Style = "narrow"

    def point(self, degrees: float) -> tuple[float, float]:
        """Return the point of the circle at an angle."""
        turn = math.radians(degrees)
        return self.x + self.radius * math.cos(turn), self.y + self.radius * math.sin(turn)

    @property
    def box(self) -> Box:
        """The rectangle round it."""
        turns = [self.start_deg, self.end_deg]
        turns += [90.0 * n for n in range(-8, 9) if self.start_deg < 90 * n < self.end_deg]
        return Polyline(tuple(self.point(turn) for turn in turns)).box


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text on its base line; upright ones are read from the right-hand side, as ISO 129 has it."""

    x: float
    y: float
    text: str
    size_mm: float = TEXT_MM
    anchor: Anchor = "middle"
    upright: bool = False
    bold: bool = False

    @property
    def width(self) -> float:
        """Length of the line of text, mm."""
        return text_width_mm(self.text, self.size_mm, bold=self.bold)

    @property
    def box(self) -> Box:
        """The rectangle round it, from the descenders to the capitals."""
        before = {"start": 0.0, "middle": self.width / 2, "end": self.width}[self.anchor]
        up, down = CAPITAL * self.size_mm, DESCENT * self.size_mm
        if self.upright:
            return Box(self.x - up, self.y - self.width + before, self.x + down, self.y + before)
        return Box(self.x - before, self.y - up, self.x - before + self.width, self.y + down)


Mark = Line | Polyline | Arc | Text


def extent(marks: Iterable[Mark]) -> Box:
    """Return the rectangle round some marks, lines with half their width."""
    boxes = [mark.box for mark in marks]
    if not boxes:
        return Box(0, 0, 0, 0)
    half = WIDE_MM / 2
    return Box(
        min(box.left for box in boxes) - half,
        min(box.top for box in boxes) - half,
        max(box.right for box in boxes) + half,
        max(box.bottom for box in boxes) + half,
    )


def rectangle(box: Box, style: Style = "wide") -> Polyline:
    """Return the outline of a rectangle."""
    corners = ((box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom))
    return Polyline(corners, style, closed=True)


def hatching(box: Box, apart_mm: float = 2.0) -> list[Line]:
    """Return narrow lines at 45 degrees that fill a rectangle, the same field of lines wherever it lies.

    >>> len(hatching(Box(0, 0, 10, 4)))
    6
    """
    lines = []
    first = math.floor((box.left + box.top) / apart_mm) + 1
    for number in range(first, math.ceil((box.right + box.bottom) / apart_mm)):
        total = number * apart_mm  # the line x + y = total
        x1 = max(box.left, total - box.bottom)
        x2 = min(box.right, total - box.top)
        if x2 - x1 > 0.05:
            lines.append(Line(x1, total - x1, x2, total - x2))
    return lines


def arrow(x1: float, y1: float, x2: float, y2: float) -> list[Mark]:
    """Return a narrow line with a filled head at its end."""
    turn = math.atan2(y2 - y1, x2 - x1)
    wings = [(x2 - 2.2 * math.cos(turn + side), y2 - 2.2 * math.sin(turn + side)) for side in (0.2, -0.2)]
    return [Line(x1, y1, x2, y2), Polyline(((x2, y2), *wings), closed=True, fill="black")]


def disc(x: float, y: float, radius: float, text: str = "", fill: Literal["black", "white"] = "white") -> list[Mark]:
    """Return a filled circle, with a short text in it on wish."""
    turns = [math.tau * n / 24 for n in range(24)]
    rim = tuple((x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns)
    found: list[Mark] = [Polyline(rim, closed=True, fill=fill)]
    size = min(SMALL_MM, 1.7 * radius / max(text_width_mm(text, 1.0), 0.5)) if text else SMALL_MM
    return [*found, Text(x, y + CAPITAL * size / 2, text, size, bold=True)] if text else found
