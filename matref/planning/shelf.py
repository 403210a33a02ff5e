"""What there is for a plan: pieces on the shelf, from the file and from the stock table, and what the shop has."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass

from matref.errors import BadInput
from matref.planning.document import Document, Values
from matref.planning.material import Material
from matref.quantities import Size

_ALONG: Mapping[str, str] = {"long": "length", "short": "width", "none": "either", "unknown": "either"}
"""Grain of a piece as the cutting layout names it. An unknown grain is laid out freely, and that is said."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Pieces of one size for one role; long and short side, mm; the side along which the grain runs; price of one."""

    role: str
    name: str
    long_mm: float
    short_mm: float
    count: int
    grain: str
    price: float | None

    @property
    def along(self) -> str:
        """How the grain runs, in the words of `matref.book.cutting`."""
        return _ALONG[self.grain]

    @property
    def ways(self) -> tuple[tuple[float, float], ...]:
        """Its size across the grain and along it, mm; both ways round where either side may lie along the spine."""
        upright, turned = (self.short_mm, self.long_mm), (self.long_mm, self.short_mm)
        return {"length": (upright,), "width": (turned,), "either": (upright, turned)}[self.along]


@dataclass(frozen=True, slots=True)
class Bolt:
    """Cloth sold by length: width, mm, shrinkage as a share (None: not said), price of a metre."""

    role: str
    name: str
    width_mm: float
    shrinkage: float | None
    price: float | None


@dataclass(frozen=True, slots=True)
class Spool:
    """Thread on a spool, or tape on a roll: length, m, price of it."""

    name: str
    length_m: float
    price: float | None


@dataclass(frozen=True, slots=True)
class Shelf:
    """Everything at hand or for sale, and how to cut it."""

    pieces: tuple[Piece, ...]
    sheets: tuple[Piece, ...]
    bolts: tuple[Bolt, ...]
    spools: tuple[Spool, ...]
    tapes: tuple[Spool, ...]
    currency: str
    keep_mm: float
    blade_mm: float


def shelf(connection: sqlite3.Connection, document: Document, materials: Mapping[str, Material]) -> Shelf:
    """Return what a plan can be cut from; `materials` by role tell which rows of the stock table fit."""
    pieces = [_piece(values, number) for number, values in enumerate(document.pieces, 1)]
    if document.stock.flag("use_shelf", True):
        pieces += _from_table(connection, materials)
    sheets, bolts = [], []
    rolls: dict[str, list[Spool]] = {"thread": [], "tape": []}
    for values in document.shop:
        role = _required(values, "material")
        name = values.text("name") or role
        price = values.number("price")
        if role in rolls:
            rolls[role].append(Spool(name, _spool_m(values), price))
        elif (width := values.mm("width_mm")) is not None:
            share = values.number("shrinkage_pct")
            bolts.append(Bolt(role, name, width, None if share is None else share / 100, price))
        else:
            sheets.append(_sized(values, role, name, 0, values.text("grain") or "long"))
    keep, blade = document.stock.mm("keep_mm"), document.stock.mm("blade_mm")
    return Shelf(
        _named_apart(pieces),
        _named_apart(sheets),
        tuple(bolts),
        tuple(rolls["thread"]),
        tuple(rolls["tape"]),
        document.stock.text("currency") or "",
        30.0 if keep is None else keep,
        blade or 0.0,
    )


def _piece(values: Values, number: int) -> Piece:
    role = _required(values, "material")
    name = values.text("name") or f"{role} {number}"
    return _sized(values, role, name, values.whole("count") or 1, values.text("grain") or "unknown")


def _sized(values: Values, role: str, name: str, count: int, grain: str) -> Piece:
    size = values.size("size")
    if size is None:
        raise BadInput(
            f"{values.path}.size: is missing", expected="the two sides of the piece", example='size = "600 x 450 mm"'
        )
    return _laid(role, name, size, count, grain, values.number("price"))


def _laid(role: str, name: str, size: Size, count: int, grain: str, price: float | None) -> Piece:
    sides = size.width_mm, size.height_mm
    return Piece(role, name, max(sides), min(sides), count, grain, price)


def _from_table(connection: sqlite3.Connection, materials: Mapping[str, Material]) -> list[Piece]:
    """Rows of the stock table for a role of this plan: those that name no entry, or the one the plan names.

    Piles of paper are for the text unless their entry is the paper of the sides.
    """
    from matref.stock import Stock

    found = []
    for pile in Stock(connection).list():
        material = materials.get(pile.material)
        known = pile.entry or ("" if pile.material != "paper" else "text")
        if material is None or (known and known != material.layer.material_id):
            continue
        sides = pile.width_mm, pile.height_mm
        found.append(
            Piece(pile.material, pile.name, max(sides), min(sides), min(pile.count, 500), pile.grain, pile.price)
        )
    return found


def _named_apart(pieces: list[Piece]) -> tuple[Piece, ...]:
    """Number pieces that go by one name, so that a cutting list cannot confuse them."""
    seen: dict[tuple[str, str], int] = {}
    out = []
    for piece in pieces:
        key = piece.role, piece.name
        seen[key] = seen.get(key, 0) + 1
        name = piece.name if seen[key] == 1 else f"{piece.name} no. {seen[key]}"
        out.append(Piece(piece.role, name, piece.long_mm, piece.short_mm, piece.count, piece.grain, piece.price))
    return tuple(out)


def _required(values: Values, key: str) -> str:
    found = values.text(key)
    if found is None:
        raise BadInput(f"{values.path}.{key}: is missing", expected="what it is for", example='material = "cloth"')
    return found


def _spool_m(values: Values) -> float:
    length = values.number("length_m")
    if length is None:
        raise BadInput(
            f"{values.path}.length_m: is missing", expected="metres on the spool or roll", example="length_m = 100"
        )
    return length
