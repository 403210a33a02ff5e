"""A hand-made picture: class lines with published readings, the visitor's own samples, and this pile.

Both axes are logarithmic, grammage to the right and caliper upwards, so that every class is a straight line. Marks
differ in shape and lines in dashes and letters, never by colour alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

WIDTH, HEIGHT = 640, 440
_LEFT, _RIGHT, _TOP, _BOTTOM = 62, 30, 16, 50
_STEPS = ((1, 2, 5), (1, 1.5, 2, 3, 4, 5, 6, 8))
_FEWEST_TICKS = 4
_TICKS = 6  # about so many on an axis that covers less than those steps
LETTERS = "ABCDEF"

Point = tuple[float, float]
"""Grammage in g/m² and caliper in µm."""


@dataclass(frozen=True, slots=True)
class ClassLine:
    """The line of a class over the grammages where it is drawn: log caliper = intercept + slope · log(g / 80)."""

    name: str
    intercept: float
    slope: float
    readings: tuple[Point, ...]

    def caliper_um(self, grammage_gsm: float) -> float:
        """Return the line's caliper at a grammage."""
        return math.exp(self.intercept + self.slope * math.log(grammage_gsm / 80))


@dataclass(frozen=True, slots=True)
class Pile:
    """This pile: the middle and the ends of the ranges of its grammage (g/m²) and caliper (µm)."""

    grammage: tuple[float, float, float]
    caliper: tuple[float, float, float]


class _Scale:
    """From a logarithmic range to pixels."""

    def __init__(self, low: float, high: float, start: float, end: float) -> None:
        self.low, self.high = low, high
        self._from, self._to = start, end

    def __call__(self, value: float) -> float:
        share = math.log(value / self.low) / math.log(self.high / self.low)
        return round(self._from + share * (self._to - self._from), 1)

    def holds(self, value: float) -> bool:
        return self.low <= value <= self.high

    def ticks(self) -> list[float]:
        decade = 10 ** math.floor(math.log10(self.low))
        for steps in _STEPS:
            found = [s * decade * 10**d for d in range(6) for s in steps if self.holds(s * decade * 10**d)]
            if len(found) >= _FEWEST_TICKS:
                return found
        step = _round_step((self.high - self.low) / _TICKS)
        return [n * step for n in range(math.ceil(self.low / step), math.floor(self.high / step) + 1)]


def _round_step(wanted: float) -> float:
    """Return the step of 1, 2, 2.5 or 5 times a power of ten that is nearest above `wanted`."""
    power = 10.0 ** math.floor(math.log10(wanted))
    return power * next(s for s in (1, 2, 2.5, 5, 10) if s * power >= wanted)


def picture(lines: Sequence[ClassLine], own: Sequence[Point], pile: Pile | None, *, units: str = "mm") -> Markup:
    """Return the drawing as SVG, with a title and a description for those who cannot see it."""
    x_axis, y_axis = _frame(lines, own, pile)
    parts = [
        f'<svg class="picture" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-labelledby="pic-title pic-desc">',
        '<title id="pic-title">Caliper against grammage</title>',
        f'<desc id="pic-desc">{escape(_description(lines, own, pile))}</desc>',
        *_grid(x_axis, y_axis, units),
        f'<clipPath id="pic-clip"><rect x="{_LEFT}" y="{_TOP}" width="{WIDTH - _LEFT - _RIGHT}" '
        f'height="{HEIGHT - _TOP - _BOTTOM}"/></clipPath>',
        '<g clip-path="url(#pic-clip)">',
    ]
    for number, line in enumerate(lines):
        parts += _line(number, line, x_axis, y_axis)
    parts += [_square(x_axis(g), y_axis(t)) for g, t in own if x_axis.holds(g) and y_axis.holds(t)]
    if pile:
        parts += _pile(pile, x_axis, y_axis)
    parts.append("</g>")
    parts += _letters(lines, x_axis, y_axis)
    parts.append("</svg>")
    return Markup("".join(parts))


def mark(number: int) -> Markup:
    """Return a small sample of a line for the legend."""
    return Markup(
        '<svg class="picture key" viewBox="0 0 44 14" aria-hidden="true">'
        f'<line class="line line-{number}" x1="1" y1="7" x2="43" y2="7"/>{_dot(number, 22, 7)}</svg>'
    )


def _frame(lines: Sequence[ClassLine], own: Sequence[Point], pile: Pile | None) -> tuple[_Scale, _Scale]:
    """Return axes that show this pile amid its surroundings, or all readings where there is no pile."""
    points = [p for line in lines for p in line.readings] + list(own)
    if pile:
        low, high = pile.grammage[1] / 1.9, pile.grammage[2] * 1.9
    else:
        grammages = [g for g, _ in points] or [40.0, 200.0]
        low, high = min(grammages) / 1.2, max(grammages) * 1.2
    heights = [t for g, t in points if low <= g <= high]
    heights += [line.caliper_um(g) for line in lines for g in (low, high)]
    heights += list(pile.caliper) if pile else []
    heights = heights or [50.0, 200.0]
    middle = math.sqrt(min(heights) * max(heights))
    half = min(max(max(heights) / middle, 1.5) * 1.1, 6.0)
    return (
        _Scale(low, high, _LEFT, WIDTH - _RIGHT),
        _Scale(middle / half, middle * half, HEIGHT - _BOTTOM, _TOP),
    )


