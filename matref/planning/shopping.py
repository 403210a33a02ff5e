"""What has to be cut and bought: each material laid out on the shelf first, the rest on what the shop has."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from matref.book import cutting
from matref.book.cloth import cut_for_shrinkage_mm
from matref.book.stitching import Tapes
from matref.book.structures.parts import Part
from matref.errors import BadInput
from matref.estimator.support import Support
from matref.planning.material import Material
from matref.planning.shelf import Bolt, Piece, Shelf, Spool
from matref.planning.washing import Washing

_MOST_SHEETS = 24
_STEPS = 30_000


@dataclass(frozen=True, slots=True)
class Purchase:
    """Something to buy: what, how many sheets, spools or mm of a bolt, its cost (None without a price), in words."""

    what: str
    amount: float
    unit: str
    cost: float | None
    words: str
    layouts: tuple[dict[str, Any], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return plain values."""
        return {
            "what": self.what,
            "amount": self.amount,
            "unit": self.unit,
            "cost": self.cost,
            "words": self.words,
        }


@dataclass(frozen=True, slots=True)
class Need:
    """One material: its parts at their largest, how they lie on the shelf, and what is to be bought for the rest.

    open: parts that neither shelf nor shop gives (name, count); notes: what is to be said; rests_on: the rules taken.
    """

    role: str
    material: str
    material_id: str
    parts: tuple[cutting.Part, ...]
    on_shelf: tuple[dict[str, Any], ...] = ()
    shelf_cost: float = 0.0
    buy: Purchase | None = None
    open: tuple[tuple[str, int], ...] = ()
    notes: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()
    rests_on: tuple[Support, ...] = ()

    @property
    def area_m2(self) -> float:
        """Area of all parts, m²."""
        return sum(part.count * part.length_mm * part.width_mm for part in self.parts) / 1e6

    def as_json(self) -> dict[str, Any]:
        """Return plain values; sizes are width across the spine and height along it."""
        return {
            "role": self.role,
            "material": self.material,
            "material_id": self.material_id,
            "pieces": [
                {"name": p.name, "count": p.count, "width_mm": p.width_mm, "height_mm": p.length_mm} for p in self.parts
            ],
            "area_m2": self.area_m2,
            "from_shelf": [layout["piece"] for layout in self.on_shelf],
            "buy": None if self.buy is None else self.buy.as_json(),
            "not_covered": [{"name": name, "count": count} for name, count in self.open],
            "notes": list(self.notes),
        }

    def layouts(self) -> list[dict[str, Any]]:
        """Return every layout of this material, shelf first."""
        return [*self.on_shelf, *(() if self.buy is None else self.buy.layouts)]


def need(material: Material, parts: Sequence[Part], shelf: Shelf, washed: Washing) -> Need:
    """Lay one material's parts on the shelf's pieces of its role, the rest on sheets or a bolt of the shop.

    Parts are taken as large as they may turn out. washed: what washing does to this cloth.
    """
    asked = tuple(_asked(part) for part in parts)
    pieces = [piece for piece in shelf.pieces if piece.role == material.role]
    placed, left = _on_shelf(asked, pieces, shelf)
    used = [piece for piece, _ in placed]
    bought, missing = (None, ()) if not left else _bought(material, left, shelf, washed)
    return Need(
        material.role,
        material.name,
        material.layer.material_id,
        asked,
        tuple(layout for _, layout in placed),
        sum(piece.price for piece in used if piece.price is not None),
        bought,
        tuple((part.name, part.count) for part in missing),
        tuple(
            f"the grain of {piece.name} is not known: find it before cutting"
            for piece in dict.fromkeys(used)
            if piece.grain == "unknown"
        ),
        tuple(piece.name for piece in used if piece.price is None),
        washed.rests_on if bought and washed.words and washed.words in bought.words else (),
    )


