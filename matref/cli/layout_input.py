"""Parts and pieces of stock as they are typed: a name, a size, a count, the grain."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from matref.errors import BadInput
from matref.quantities import Size, parse_size

if TYPE_CHECKING:
    from matref.book.cutting import Part, Piece

_COUNT = re.compile(r"[x×](\d+)")
_SETTING = re.compile(r"(\w+)=(\S*)")
_PART = '--part "board 156x104 x2 grain=length"'
_STOCK = '--stock "greyboard 700x1000 x1 grain=length"'


def part_of(text: str) -> Part:
    """Read a part.

    >>> part_of("front board 156x104 x2 grain=length")
    Part(name='front board', length_mm=156.0, width_mm=104.0, count=2, grain='length', nap=False)
    >>> part_of("cover 9 1/2 x 6 3/4 in").length_mm
    241.3
    """
    from matref.book.cutting import Part

    name, size, told = _read(text, _PART, ("grain", "nap"))
    return Part(
        name, size.width_mm, size.height_mm, int(told.get("count", 1)), told.get("grain", "either"), "nap" in told
    )


def piece_of(text: str) -> Piece:
    """Read a piece of stock; its grain is not known unless it is said.

    >>> piece_of("greyboard 700x1000 x3 grain=width price=4.20")
    Piece(name='greyboard', length_mm=700.0, width_mm=1000.0, count=3, grain='width', price=4.2)
    """
    from matref.book.cutting import Piece

    name, size, told = _read(text, _STOCK, ("grain", "price"))
    price = None
    if "price" in told:
        try:
            price = float(told["price"])
        except ValueError as error:
            raise BadInput(f'price "{told["price"][:20]}"', expected="a number", example="price=4.20") from error
    return Piece(name, size.width_mm, size.height_mm, int(told.get("count", 1)), told.get("grain", "unknown"), price)


def _read(text: str, example: str, known: tuple[str, ...]) -> tuple[str, Size, dict[str, str]]:
    """Return name, size and what else is told."""
    words, told = text.split(), {}
    while words:
        count, setting = _COUNT.fullmatch(words[-1]), _SETTING.fullmatch(words[-1])
        if words[-1] == "nap" and "nap" in known:
            key, value = "nap", ""
        elif count and len(words) > 2:
            key, value = "count", count[1]
        elif setting:
            key, value = setting[1], setting[2]
            if key not in known:
                raise BadInput(f'"{words[-1][:30]}" is not understood', expected=_expected(known), example=example)
        else:
            break
        if key in told:
            raise BadInput(f'"{text[:60]}" tells {key} twice', expected="each once", example=example)
        told[key] = value
        words.pop()
    return (*_named(words, text, example, known), told)


def _named(words: list[str], text: str, example: str, known: tuple[str, ...]) -> tuple[str, Size]:
    """Split name from size: the size is the longest end of the text that reads as one."""
    trouble: BadInput | None = None
    for place in range(1, len(words)):
        try:
            return " ".join(words[:place]), parse_size(" ".join(words[place:]), what="size")
        except BadInput as error:
            trouble = error if words[place][:1].isdigit() else trouble
    if trouble is not None and re.search(r"\d\s*[x×*]\s*\d", text):
        raise BadInput(f'"{text[:60]}": {trouble.wrong}', expected=trouble.expected, example=example) from trouble
    raise BadInput(f'"{text[:60]}" is no name with a size', expected=_expected(known), example=example)


def _expected(known: tuple[str, ...]) -> str:
    more = {"grain": "grain=length, width or either", "nap": "nap", "price": "price=4.20"}
    return "a name, a size, xCOUNT, " + ", ".join(more[key] for key in known)
