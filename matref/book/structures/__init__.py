"""Structures: what to cut for each kind of book. One module each; all give parts for a block, a cover, a practice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from matref.book.practice import Practice
from matref.book.structures import flat_back, link_stitch, long_stitch, pamphlet, quarter, rounded, soft_cover
from matref.book.structures.parts import Block, Cover, Part
from matref.errors import BadInput

__all__ = ["STRUCTURES", "Block", "Cover", "Part", "Structure", "structure"]

Maker = Callable[[Block, Cover, Practice], tuple[Part, ...]]


@dataclass(frozen=True, slots=True)
class Structure:
    """A kind of book: its name, how its parts are made, and how it may be sewn.

    through_cover: sewn through the cover along lines; case: sewn on tapes with endpapers, in a case made apart;
    two_on: two sections may share one thread.
    """

    name: str
    parts: Maker
    by: tuple[str, ...]
    through_cover: bool = False
    case: bool = False
    two_on: bool = False


STRUCTURES = {
    made.name: made
    for made in (
        Structure("pamphlet", pamphlet.parts, ("hand", "machine"), through_cover=True),
        Structure("soft-cover", soft_cover.parts, ("machine", "hand"), through_cover=True),
        Structure("long-stitch", long_stitch.parts, ("hand",), through_cover=True),
        Structure("link-stitch", link_stitch.parts, ("hand",)),
        Structure("flat-back-case", flat_back.parts, ("hand",), case=True, two_on=True),
        Structure("quarter-case", quarter.parts, ("hand",), case=True, two_on=True),
        Structure("rounded-case", rounded.parts, ("hand",), case=True, two_on=True),
    )
}


def structure(name: str) -> Structure:
    """Return the structure of that name.

    >>> structure("long-stitch").by
    ('hand',)
    """
    if name not in STRUCTURES:
        raise BadInput(
            f'"{name}" is not a structure',
            expected="one of " + ", ".join(STRUCTURES),
            example='structure = "soft-cover"',
        )
    return STRUCTURES[name]