def _asked(part: Part) -> cutting.Part:
    """A part of the cover as the layout takes it: length along the spine, with the grain; up to a tenth of a mm."""
    width = max(part.width_mm, part.width_high_mm)
    return cutting.Part(part.name, _up(part.height_mm), _up(width), part.count, "length")


def _up(mm: float) -> float:
    return math.ceil(10 * mm - 1e-6) / 10


def _on_shelf(
    parts: tuple[cutting.Part, ...], pieces: Sequence[Piece], shelf: Shelf
) -> tuple[list[tuple[Piece, dict[str, Any]]], tuple[cutting.Part, ...]]:
    """Return the pieces cut into with their layouts, and the parts that found no room on the shelf."""
    fitting = [part for part in parts if any(fits(part, piece) for piece in pieces)]
    if not fitting:
        return [], parts
    done = _laid(fitting, [_stock(piece, min(piece.count, _MOST_SHEETS)) for piece in pieces], shelf)
    missing = dict(done.missing)
    left = [_times(p, missing.get(p.name, 0) if p in fitting else p.count) for p in parts]
    drawn = done.as_json([piece.along for piece in pieces])
    laid = [(pieces[sheet.stock], layout) for sheet, layout in zip(done.sheets, drawn, strict=True)]
    return laid, tuple(part for part in left if part.count)


def _bought(
    material: Material, parts: tuple[cutting.Part, ...], shelf: Shelf, washed: Washing
) -> tuple[Purchase | None, tuple[cutting.Part, ...]]:
    """Return the cheapest purchase that gives the parts (without prices, the one of least area), else nothing."""
    found: list[tuple[float, Purchase]] = []
    for bolt in shelf.bolts:
        if bolt.role == material.role:
            found += _off_bolt(parts, bolt, shelf, washed.of(bolt.shrinkage))
    sheets = [sheet for sheet in shelf.sheets if sheet.role == material.role]
    for sheet in sheets:
        if all(fits(part, sheet) for part in parts):
            found.append(_sheets(parts, sheet, shelf))
    if not found:
        return None, parts
    priced = [purchase for _, purchase in found if purchase.cost is not None]
    if priced:
        return min(priced, key=lambda purchase: purchase.cost or 0.0), ()
    return min(found, key=lambda pair: pair[0])[1], ()


def _sheets(parts: tuple[cutting.Part, ...], sheet: Piece, shelf: Shelf) -> tuple[float, Purchase]:
    most = min(_MOST_SHEETS, sum(part.count for part in parts))
    done = _laid(parts, [_stock(sheet, most)], shelf)
    number = len(done.sheets)
    size = f"{sheet.short_mm:g} x {sheet.long_mm:g} mm"
    each = max((_grid(part, sheet) for part in parts), default=0)
    words = f"{count_of(number, 'sheet')} of {sheet.name}, {size}"
    if len(parts) == 1:
        words += f" ({each} to a sheet)"
    cost = None if sheet.price is None else number * sheet.price
    purchase = Purchase(sheet.name, number, "sheets", cost, words, tuple(done.as_json([sheet.along])))
    return number * sheet.long_mm * sheet.short_mm, purchase


def _off_bolt(
    parts: tuple[cutting.Part, ...], bolt: Bolt, shelf: Shelf, washed: Washing
) -> list[tuple[float, Purchase]]:
    """Cloth is sold by whole centimetres; what is bought and what it costs are those."""
    wide = bolt.width_mm * (1 - washed.share)
    if any(part.width_mm > wide for part in parts):
        return []
    done = cutting.least_length(parts, wide, blade_mm=shelf.blade_mm, keep_mm=shelf.keep_mm, steps=_STEPS)
    centimetres = math.ceil(cut_for_shrinkage_mm(done.length_mm, washed.share) / 10 - 1e-6)
    length = 10.0 * centimetres
    cost = None if bolt.price is None else bolt.price * length / 1000
    words = f"{centimetres} cm of {bolt.name}, {bolt.width_mm:g} mm wide{washed.words}"
    layout = done.layout.of_piece(bolt.name, done.part_names, 1, "length")
    return [(length * bolt.width_mm, Purchase(bolt.name, length, "mm", cost, words, (layout,)))]


