"""The pages of what lies on a person's own shelf: list, add, take off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from matref.api import Workshop
from matref.errors import BadInput
from matref.quantities import parse_count
from matref.stock import GRAINS, MATERIALS, Pile
from matref.web.asking import Field, number
from matref.web.fields import LABEL, NOTE, Filled
from matref.web.offers import offers
from matref.web.records import PAGE, Records, unknown_action
from matref.web.shown import size
from matref.web.visit import Visit

_MATERIAL_WORDS = {
    "paper": "paper for the text",
    "cloth": "cloth",
    "interfacing": "interfacing",
    "card": "card",
    "board": "board",
    "endpaper": "paper for endpapers",
    "mull": "mull",
    "lining": "paper for linings",
}
_GRAIN_WORDS = {"long": "along the long side", "short": "along the short side", "none": "it has none"}
STOCK_FIELDS = (
    Field(
        "material",
        "What it is",
        kind="choice",
        choices=tuple((name, _MATERIAL_WORDS.get(name, name)) for name in MATERIALS),
        named="material",
        wanted=True,
    ),
    Field(
        "size",
        "Size of a piece",
        "A4, 600 × 450 mm, 24 × 18 in.",
        "600 x 450 mm",
        kind="size",
        named="size",
        wanted=True,
    ),
    Field("count", "How many", "1 if left empty.", "1", kind="count", noun="pieces", named="count"),
    Field(
        "grain",
        "Grain or warp runs",
        kind="choice",
        choices=(("", "not known"), *((name, _GRAIN_WORDS[name]) for name in GRAINS if name in _GRAIN_WORDS)),
        usual="unknown",
        named="grain",
    ),
    replace(LABEL, example="sailcloth offcut"),
    Field("price", "Price of one", "Hidden in the tables, as notes are.", "0.50", kind="number", named="price"),
    Field("sample", "The sample of it", kind="pick", offers="samples", named="sample"),
    Field(
        "entry",
        "Its id in the catalogue",
        "Then only plans that name this very material cut from it.",
        "canvas_duck",
        named="entry",
    ),
    NOTE,
)
STOCK_FORM: dict[str, Field] = {entry.name: entry for entry in STOCK_FIELDS}
"""The fields of a pile on the shelf."""


class StockPages(Records[Pile]):
    """Piles of leaves, remnants, boards and card."""

    path = "/-/stock"
    list_template = "stock.html"
    form_template = "stock_pile.html"
    form = STOCK_FORM
    private = ("note", "price")
    filters = ("material",)
    added = "On the shelf; plans may use it from now on."

    def listed(self, workshop: Workshop, asked: Mapping[str, str], start: int) -> list[Pile]:
        """Return what is on the shelf, of one material if asked."""
        found = workshop.stock.list(asked["material"] or None)[::-1]
        return found[start : start + PAGE + 1]

    def get(self, workshop: Workshop, name: str) -> Pile:
        """Return one pile that is on the shelf."""
        return workshop.stock.get(name)

    def keep(self, workshop: Workshop, filled: Filled, name: str | None) -> Pile:  # noqa: ARG002
        """Put a pile on the shelf."""
        for wanted in ("material", "size"):
            if not filled.typed.get(wanted):
                raise BadInput(f"its {wanted} is not given", expected=f"“{self.form[wanted].label}”")
        price = filled.typed.get("price", "")
        return workshop.stock.add(
            filled.typed["material"],
            filled.text("size"),
            count=_whole(filled.typed.get("count", "")) or 1,
            grain=filled.typed.get("grain") or "unknown",
            price=number(price, "price") if price else None,
            label=filled.typed.get("label", ""),
            note=filled.typed.get("note", ""),
            sample=filled.typed.get("sample") or None,
            entry=filled.typed.get("entry") or None,
        )

    def act(self, workshop: Workshop, name: str, action: str, filled: Filled) -> tuple[Pile, str]:
        """Take pieces off a pile, all of them where no count is given."""
        if action != "remove":
            raise unknown_action(action, "remove")
        left = workshop.stock.remove(name, _whole(filled.typed.get("count", "")))
        return left, f"{left.count} left of {left.name}." if left.count else f"{left.name} is off the shelf."

    def place(self, record: Pile) -> str:
        """Return where a pile is shown: the list, once nothing is left of it."""
        return super().place(record) if record.count else self.path

    async def around(self, visit: Visit, record: Pile | None) -> dict[str, Any]:  # noqa: ARG002
        """Return the words and choices of the form."""
        lists = await visit.desk.answer(("offers",), offers)
        return {"head": STOCK_FIELDS, "offers": lists, **await self.around_list(visit)}

    async def around_list(self, visit: Visit) -> dict[str, Any]:
        """Return the words of materials and grain, and how a size is shown."""
        units = visit.units
        return {
            "materials": _MATERIAL_WORDS,
            "grains": _GRAIN_WORDS,
            "size": lambda pile: size(pile.width_mm, pile.height_mm, units),
        }


def _whole(text: str) -> int | None:
    return int(parse_count(text, noun="pieces").value) if text else None
