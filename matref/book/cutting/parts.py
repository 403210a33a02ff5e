"""The maker's list: parts to cut, pieces of stock to cut them from, and which way the grain lets them lie."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matref.book.check import count, not_negative
from matref.book.cutting.shapes import Cut, Layout, Offcut
from matref.book.cutting.table import Shape
from matref.book.cutting.units import Scale, size_mm
from matref.errors import BadInput

PART_GRAINS = ("length", "width", "either")
STOCK_GRAINS = ("length", "width", "either", "unknown")


@dataclass(frozen=True, slots=True)
class Part:
    """Something to cut: `count` copies of `length_mm` x `width_mm`.

    `grain` is the side that the grain must run along, 'either' when it does not matter. A part with a
    `nap` (pile, or a pattern with a top) must also lie the same way up as its neighbours, so its grain is given.
    """

    name: str
    length_mm: float
    width_mm: float
    count: int = 1
    grain: str = "either"
    nap: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """Something to cut from: `count` pieces of `length_mm` x `width_mm`, `price` each if known.

    `grain` is the side along which the grain runs; 'either' for material without grain, 'unknown' for a
    piece that can only take parts whose grain does not matter.
    """

    name: str
    length_mm: float
    width_mm: float
    count: int = 1
    grain: str = "length"
    price: float | None = None


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One piece of stock cut up; `stock` is its place in the list of stock, `copy` counts from 1."""

    name: str
    stock: int
    copy: int
    layout: Layout


@dataclass(frozen=True, slots=True)
class Layouts:
    """All parts on their pieces of stock.

    `area_mm2` is the area of the pieces that are cut into and `cost` their price (None when a price is
    missing). `bound` is the least area (or cost) that could do, None when the stock cannot hold the parts;
    `proved` says that no cheaper choice of pieces can do (or, with parts `missing`, that no layout holds all).
    """

    sheets: tuple[SheetLayout, ...]
    part_names: tuple[str, ...]
    area_mm2: float
    cost: float | None
    bound: float | None
    proved: bool
    missing: tuple[tuple[str, int], ...]
    notes: tuple[str, ...]

    @property
    def offcuts(self) -> tuple[tuple[str, Offcut], ...]:
        """The offcuts worth keeping with the name of their piece, largest first."""
        kept = [(s.name, o) for s in self.sheets for o in s.layout.worth_keeping]
        return tuple(sorted(kept, key=lambda pair: -pair[1].rect.area_mm2))

    @property
    def cuts(self) -> tuple[tuple[str, Cut], ...]:
        """Every cut in order, with the name of its piece."""
        return tuple((s.name, c) for s in self.sheets for c in s.layout.cuts)

    @property
    def waste(self) -> float:
        """Share of the pieces cut into that no part uses, 0 to 1 (0 when nothing is cut)."""
        used = sum(s.layout.used_mm2 for s in self.sheets)
        return 1 - used / self.area_mm2 if self.area_mm2 else 0.0

    @property
    def steps(self) -> tuple[str, ...]:
        """The cuts in words, one line each, headed by the name of each piece."""
        lines: list[str] = []
        for sheet in self.sheets:
            lines += (sheet.name, *sheet.layout.steps(self.part_names))
        return tuple(lines)

    def as_json(self, grains: Sequence[str]) -> list[dict[str, Any]]:
        """Return every piece cut up as plain values (`Layout.of_piece`); `grains`: how each sort of stock runs."""
        return [s.layout.of_piece(s.name, self.part_names, s.copy, grains[s.stock]) for s in self.sheets]


def check_parts(parts: Sequence[Part]) -> None:
    """Refuse parts that are no parts: no name, no size, no count, a nap without a grain, a name twice."""
    if not parts:
        raise BadInput("there are no parts to cut", expected="at least one", example="[Part('cover', 240, 170)]")
    for part in parts:
        _check_common(part.name, part.length_mm, part.width_mm, part.count, "part")
        if part.grain not in PART_GRAINS:
            raise BadInput(
                f"grain of part {part.name!r} is {part.grain!r}", expected="one of " + ", ".join(PART_GRAINS)
            )
        if part.nap and part.grain == "either":
            raise BadInput(
                f"part {part.name!r} has a nap but may lie either way",
                expected="the side the nap runs along",
                example="length",
            )
    _check_names([part.name for part in parts], "part")