def fits(part: cutting.Part, piece: Piece) -> bool:
    """Tell whether a part fits on a piece with its grain along the piece's."""
    return any(part.length_mm <= along and part.width_mm <= across for across, along in piece.ways)


def _grid(part: cutting.Part, piece: Piece) -> int:
    return max(int(along // part.length_mm) * int(across // part.width_mm) for across, along in piece.ways)


def _times(part: cutting.Part, count: int) -> cutting.Part:
    return cutting.Part(part.name, part.length_mm, part.width_mm, count, part.grain)


def _stock(piece: Piece, count: int) -> cutting.Piece:
    return cutting.Piece(piece.name, piece.long_mm, piece.short_mm, count, piece.along)


def _laid(parts: Sequence[cutting.Part], stock: Sequence[cutting.Piece], shelf: Shelf) -> cutting.Layouts:
    return cutting.lay_out(parts, stock, blade_mm=shelf.blade_mm, keep_mm=shelf.keep_mm, steps=_STEPS)


def thread_purchase(length_mm: float, name: str, shelf: Shelf) -> Purchase:
    """Return the thread to buy: the cheapest spools for sale (without prices the fewest), else the length alone."""
    return _rolled(length_mm, name, f"{length_mm / 1000:.1f} m of {name}", shelf.spools, "spool")


def tape_purchase(tapes: Tapes, shelf: Shelf) -> Purchase:
    """Return the tape to buy for the pieces that a book is sewn on, in the same way."""
    length_mm = tapes.count * tapes.length_mm
    name = f"tape {tapes.width_mm:g} mm wide"
    pieces = f"{count_of(tapes.count, 'piece')} of {tapes.length_mm:g} mm"
    bought = _rolled(length_mm, name, f"{math.ceil(length_mm / 10)} cm", shelf.tapes, "roll")
    return replace(bought, words=f"{bought.words}, for {pieces}")


def _rolled(length_mm: float, name: str, bare: str, rolls: Sequence[Spool], noun: str) -> Purchase:
    """bare: the length alone in words, for want of an offer."""
    metres = length_mm / 1000
    offers = [(math.ceil(metres / roll.length_m), roll) for roll in rolls]
    if not offers:
        return Purchase(name, length_mm, "mm", None, bare)
    priced = [(number * roll.price, number, roll) for number, roll in offers if roll.price is not None]
    if priced:
        _, number, roll = min(priced, key=lambda offer: offer[:2])
    else:
        number, roll = min(offers, key=lambda offer: offer[0])
    cost = None if roll.price is None else number * roll.price
    words = f"{count_of(number, noun)} of {roll.name}, {metres:.1f} m of {number * roll.length_m:g} m used"
    return Purchase(roll.name, number, f"{noun}s", cost, words)


def count_of(number: int, noun: str) -> str:
    """Return a number with its noun.

    >>> count_of(1, "sheet"), count_of(30, "leaf")
    ('1 sheet', '30 leaves')
    """
    plural = {"leaf": "leaves"}.get(noun, noun + "s")
    return f"{number} {noun if number == 1 else plural}"


def by_role(parts: Sequence[Part], materials: Mapping[str, Material]) -> list[tuple[Material, list[Part]]]:
    """Return the materials that parts are cut from, each with its parts, in the order of the parts."""
    roles = {material.name: material for material in materials.values()}
    found: dict[str, list[Part]] = {}
    for part in parts:
        if part.material not in roles:
            raise BadInput(f"{part.name} is cut from {part.material}, which the plan does not name")
        found.setdefault(part.material, []).append(part)
    return [(roles[name], cut) for name, cut in found.items()]
