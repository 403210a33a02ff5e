"""How many pieces (folded sheets or single leaves) come out of one salvaged leaf, both ways round.

A piece has a width, across the spine, and a height, along the spine. The salvaged leaf has a long and a short
side and a grain direction, named by the side it runs along: "long", "short" or "unknown". Cuts are plain rows
and columns with every piece the same way round. Own derivation: counting.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from matref.book.check import count, left_over, not_negative, positive
from matref.errors import BadInput

Grain = Literal["long", "short", "unknown"]
Side = Literal["long", "short"]
SLACK = 1e-9
"""Share of a piece forgiven when counting, so that 297 mm holds two pieces of 148.5 mm in binary arithmetic."""


@dataclass(frozen=True)
class Turn:
    """One way of laying the pieces: spines along the leaf's `spine_along` side.

    rows counts pieces along the spine direction, columns across it. grain_along_spine is None when unknown.
    waste_share is the part of the leaf's area that is not in a piece, 0 to 1.
    """

    spine_along: Side
    columns: int
    rows: int
    grain_along_spine: bool | None
    waste_share: float

    @property
    def pieces(self) -> int:
        """Pieces from one salvaged leaf."""
        return self.columns * self.rows


def turns(
    leaf_long_mm: float,
    leaf_short_mm: float,
    piece_width_mm: float,
    piece_height_mm: float,
    grain: Grain = "unknown",
    edge_mm: float = 0.0,
) -> tuple[Turn, Turn]:
    """Both ways of cutting a salvaged leaf: spines along its long side, then along its short side.

    Leaf sides, mm, in either order; piece width (across the spine) and height (along it), mm, before
    trimming; edge, mm cut off every side of the leaf first (old holes, stains, a torn edge).
    Counts are floor(side / piece) each way; waste 1 - pieces·w·h / leaf area. Exact.

    >>> long, short = turns(297, 210, 148.5, 210, grain="long")
    >>> long.pieces, long.grain_along_spine, short.pieces, short.grain_along_spine
    (1, True, 2, False)
    """
    first, second = (
        positive(leaf_long_mm, "leaf's side, mm", 297),
        positive(leaf_short_mm, "leaf's side, mm", 210),
    )
    width, height = (
        positive(piece_width_mm, "piece width, mm", 148),
        positive(piece_height_mm, "piece height, mm", 105),
    )
    if grain not in ("long", "short", "unknown"):
        raise BadInput(f"grain is {repr(grain)[:40]}", expected="long, short or unknown", example="long")
    edge = 2 * not_negative(edge_mm, "edge to cut off, mm", 5)
    long, short = max(first, second), min(first, second)
    left_over(short - edge, "the leaf's short side", "the edges cut off meet")
    sides: tuple[tuple[Side, float, float], ...] = (("long", long, short), ("short", short, long))
    laid = []
    for side, along, across in sides:
        columns, rows = _fit(across - edge, width), _fit(along - edge, height)
        waste = max(0.0, 1 - columns * rows * width * height / (long * short))
        laid.append(Turn(side, columns, rows, None if grain == "unknown" else grain == side, waste))
    return laid[0], laid[1]


def preferred(ways: Sequence[Turn]) -> Turn:
    """The turn to use: grain along the spine if any piece comes out that way, else the one with most pieces.

    Where the grain is unknown, the one with most pieces; a tie goes to the first. BadInput if nothing fits.

    >>> preferred(turns(297, 210, 148.5, 210, grain="long")).spine_along
    'long'
    >>> preferred(turns(297, 210, 148.5, 210)).spine_along
    'short'
    """
    fitting = [turn for turn in ways if turn.pieces > 0]
    if not fitting:
        raise BadInput("no piece fits the leaf either way round", expected="a smaller page or a bigger leaf")
    return max(fitting, key=lambda turn: (turn.grain_along_spine is True, turn.pieces))


def leaves_needed(pieces: int, turn: Turn) -> int:
    """Salvaged leaves needed for a number of pieces cut in one way: pieces / yield, rounded up. Exact.

    >>> leaves_needed(9, preferred(turns(420, 297, 210, 148.5)))
    3
    """
    wanted = count(pieces, "pieces", 20)
    if turn.pieces < 1:
        raise BadInput("no piece fits the leaf this way round", expected="a turn that yields one or more")
    return math.ceil(wanted / turn.pieces)


def _fit(length_mm: float, piece_mm: float) -> int:
    return math.floor(length_mm / piece_mm + SLACK)
