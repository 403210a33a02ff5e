"""Chains of dimensions side by side, and how their texts make room for each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from matref.bench.drawing import Dimension, Running
from matref.bench.marks import TEXT_MM
from matref.bench.typeface import text_width_mm

GAP_MM = 1.2
ROW_MM = 4.4
"""From a dimension line to the texts that found no room on it."""


@dataclass(frozen=True, slots=True)
class Segment:
    """One length of a chain: where it lies on the paper, how long it is in truth, how that is written."""

    start: float
    end: float
    value_mm: float
    text: str


def chain(
    axis: Literal["x", "y"],
    segments: Sequence[Segment],
    at: float,
    reach: float,
    size_mm: float = TEXT_MM,
) -> list[Dimension]:
    """Return one dimension for each segment on a common line at `at`; `reach` is where extension lines begin.

    Texts that are longer than their segment stand in a row of their own, outside, with a leader.
    """
    side = 1 if at >= reach else -1
    crowded = [s for s in segments if text_width_mm(s.text, size_mm) > s.end - s.start - GAP_MM]
    places = spread(
        [(s.start + s.end) / 2 for s in crowded], [text_width_mm(s.text, size_mm) + 2 * GAP_MM for s in crowded]
    )
    moved = {id(s): (place, at + side * ROW_MM) for s, place in zip(crowded, places, strict=True)}
    return [Dimension(axis, s.start, s.end, at, reach, s.value_mm, s.text, moved.get(id(s)), size_mm) for s in segments]


def running(
    axis: Literal["x", "y"],
    origin: float,
    stops: Sequence[tuple[float, float, str]],
    at: float,
    reach: float,
    size_mm: float = TEXT_MM,
) -> Running:
    """Return running dimensions from an origin; stops are (place, true distance, text) in order along the axis."""
    widths = [text_width_mm(text, size_mm) + GAP_MM if axis == "x" else 1.2 * size_mm for _, _, text in stops]
    return Running(
        axis, origin, tuple(stops), at, reach, tuple(spread([place for place, _, _ in stops], widths)), size_mm
    )


def spread(wanted: Sequence[float], widths: Sequence[float]) -> list[float]:
    """Return positions in order, no two closer than half the sum of their widths, nearest to where they are wanted.

    Least squares under the order: neighbours that would touch become a block that moves as one.

    >>> spread([0, 1, 20], [4, 4, 4])
    [-1.5, 2.5, 20.0]
    """
    offsets, total = [], 0.0
    for number, width in enumerate(widths):
        total += (widths[number - 1] + width) / 2 if number else 0.0
        offsets.append(total)
    blocks: list[tuple[float, int]] = []  # mean of (wanted - offset), members
    for place, offset in zip(wanted, offsets, strict=True):
        mean, members = place - offset, 1
        while blocks and blocks[-1][0] > mean:
            before, count = blocks.pop()
            mean, members = (before * count + mean * members) / (count + members), count + members
        blocks.append((mean, members))
    means = [mean for mean, members in blocks for _ in range(members)]
    return [mean + offset for mean, offset in zip(means, offsets, strict=True)]
