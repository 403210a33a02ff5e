"""The cover of a plan: which materials it has, and what is taken where the plan says nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from matref.book.structures.parts import Cover, Layer
from matref.planning.document import Values
from matref.planning.material import Material, Materials, Named
from matref.planning.schema import ROLES

_CARD = Named("cover_uncoated", wanted="material.grammage.soft_cover")
_BOARD = Named("greyboard", wanted_mm="board.thickness.standard")
_BOOK_CLOTH = Named("book_cloth")
_SIDES = Named(wanted="material.grammage.cover_paper")
_INLAY = Named("tag", wanted_mm="spine_piece.inlay.roberts")
_CASE = {
    "board": _BOARD,
    "cloth": _BOOK_CLOTH,
    "mull": Named("gauze_mull"),
    "lining": Named(wanted="material.grammage.spine_lining"),
    "endpaper": Named("drawing_cartridge", wanted="material.grammage.endpaper"),
}
NEEDED: Mapping[str, Mapping[str, Named]] = {
    "pamphlet": {"card": _CARD},
    "soft-cover": {"cloth": Named("plain_cotton"), "interfacing": Named("nonwoven_interfacing"), "card": _CARD},
    "long-stitch": {"card": _CARD},
    "link-stitch": {"board": _BOARD, "paper": _SIDES},
    "flat-back-case": _CASE,
    "quarter-case": {**_CASE, "paper": _SIDES},
    "rounded-case": {**_CASE, "card": _INLAY},
}
"""What each structure takes when the plan names nothing: a class, its grammage or thickness by a rule."""
USED: Mapping[str, frozenset[str]] = {
    "pamphlet": frozenset({"card"}),
    "soft-cover": frozenset({"cloth", "interfacing", "card"}),
    "long-stitch": frozenset({"cloth", "card", "lining"}),
    "link-stitch": frozenset({"board", "paper", "cloth", "endpaper"}),
    "flat-back-case": frozenset({"board", "cloth", "card", "endpaper", "mull", "lining"}),
    "quarter-case": frozenset({"board", "cloth", "card", "paper", "endpaper", "mull", "lining"}),
    "rounded-case": frozenset({"board", "cloth", "card", "endpaper", "mull", "lining"}),
}
"""The materials that each structure has a use for."""
TEXT_PAPER = "text"
"""What a plan says of endpapers that are cut from the text's own paper."""


@dataclass(frozen=True, slots=True)
class Covering:
    """The cover as the book takes it, its materials by role, and what the plan names without need."""

    cover: Cover
    materials: Mapping[str, Material]
    unused: tuple[str, ...]


def covering(structure: str, values: Values, materials: Materials, text_paper: Material) -> Covering:
    """Return the cover of a structure: what the plan names, and for the rest what is usual."""
    found: dict[str, Material] = {}
    unused = []
    for role in ROLES:
        named = _named(role, values)
        if role not in USED[structure]:
            unused += [f"cover.{key}" for key in (role, f"{role}_mm", f"{role}_gsm") if key in values]
            continue
        if values.text(role) == "none":
            continue
        if role == "endpaper" and named == Named(TEXT_PAPER):
            found[role] = replace(text_paper, role=role, assumed="")
        elif named is not None:
            found[role] = materials.find(role, named)
    usual = dict(NEEDED[structure])
    if "cloth" in found and structure in ("long-stitch", "link-stitch"):
        usual.pop("card", None)
        usual.pop("paper", None)
    for role, named in usual.items():
        if role not in found and values.text(role) != "none":
            found[role] = materials.find(role, replace(named, assumed=True))
    layers: dict[str, Layer] = {role: material.layer for role, material in found.items()}
    return Covering(Cover(**layers), found, tuple(unused))


def _named(role: str, values: Values) -> Named | None:
    """Return what the plan says of a material, None when it says nothing."""
    text, thickness, grammage = values.text(role), values.length(f"{role}_mm"), values.typed(f"{role}_gsm")
    if (text is None or text == "none") and thickness is None and grammage is None:
        return None
    return Named("" if text in (None, "none") else str(text), thickness, grammage)
