"""What lies over each side of the block in the closed book, layer by layer."""

from __future__ import annotations

from matref.book.structures.parts import Cover, Layer

_SIDES = {
    "pamphlet": ("card",),
    "soft-cover": ("card", "interfacing", "cloth"),
    "flat-back-case": ("board", "cloth"),
    "quarter-case": ("board", "paper"),
    "rounded-case": ("board", "cloth"),
}


def sides(structure: str, cover: Cover) -> tuple[tuple[Layer, int], ...]:
    """Return the layers over one side, from the block outwards, each with how many times it lies there.

    Of a case they are those near the fore-edge, without the endpaper pasted down; of a sewn-through cover also those
    that the needle goes through.

    >>> [layer.name for layer, _ in sides("long-stitch", Cover(card=Layer("tag card", 0.4)))]
    ['tag card']
    """
    if structure == "long-stitch":
        roles: tuple[str, ...] = ("card",) if cover.cloth is None else ("cloth",)
    elif structure == "link-stitch":
        covering = "cloth" if cover.paper is None else "paper"
        roles = (covering if cover.endpaper is None else "endpaper", "board", covering)
    else:
        roles = _SIDES[structure]
    return tuple(
        (layer, roles.count(role)) for role in dict.fromkeys(roles) if (layer := getattr(cover, role)) is not None
    )