def _grid(x_axis: _Scale, y_axis: _Scale, units: str) -> Iterable[str]:
    right, bottom = WIDTH - _RIGHT, HEIGHT - _BOTTOM
    for value in x_axis.ticks():
        x = x_axis(value)
        yield f'<line class="grid" x1="{x}" y1="{_TOP}" x2="{x}" y2="{bottom}"/>'
        yield f'<text class="tick" x="{x}" y="{bottom + 17}" text-anchor="middle">{value:g}</text>'
    scale = 25.4 if units == "in" else 1.0
    shown = _Scale(y_axis.low / scale, y_axis.high / scale, bottom, _TOP)
    for value in shown.ticks():
        y = shown(value)
        yield f'<line class="grid" x1="{_LEFT}" y1="{y}" x2="{right}" y2="{y}"/>'
        yield f'<text class="tick" x="{_LEFT - 7}" y="{y + 4}" text-anchor="end">{value:g}</text>'
    unit = "thousandths of an inch" if units == "in" else "µm"
    yield f'<text class="axis" x="{(_LEFT + right) / 2}" y="{HEIGHT - 10}" text-anchor="middle">grammage, g/m²</text>'
    middle = (_TOP + bottom) / 2
    yield (
        f'<text class="axis" x="16" y="{middle}" text-anchor="middle" transform="rotate(-90 16 {middle})">'
        f"caliper, {unit}</text>"
    )


def _line(number: int, line: ClassLine, x_axis: _Scale, y_axis: _Scale) -> Iterable[str]:
    ends = [(g, line.caliper_um(g)) for g in (x_axis.low, x_axis.high)]
    (x1, y1), (x2, y2) = ((x_axis(g), y_axis(t)) for g, t in ends)
    yield f'<line class="line line-{number}" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>'
    for g, t in line.readings:
        if x_axis.holds(g) and y_axis.holds(t):
            yield _dot(number, x_axis(g), y_axis(t))


def _dot(number: int, x: float, y: float) -> str:
    name = f'class="dot dot-{number}"'
    if number % 3 == 0:
        return f'<circle {name} cx="{x}" cy="{y}" r="3.4"/>'
    if number % 3 == 1:
        return f'<path {name} d="M{x} {y - 4.4}l4.4 4.4l-4.4 4.4l-4.4 -4.4z"/>'
    return f'<path {name} d="M{x} {y - 4}l4 7h-8z"/>'


def _square(x: float, y: float) -> str:
    return f'<rect class="own" x="{x - 4.5}" y="{y - 4.5}" width="9" height="9"/>'


def _pile(pile: Pile, x_axis: _Scale, y_axis: _Scale) -> Iterable[str]:
    (g, g_low, g_high), (t, t_low, t_high) = pile.grammage, pile.caliper
    x1, x2, y1, y2 = x_axis(g_low), x_axis(g_high), y_axis(t_low), y_axis(t_high)
    yield f'<rect class="range" x="{x1}" y="{y2}" width="{max(x2 - x1, 1):.1f}" height="{max(y1 - y2, 1):.1f}"/>'
    x, y = x_axis(g), y_axis(t)
    yield f'<path class="pile" d="M{x - 9} {y}h18M{x} {y - 9}v18"/><circle class="pile" cx="{x}" cy="{y}" r="6"/>'


def _letters(lines: Sequence[ClassLine], x_axis: _Scale, y_axis: _Scale) -> Iterable[str]:
    """Letter each line at its right end, moving letters apart that would cover one another."""
    taken: list[float] = []
    ends = sorted((y_axis(line.caliper_um(x_axis.high)), number) for number, line in enumerate(lines))
    for wanted, number in ends:
        y = max(wanted, taken[-1] + 15) if taken else wanted
        y = min(max(y, _TOP + 8), HEIGHT - _BOTTOM)
        taken.append(y)
        yield f'<text class="letter letter-{number}" x="{WIDTH - _RIGHT + 7}" y="{y + 4}">{LETTERS[number]}</text>'


def _description(lines: Sequence[ClassLine], own: Sequence[Point], pile: Pile | None) -> str:
    words = [
        f"Line {LETTERS[n]}: {line.name}, {len(line.readings)} published readings." for n, line in enumerate(lines)
    ]
    if own:
        words.append(f"Squares: {len(own)} sample{'s' * (len(own) != 1)} of your own.")
    if pile:
        g, t = pile.grammage, pile.caliper
        words.append(
            f"The cross is this pile: {g[0]:.0f} g/m² ({g[1]:.0f} to {g[2]:.0f}) and {t[0]:.0f} µm "
            f"({t[1]:.0f} to {t[2]:.0f})."
        )
    return " ".join(words)
