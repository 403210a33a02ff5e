"""The drawing model: marks and dimensions after ISO 129-1, with a title and a scale of ISO 5455.

A drawing knows its scale, so what it shows is a true length times that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from matref.bench.marks import TEXT_MM, Arc, Box, Line, Mark, Text, extent
from matref.bench.typeface import CAPITAL

SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100)
"""Scales of ISO 5455, largest first."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension after ISO 129-1: extension lines, dimension line with oblique strokes, value above it.

    axis: "x" for a length across the page, "y" for one down it. start, end: the ends of the length along the axis;
    at: where the dimension line lies across it; reach: where the extension lines begin. value_mm: the true length;
    text: as it is written. moved: where the middle of the text stands, along and across, when there is no room on the
    line; a leader shows what it belongs to.
    """

    axis: Literal["x", "y"]
    start: float
    end: float
    at: float
    reach: float
    value_mm: float
    text: str
    moved: tuple[float, float] | None = None
    size_mm: float = TEXT_MM

    @property
    def middle(self) -> float:
        """The middle of the length, along the axis."""
        return (self.start + self.end) / 2

    def marks(self) -> Iterator[Mark]:
        """Yield the lines and the text."""
        out = 1.2 if self.at >= self.reach else -1.2
        for end in (self.start, self.end):
            yield self._line(end, self.reach + out * 0.5, end, self.at + out)
            yield self._line(end - 0.8, self.at + 0.8, end + 0.8, self.at - 0.8)
        yield self._line(self.start, self.at, self.end, self.at)
        along, across = (self.middle, self.at - 0.7) if self.moved is None else self.moved
        if self.moved is not None:
            near = across + (0.5 if across < self.at else -CAPITAL * self.size_mm - 0.5)
            yield self._line(self.middle, self.at, along, near)
        yield self._text(along, across)

    def _line(self, along: float, across: float, along2: float, across2: float) -> Line:
        return Line(along, across, along2, across2) if self.axis == "x" else Line(across, along, across2, along2)

    def _text(self, along: float, across: float) -> Text:
        if self.axis == "x":
            return Text(along, across, self.text, self.size_mm)
        return Text(across, along, self.text, self.size_mm, upright=True)


@dataclass(frozen=True, slots=True)
class Running:
    """Running dimensions after ISO 129-1: distances from one origin, a circle, each written at its own line.

    stops: place along the axis, true distance, text. at: where the dimension line lies; reach: where the extension
    lines begin. Texts stand beyond the dimension line and make room for each other.
    """

    axis: Literal["x", "y"]
    origin: float
    stops: tuple[tuple[float, float, str], ...]
    at: float
    reach: float
    places: tuple[float, ...]
    size_mm: float = TEXT_MM

    @property
    def values_mm(self) -> tuple[float, ...]:
        """The true distances."""
        return tuple(value for _, value, _ in self.stops)

    def marks(self) -> Iterator[Mark]:
        """Yield the lines and the texts."""
        side = 1 if self.at >= self.reach else -1
        ends = [self.origin, *(place for place, _, _ in self.stops)]
        yield self._line(min(ends), self.at, max(ends), self.at)
        yield Arc(*self._point(self.origin, self.at), 0.7, 0, 360)
        foot = self.at + side * 3.2
        for (place, _, text), where in zip(self.stops, self.places, strict=True):
            yield self._line(place, self.reach + side * 0.6, place, self.at + side * 0.8)
            yield self._line(place, self.at + side * 0.8, where, foot - side * 0.4)
            if place != self.origin:
                yield self._line(place - 0.7, self.at + 0.7, place + 0.7, self.at - 0.7)
            yield self._text(where, foot, side, text)

    def _point(self, along: float, across: float) -> tuple[float, float]:
        return (along, across) if self.axis == "x" else (across, along)

    def _line(self, along: float, across: float, along2: float, across2: float) -> Line:
        return Line(*self._point(along, across), *self._point(along2, across2))

    def _text(self, where: float, foot: float, side: int, text: str) -> Text:
        if self.axis == "x":
            return Text(where, foot + (CAPITAL * self.size_mm if side > 0 else 0), text, self.size_mm)
        return Text(foot, where + CAPITAL * self.size_mm / 2, text, self.size_mm, "start" if side > 0 else "end")


Dimensioned = Dimension | Running


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing: its title, its scale (paper over true length; None for a diagram), its marks and its dimensions.

    `name` is what it goes by in files; `note` is printed under it. Its extent is that of what is drawn.
    """

    name: str
    title: str
    scale: float | None
    pieces: tuple[Mark | Dimensioned, ...]
    note: str = ""
    box: Box = field(init=False)

    def __post_init__(self) -> None:
        """Measure the extent."""
        object.__setattr__(self, "box", extent(self.marks()))

    def marks(self) -> Iterator[Mark]:
        """Yield every line, arc and text."""
        for piece in self.pieces:
            if isinstance(piece, Dimension | Running):
                yield from piece.marks()
            else:
                yield piece

    @property
    def dimensions(self) -> tuple[Dimensioned, ...]:
        """The dimensions in it."""
        return tuple(piece for piece in self.pieces if isinstance(piece, Dimension | Running))

    @property
    def caption(self) -> str:
        """Title with scale."""
        return self.title if self.scale is None else f"{self.title}, scale {scale_words(self.scale)}"


def scale_for(width_mm: float, height_mm: float, room_mm: tuple[float, float], largest: float = 50.0) -> float:
    """Return the largest scale of ISO 5455 at which something fits the room, none larger than `largest`.

    >>> scale_for(250, 180, (180, 100)), scale_for(9, 40, (60, 60), largest=5)
    (0.5, 1.0)
    """
    for scale in SCALES:
        if scale <= largest and width_mm * scale <= room_mm[0] and height_mm * scale <= room_mm[1]:
            return scale
    return SCALES[-1]


def scale_words(scale: float) -> str:
    """Return a scale as drawings state it.

    >>> scale_words(0.5), scale_words(5.0)
    ('1:2', '5:1')
    """
    return f"{scale:.0f}:1" if scale >= 1 else f"1:{1 / scale:.0f}"
