"""What was typed, split once for all converters: its number, and the words around it in one spelling."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, TypeAlias

from matref.catalogue.rows import Row, fold, names_of
from matref.errors import BadInput
from matref.quantities.typed import Asked, scan_number, tidy
from matref.quantities.units import UNIT_OF

Words: TypeAlias = tuple[str, ...]

EXPECTED: Final = "a number with its unit, or the name of a size"
EXAMPLE: Final = "20 lb bond, 10 pt, 18/3 linen, needle 14, foolscap"

_START: Final = re.compile(r"(?<![a-z0-9.,/])[.,]?\d", re.ASCII)
_LEAST, _MOST = 1e-6, 1e9


@dataclass(frozen=True, slots=True)
class Question:
    """A typed text, tidied; `amount` is its number if it has one, `words` are the words around that.

    `text` is in lower-case ASCII as far as possible, `whole` its words with the number among them. `trouble` is
    why its number could not be read, to be raised if nothing else is made of the text.
    """

    typed: str
    text: str
    whole: Words
    amount: float | None
    words: Words
    trouble: BadInput | None = None


def ask(typed: str) -> Question:
    """Split what was typed; BadInput if it is empty or far too long.

    >>> question = ask("cover 65# paper")
    >>> question.amount, question.words
    (65.0, ('cover', 'lb', 'paper'))
    """
    asked = Asked("convert", typed.strip(), EXPECTED, EXAMPLE)
    text = tidy(asked)
    whole = spell(text)
    start = _START.search(text)
    if start is None:
        return Question(typed, text, whole, None, whole)
    before, after = text[: start.start()], text[start.start() :]
    if before.strip() == "-":
        before, after = "", text
    try:
        number, rest = scan_number(after, asked)
        asked.within(number, _LEAST, _MOST, "")
    except BadInput as trouble:
        return Question(typed, text, whole, None, whole, trouble)
    return Question(typed, text, whole, number.value, spell(before.replace("#", " no ")) + spell(rest))


def spell(text: str) -> Words:
    """Give the words of a text with units in their usual spelling, '#' as lb, '"' as in, × as x, without 'per'.

    >>> spell('ounces per yd^2'), spell('# text'), spell('8"'), spell('card 3 × 5 in')
    (('oz', 'yd2'), ('lb', 'text'), ('8', 'in'), ('card', '3', 'x', '5', 'in'))
    """
    plain = text.replace("^", "").replace("#", " lb ").replace('"', " in ").replace("×", " x ")
    return tuple(UNIT_OF.get(word, word) for word in fold(plain) if word != "per")


def aliases(row: Row, *, brackets: bool = False) -> set[Words]:
    """Give the spellings by which a row may be asked for: id, name, synonyms, and the name up to its comma.

    With `brackets`, also what stands before a bracket: 'Tkt (cotton)' may be asked for as Tkt.
    """
    names = names_of(row)
    names += [names[0].partition(",")[0], row["id"]]
    if brackets:
        names += [name.partition("(")[0] for name in names]
    return {tuple(sorted(words)) for name in names if (words := spell(name))}


def matching(rows: Iterable[Row], words: Words, *, brackets: bool = False) -> list[Row]:
    """Give the rows asked for by these words in any order, then those whose names differ only after a comma.

    'demy' finds 'demy printing, ream of 480', which has that synonym, and then the ream of 500. Rows keep their
    order; flagged ones come last.
    """
    wanted = tuple(sorted(words))
    rows = list(rows)
    named = [row for row in rows if wanted in aliases(row, brackets=brackets)]
    heads = {_head(row) for row in named} - {None}
    ids = {row["id"] for row in named}
    kin = [row for row in rows if row["id"] not in ids and _head(row) in heads]
    return sorted(named + kin, key=lambda row: "flag" in row)


def _head(row: Row) -> Words | None:
    """Give the words of a name up to its comma, if it has one."""
    head, comma, _ = names_of(row)[0].partition(",")
    return tuple(sorted(spell(head))) if comma else None
