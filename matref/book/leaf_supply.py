"""From salvaged leaves to sheets: the size to cut, how many come out of a leaf, and what to do if none does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from matref.book.check import count, not_negative
from matref.book.creep import sheet_width_before_trim_mm
from matref.book.leaves import Grain, Turn, leaves_needed, preferred, turns
from matref.errors import BadInput


@dataclass(frozen=True, slots=True)
class Salvage:
    """The pile: leaf sides, mm; grain along its "long" or "short" side or "unknown"; edge to cut off all round, mm;
    leaves in the pile, None when not counted."""

    long_mm: float
    short_mm: float
    grain: Grain = "unknown"
    edge_mm: float = 0.0
    leaves: int | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """The flat sheet to cut, before folding and trimming, mm; width across the spine."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Supply:
    """How the sheets come out of the salvaged leaves. available: sheets in the pile, None when it was not counted."""

    sheet: Sheet
    turn: Turn
    per_leaf: int
    available: int | None
    other_way: int
    warnings: tuple[str, ...]

    def as_json(self, sheets: int) -> dict[str, Any]:
        """Return plain values for cutting that many sheets."""
        return {
            "sheet_width_mm": self.sheet.width_mm,
            "sheet_height_mm": self.sheet.height_mm,
            "sheets": sheets,
            "spine_along": f"{self.turn.spine_along} side of the leaf",
            "columns": self.turn.columns,
            "rows": self.turn.rows,
            "sheets_per_leaf": self.per_leaf,
            "sheets_per_leaf_other_way": self.other_way,
            "leaves_needed": leaves_needed(sheets, self.turn),
            "waste_share": self.turn.waste_share,
            "grain_along_spine": self.turn.grain_along_spine,
        }


def sheet_to_cut(
    page_width_mm: float,
    page_height_mm: float,
    sheets_per_section: int,
    leaf_um: float,
    clean_cut_mm: float,
    head_tail_mm: float = 0.0,
) -> Sheet:
    """Return the sheet that gives the page after folding and trimming.

    head_tail: what is cut off at head and at tail, mm each, 0 when only the fore-edge is trimmed. Width as in
    `matref.book.creep.sheet_width_before_trim_mm`; height H + 2·h. Exact.

    >>> sheet = sheet_to_cut(100, 150, 4, 100, 2, head_tail_mm=3)
    >>> round(sheet.width_mm, 1), sheet.height_mm
    (204.4, 156.0)
    """
    width = sheet_width_before_trim_mm(page_width_mm, sheets_per_section, leaf_um, clean_cut_mm)
    return Sheet(width, page_height_mm + 2 * not_negative(head_tail_mm, "trim at head and tail, mm", 3))


def supply(pile: Salvage, sheet: Sheet, page_width_mm: float, page_height_mm: float) -> Supply:
    """Return how the sheets are cut from the pile, grain along the spine preferred.

    BadInput with the largest page that would fit when no sheet fits the leaf either way round.
    """
    ways = turns(pile.long_mm, pile.short_mm, sheet.width_mm, sheet.height_mm, pile.grain, pile.edge_mm)
    if not any(way.pieces for way in ways):
        raise _too_big(pile, sheet, page_width_mm, page_height_mm)
    chosen = preferred(ways)
    other = ways[1] if chosen is ways[0] else ways[0]
    said = []
    if chosen.grain_along_spine is False:
        said.append(
            f"the grain runs across the spine: {page_width_mm:g} x {page_height_mm:g} mm pages fit this leaf only that "
            f"way; {_along(pile, sheet, page_width_mm, page_height_mm)} would have it along the spine"
        )
    elif chosen.grain_along_spine is None:
        said.append(f"grain not known: bend a leaf both ways and lay its easy way along the spine ({_choice(ways)})")
    elif other.pieces > chosen.pieces:
        said.append(
            f"turned the other way a leaf gives {other.pieces} sheets instead of {chosen.pieces}, "
            "but with the grain across the spine"
        )
    available = None if pile.leaves is None else chosen.pieces * count(pile.leaves, "leaves in the pile", 60)
    return Supply(sheet, chosen, chosen.pieces, available, other.pieces, tuple(said))


def _choice(ways: tuple[Turn, Turn]) -> str:
    return ", ".join(f"{way.pieces} a leaf with the spine along its {way.spine_along} side" for way in ways)


def _largest(pile: Salvage, sheet: Sheet, page_width_mm: float, page_height_mm: float, spine_along: str) -> str:
    edge, extra_w, extra_h = (
        2 * pile.edge_mm,
        sheet.width_mm - 2 * page_width_mm,
        sheet.height_mm - page_height_mm,
    )
    long, short = max(pile.long_mm, pile.short_mm) - edge, min(pile.long_mm, pile.short_mm) - edge
    across, along = (short, long) if spine_along == "long" else (long, short)
    width = int(min(page_width_mm, (across - extra_w) / 2))
    return f"{max(width, 0)} x {max(int(min(page_height_mm, along - extra_h)), 0)} mm"


def _along(pile: Salvage, sheet: Sheet, page_width_mm: float, page_height_mm: float) -> str:
    return f"a page of {_largest(pile, sheet, page_width_mm, page_height_mm, pile.grain)}"


def _too_big(pile: Salvage, sheet: Sheet, page_width_mm: float, page_height_mm: float) -> BadInput:
    either = [_largest(pile, sheet, page_width_mm, page_height_mm, side) for side in ("short", "long")]
    return BadInput(
        f"a page of {page_width_mm:g} x {page_height_mm:g} mm needs a sheet of {sheet.width_mm:.1f} x "
        f"{sheet.height_mm:.1f} mm, which a leaf of {pile.long_mm:g} x {pile.short_mm:g} mm does not give",
        expected=f"a page of {either[0]} (spine along the leaf's short side) or {either[1]} (long side)",
    )
