"""What comes back from a layout: where each part lies, the cuts in order, and what is left over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle on the sheet, in mm from the sheet's near left corner.

    `x` and `length` run along the sheet's length, `y` and `width` along its width.
    """

    x: float
    y: float
    length: float
    width: float

    @property
    def area_mm2(self) -> float:
        """Length times width."""
        return self.length * self.width


@dataclass(frozen=True, slots=True)
class Placed:
    """One part where it lies: `piece` is its place in the list that was asked for.

    `turned` means a quarter turn: the part's own length runs along the sheet's width.
    """

    piece: int
    rect: Rect
    turned: bool
    region: int

    @property
    def x(self) -> float:
        """Distance of the part from the sheet's left edge, mm."""
        return self.rect.x

    @property
    def y(self) -> float:
        """Distance of the part from the sheet's near edge, mm."""
        return self.rect.y

    @property
    def length(self) -> float:
        """Extent along the sheet's length, mm, as it lies."""
        return self.rect.length

    @property
    def width(self) -> float:
        """Extent along the sheet's width, mm, as it lies."""
        return self.rect.width


@dataclass(frozen=True, slots=True)
class Offcut:
    """What is left over in one place; `keep` when its shorter side reaches the size worth keeping."""

    rect: Rect
    keep: bool
    region: int


@dataclass(frozen=True, slots=True)
class Cut:
    """One straight cut from edge to edge of one rectangle.

    The sheet is region 0. Cut number n divides `region` into region 2n - 1 (near: the side that the
    ruler starts from) and region 2n (far). `across` names the side that gets shorter: 'length' is a cut at
    right angles to the sheet's length. `at_mm` is measured from the near edge of `rect`, the rectangle
    being cut; the blade takes `blade_mm` beyond it, and `far` is None when nothing remains there.
    """

    number: int
    region: int
    rect: Rect
    across: str
    at_mm: float
    blade_mm: float
    near: Rect
    far: Rect | None

    @property
    def of(self) -> int:
        """The cut that made what is being cut, 0 for the sheet."""
        return (self.region + 1) // 2

    @property
    def side(self) -> str:
        """Which side of that cut it was: near or far, "" for the sheet."""
        return "" if self.region == 0 else "near" if self.region % 2 else "far"

    @property
    def ends(self) -> tuple[float, float, float, float]:
        """The line of the cut, mm from the sheet's near left corner: x and y of one end, then of the other."""
        x, y = self.rect.x, self.rect.y
        if self.across == "length":
            return x + self.at_mm, y, x + self.at_mm, y + self.rect.width
        return x, y + self.at_mm, x + self.rect.length, y + self.at_mm


@dataclass(frozen=True, slots=True)
class Layout:
    """One sheet cut up.

    `value` is the sum of the values of the parts on it; no layout can be worth more than `bound`; `proved`
    says that this one is the best there is.
    """

    length_mm: float
    width_mm: float
    value: float
    bound: float
    proved: bool
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]

    @property
    def area_mm2(self) -> float:
        """Area of the sheet, mm²."""
        return self.length_mm * self.width_mm

    @property
    def used_mm2(self) -> float:
        """Area of the parts, mm²."""
        return sum(p.rect.area_mm2 for p in self.placed)

    @property
    def waste(self) -> float:
        """Share of the sheet that no part uses, 0 to 1."""
        return 1 - self.used_mm2 / self.area_mm2

    @property
    def worth_keeping(self) -> tuple[Offcut, ...]:
        """The offcuts worth keeping, largest first."""
        return tuple(sorted((o for o in self.offcuts if o.keep), key=lambda o: -o.rect.area_mm2))

    def steps(self, names: Sequence[str] = ()) -> tuple[str, ...]:
        """Return the cuts in words, one line each; `names` are the names of the pieces in their order."""
        fate = self._fates(names)
        lines = []
        for cut in self.cuts:
            before = "the sheet" if cut.of == 0 else f"the {cut.side} side of cut {cut.of}"
            line = (
                f"{cut.number}. {before}, {cut.rect.length:g} x {cut.rect.width:g} mm: measure "
                f"{cut.at_mm:g} mm along its {cut.across} and cut straight across; "
                f"near side: {fate(2 * cut.number - 1)}"
            )
            lines.append(line if cut.far is None else line + f"; far side: {fate(2 * cut.number)}")
        return tuple(lines)

    def _fates(self, names: Sequence[str]) -> Callable[[int], str]:
        """Return what tells in words what becomes of a region."""
        parts = {p.region: (names[p.piece] if names else f"part {p.piece + 1}") for p in self.placed}
        kept = {o.region: ("offcut to keep" if o.keep else "waste") for o in self.offcuts}
        later = {c.region: f"to cut {c.number}" for c in self.cuts}
        return lambda region: parts.get(region) or later.get(region) or kept.get(region) or "waste"

    def as_json(self, names: Sequence[str]) -> dict[str, Any]:
        """Return plain values: parts where they lie, cuts in words and as lines, offcuts worth keeping, largest first.

        x runs along the sheet's length, y along its width, mm. A cut is of the sheet (of_cut 0) or of one side of an
        earlier cut, a rectangle of length_mm x width_mm; its line runs from (x1, y1) to (x2, y2).
        """
        fate = self._fates(names)
        return {
            "length_mm": self.length_mm,
            "width_mm": self.width_mm,
            "parts": [{"name": names[p.piece], **_plain(p.rect), "turned": p.turned} for p in self.placed],
            "cuts": list(self.steps(names)),
            "cut_list": [
                {
                    "number": cut.number,
                    "of_cut": cut.of,
                    "side": cut.side,
                    "length_mm": cut.rect.length,
                    "width_mm": cut.rect.width,
                    "across": cut.across,
                    "at_mm": cut.at_mm,
                    "near": fate(2 * cut.number - 1),
                    "far": None if cut.far is None else fate(2 * cut.number),
                    **dict(zip(("x1_mm", "y1_mm", "x2_mm", "y2_mm"), cut.ends, strict=True)),
                }
                for cut in self.cuts
            ],
            "offcuts": [_plain(offcut.rect) for offcut in self.worth_keeping],
            "waste_share": self.waste,
            "proved": self.proved,
        }

    def of_piece(self, piece: str, names: Sequence[str], copy: int, grain: str) -> dict[str, Any]:
        """Return plain values with the name of the piece cut up, which copy of it this is, and how its grain runs."""
        return {"piece": piece, "copy": copy, "grain": grain, **self.as_json(names)}


def _plain(rect: Rect) -> dict[str, float]:
    return {"x_mm": rect.x, "y_mm": rect.y, "length_mm": rect.length, "width_mm": rect.width}
