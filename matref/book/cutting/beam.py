"""Good layouts of many parts: strips, rows in strips and parts in rows, the best few kept at each step.

A partial layout grows by one part at a time: into the row, as a new row, as a new strip, or on the next sheet. Of all
partial layouts with equally many parts only those with the least waste per mean part area go on (beam search with
the guide of Libralesso & Fontan, Eur. J. Oper. Res. 291, 2021, for three-stage guillotine cutting).
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import nsmallest
from typing import NamedTuple

from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join
from matref.book.cutting.budget import Budget
from matref.book.cutting.table import Shape

ROW, NEW_ROW, NEW_STRIP, NEW_SHEET = range(4)
NODES_PER_STEP = 3
SOFT = 0.03  # waste counted beside the real one, so that size matters even without waste


class State(NamedTuple):
    """A partial layout: the strip from x0 to x1, in it the row from y0 to y1, filled as far as x3."""

    guide: float
    left: int  # copies still to lay, packed
    sheet: int
    x0: int
    x1: int
    y0: int
    y1: int
    x3: int
    area: int  # of the parts laid
    before: State | None
    shape: Shape | None
    how: int


class Beam:
    """The problem as the beam sees it; `axis` is the side along which strips follow each other."""

    def __init__(
        self,
        sheets: Sequence[tuple[int, int]],
        ways: Sequence[Sequence[Sequence[Shape]]],
        copies: Sequence[int],
        axis: int,
    ) -> None:
        self.axis = axis
        self.copies = copies
        self.sheets = [(a, b) if axis == LENGTH else (b, a) for a, b in sheets]
        self.before = [sum(a * b for a, b in self.sheets[:i]) for i in range(len(sheets))]
        self.fields, at, self.start = [], 0, 0
        for most in copies:
            self.fields.append((at, (1 << most.bit_length()) - 1))
            self.start |= most << at
            at += most.bit_length()
        self.ways = [
            [[(s.length, s.width, s) if axis == LENGTH else (s.width, s.length, s) for s in kind] for kind in sheet]
            for sheet in ways
        ]

    def run(self, keep: int, budget: Budget) -> list[Block | None] | None:
        """Lay every part, keeping `keep` partial layouts; None when the beam runs dry."""
        states = [State(0.0, self.start, 0, 0, 0, 0, 0, 0, 0, None, None, NEW_STRIP)]
        for laid in range(1, sum(self.copies) + 1):
            found: dict[tuple[int, ...], State] = {}
            for state in states:
                self.grow(state, laid, found)
            if not found:
                return None
            budget.spend(1 + len(found) // NODES_PER_STEP)
            states = nsmallest(keep, found.values(), key=_guide)
        return self.blocks(min(states, key=lambda s: (s.sheet, s.x1)))

    def grow(self, state: State, laid: int, found: dict[tuple[int, ...], State]) -> None:
        """Add every partial layout with one more part."""
        _, left, sheet, x0, x1, y0, y1, x3, area, _, _, _ = state
        length, width = self.sheets[sheet]
        opened = False
        for kind, (at, mask) in enumerate(self.fields):
            if not (left >> at) & mask:
                continue
            rest = left - (1 << at)
            for long, wide, shape in self.ways[sheet][kind]:
                places = []
                if y0 + wide <= width and x3 + long <= length and x3 > x0:
                    places.append((x0, max(x1, x3 + long), y0, max(y1, y0 + wide), x3 + long, ROW))
                if y1 + wide <= width and x0 + long <= length and y1:
                    places.append((x0, max(x1, x0 + long), y1, y1 + wide, x0 + long, NEW_ROW))
                if x1 + long <= length and wide <= width:
                    places.append((x1, x1 + long, 0, wide, x1 + long, NEW_STRIP))
                for a0, a1, b0, b1, a3, how in places:
                    opened = True
                    self.keep(found, laid, state, rest, sheet, a0, a1, b0, b1, a3, area, shape, how)
        if not opened:
            self.next_sheet(state, laid, found)

    def next_sheet(self, state: State, laid: int, found: dict[tuple[int, ...], State]) -> None:
        """Open the next sheet when nothing more fits on this one."""
        sheet = state.sheet + 1
        if sheet >= len(self.sheets):
            return
        for kind, (at, mask) in enumerate(self.fields):
            if (state.left >> at) & mask:
                rest = state.left - (1 << at)
                for long, wide, shape in self.ways[sheet][kind]:
                    self.keep(found, laid, state, rest, sheet, 0, long, 0, wide, long, state.area, shape, NEW_SHEET)

    def keep(
        self,
        found: dict[tuple[int, ...], State],
        laid: int,
        state: State,
        rest: int,
        sheet: int,
        x0: int,
        x1: int,
        y0: int,
        y1: int,
        x3: int,
        area: int,
        shape: Shape,
        how: int,
    ) -> None:
        """Rate a partial layout and keep it, once."""
        key = (rest, sheet, x0, x1, y0, y1, x3)
        if key in found:
            return
        area += shape[0] * shape[1]
        front = self.before[sheet] + self.sheets[sheet][1] * x0 + (x1 - x0) * y0 + (x3 - x0) * (y1 - y0)
        guide = (SOFT + 1 - area / front) * laid / area
        found[key] = State(guide, rest, sheet, x0, x1, y0, y1, x3, area, state, shape, how)

    def blocks(self, state: State) -> list[Block | None]:
        """Return the block on each sheet of a finished layout."""
        chain: list[State] = []
        here: State | None = state
        while here is not None and here.shape is not None:
            chain.append(here)
            here = here.before
        done: list[Block | None] = [None] * len(self.sheets)
        strip: Block | None = None
        row: Block | None = None
        across = WIDTH if self.axis == LENGTH else LENGTH
        for at, step in enumerate(reversed(chain)):
            shape = step.shape
            if shape is None:
                continue
            part = Block(shape.length, shape.width, piece=shape.kind, turned=shape.turned)
            row = join(row, part, self.axis) if row and step.how == ROW else part
            following = chain[-at - 2].how if at + 1 < len(chain) else NEW_SHEET
            if following != ROW:
                strip = join(strip, row, across) if strip else row
                row = None
            if following in (NEW_STRIP, NEW_SHEET) and strip:
                old = done[step.sheet]
                done[step.sheet] = join(old, strip, self.axis) if old else strip
                strip = None
        return done


def _guide(state: State) -> float:
    return state[0]