def check_stock(stock: Sequence[Piece]) -> None:
    """Refuse stock that is no stock."""
    if not stock:
        raise BadInput(
            "there is no stock to cut from", expected="at least one piece", example="[Piece('remnant', 600, 400)]"
        )
    for piece in stock:
        _check_common(piece.name, piece.length_mm, piece.width_mm, piece.count, "stock")
        if piece.grain not in STOCK_GRAINS:
            raise BadInput(
                f"grain of stock {piece.name!r} is {piece.grain!r}", expected="one of " + ", ".join(STOCK_GRAINS)
            )
        if piece.price is not None:
            not_negative(piece.price, f"price of {piece.name!r}", 4.5)
    _check_names([piece.name for piece in stock], "stock")


def _check_common(name: str, length_mm: float, width_mm: float, copies: int, what: str) -> None:
    if not isinstance(name, str) or not name.strip():
        raise BadInput(f"{what} has the name {name!r}", expected="a name to write on it", example="'front board'")
    size_mm(length_mm, f"length of {what} {name!r}, mm")
    size_mm(width_mm, f"width of {what} {name!r}, mm")
    count(copies, f"count of {what} {name!r}")


def _check_names(names: Sequence[str], what: str) -> None:
    twice = [name for name, times in Counter(names).items() if times > 1]
    if twice:
        raise BadInput(f"{what} {twice[0]!r} is listed twice", expected="one line for each, with its count")


def ways(part: Part, piece: Piece, kind: int, scale: Scale) -> list[Shape]:
    """Return the ways round in which a part fits on a piece of stock (none, one or two)."""
    along, across = scale.grown(part.length_mm), scale.grown(part.width_mm)
    both = [Shape(along, across, kind, False), Shape(across, along, kind, True)]
    if part.grain == "either" or piece.grain == "either":
        allowed = both[:1] if along == across else both
    elif piece.grain == "unknown":
        allowed = []
    else:
        allowed = [both[0] if part.grain == piece.grain else both[1]]
    length, width = scale.grown(piece.length_mm), scale.grown(piece.width_mm)
    return [shape for shape in allowed if shape.length <= length and shape.width <= width]


def check_each_fits(parts: Sequence[Part], stock: Sequence[Piece], scale: Scale) -> None:
    """Refuse a part that fits on no piece of stock, saying whether size or grain is in the way."""
    for part in parts:
        if any(ways(part, piece, 0, scale) for piece in stock):
            continue
        size = f"part {part.name!r} ({part.length_mm:g} x {part.width_mm:g} mm)"
        free = Part(part.name, part.length_mm, part.width_mm)
        against = [piece for piece in stock if ways(free, piece, 0, scale)]
        if against:
            raise BadInput(
                f"{size} fits on stock {against[0].name!r} only against the grain (its grain must run along its "
                f"{part.grain}, the grain of the stock is {_runs(against[0])})",
                expected="a piece large enough the other way, or grain='either'",
            )
        nearest = min(stock, key=lambda piece: _short_by(part, piece))
        raise BadInput(
            f"{size} is larger than every piece of stock; the nearest is {nearest.name!r} "
            f"({nearest.length_mm:g} x {nearest.width_mm:g} mm), short by {_short_by(part, nearest):g} mm",
            expected="a larger piece or a smaller part",
        )


def _runs(piece: Piece) -> str:
    return f"along its {piece.grain}" if piece.grain in ("length", "width") else piece.grain


def _short_by(part: Part, piece: Piece) -> float:
    """How much too small a piece is for a part: the sum over both sides, the better way round."""
    sizes = ((part.length_mm, part.width_mm), (part.width_mm, part.length_mm))
    return min(max(0.0, a - piece.length_mm) + max(0.0, b - piece.width_mm) for a, b in sizes)


def notes_on(parts: Sequence[Part], stock: Sequence[Piece], blade_mm: float) -> tuple[str, ...]:
    """Return what the maker must know beside the drawing."""
    notes = ["blade: hold the rule down with the fingers well back from its edge; several light strokes"]
    napped = [part.name for part in parts if part.nap]
    if napped:
        notes.append(
            "nap: mark the same direction on every part before cutting and turn none end for end: " + ", ".join(napped)
        )
    if any(piece.grain == "unknown" for piece in stock):
        notes.append("pieces of unknown grain take only parts whose grain does not matter")
    if blade_mm:
        notes.append(f"each cut loses {blade_mm:g} mm beyond the measured line")
    return tuple(notes)
