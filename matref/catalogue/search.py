"""Full-text search of the catalogue.

What a person types is split into words; each becomes one or more quoted phrases of the full-text query, so that
nothing typed acts as query syntax. Words that the glossary lists as meaning the same are looked for as well. A
number sorts finds rather than excluding them: '80 gsm copier' finds copier paper, 80 g/m² first.
"""

from __future__ import annotations

import math
import re
import sqlite3
from dataclasses import dataclass
from typing import Final, TypeAlias

from matref.catalogue.rows import KINDS, Row, brief_source, brief_sources, fetch, fetch_ids, fold, names_of
from matref.errors import BadInput
from matref.quantities.typed import Asked, scan_number, tidy
from matref.quantities.units import THICKNESS_UM, UNIT_OF

Phrase: TypeAlias = tuple[str, ...]
_Key: TypeAlias = tuple[int, int, float, int, int, str]

_LONGEST: Final = 200
_MOST_WORDS: Final = 12
_LONGEST_PHRASE: Final = 3
_EXAMPLE: Final = "matref find linen thread"
_GRAMMAGE: Final = frozenset({("g",), ("gsm",), ("g", "m2"), ("gm2",)})
_CLOSE: Final = 0.01
_WRITTEN: Final = re.compile(r"\d{1,9}(?:[.,]\d{1,9})?", re.ASCII)
_COMPARED: Final = {"gsm": {"gsm": 1.0}, "um": {"um": 1.0, "mm": 1000.0}}


@dataclass(frozen=True, slots=True)
class _Word:
    """A word in its own forms, with others that mean the same; or a number in its unit ('gsm', 'um' or '')."""

    own: tuple[Phrase, ...]
    alike: tuple[Phrase, ...] = ()
    number: float | None = None
    unit: str = ""

    @property
    def phrases(self) -> tuple[Phrase, ...]:
        """All that may stand for it."""
        return self.own + self.alike


def find(connection: sqlite3.Connection, words: str, kind: str | None = None, limit: int = 20) -> list[Row]:
    """Search names, synonyms and descriptions; the best finds come first.

    `kind` keeps one kind of entry (see `KINDS`); with a kind and no words its entries are listed as stored. A find is
    `{id, kind, name, values with their unit in the key, source: {id, title, year}}`; what a source does not
    state is left out. BadInput if there is nothing to look for, or no such kind.
    """
    if limit < 1:
        raise BadInput(f"a limit of {limit}", expected="one or more finds", example="--limit 20")
    if kind is not None and kind not in KINDS:
        raise BadInput(f"no kind called '{kind[:40]}'", expected=", ".join(KINDS), example="--kind board")
    if len(words) > _LONGEST:
        raise BadInput(f"{len(words)} characters", expected=f"{_LONGEST} or fewer", example=_EXAMPLE)
    query = _read(connection, words)
    if not query and kind is None:
        raise BadInput("nothing to look for", expected="a word or a number", example=_EXAMPLE)
    found = _candidates(connection, query, kind)
    whole = fold(words)
    ranked = [(_rank(name, row, query, whole), name, row) for name, row in found]
    if query and all(word.number is not None for word in query):
        ranked = [item for item in ranked if item[0][1] < 0]
    if query:
        ranked.sort(key=lambda item: item[0])
    ranked = ranked[:limit]
    sources = brief_sources(connection, (row["source_id"] for _, _, row in ranked if "source_id" in row))
    return [as_entry(name, row, sources) for _, name, row in ranked]


def as_entry(kind: str, row: Row, sources: dict[str, Row]) -> Row:
    """Give a row as an entry: id, kind, name, its values, its source."""
    entry: Row = {"id": row["id"], "kind": kind, "name": display_name(kind, row)}
    for key, cell in row.items():
        if key not in ("id", "name", "source_id"):
            entry[heading(kind, key)] = cell
    entry["source"] = brief_source(row) if kind == "source" else sources.get(row.get("source_id", ""), {})
    return entry


def heading(kind: str, column: str) -> str:
    """Give a column's key in an entry; readings, needles and sources have a kind of their own beside the entry's."""
    return f"{kind}_kind" if column == "kind" else column


def display_name(kind: str, row: Row) -> str:
    """Give the name that people see; cautions, readings and sources have none of their own."""
    if kind == "caution":
        return f"{row['step']}: {row['hazard']}"
    if kind == "reading":
        return f"{row.get('description', row['class_id'])}, {row['grammage_gsm']:g} g/m²"
    return str(row["title"]) if kind == "source" else names_of(row)[0]


def near(connection: sqlite3.Connection, words: str, most: int = 5) -> list[str]:
    """Give names and indexed words spelled most like what was typed, for 'nothing called X; near: …'."""
    from difflib import get_close_matches  # only an empty answer pays for the import

    typed = fold(words[:_LONGEST])[:_MOST_WORDS]
    if not typed:
        return []
    known: dict[str, str] = {}
    for entry in fetch(
        connection, "SELECT name, synonyms FROM entry WHERE kind NOT IN ('reading', 'source', 'caution')"
    ):
        for name in names_of({"id": "", **entry}):
            known.setdefault(" ".join(fold(name)), name)
    found = [str(known[key]) for key in get_close_matches(" ".join(typed), known, n=most, cutoff=0.7)]
    vocabulary = [str(row["term"]) for row in fetch(connection, "SELECT term FROM entry_vocab")]
    for word in typed:
        if not word.isdigit():
            alike = get_close_matches(word, vocabulary, n=2, cutoff=0.75)
            found += [known.get(term, term) for term in alike if term != word]
    return list(dict.fromkeys(found))[:most]


def _read(connection: sqlite3.Connection, words: str) -> list[_Word]:
    """Split what was typed into words and numbers; join and widen words by the glossary."""
    pieces = [piece for piece in words.split() if fold(piece)][:_MOST_WORDS]
    meanings = _meanings(connection) if pieces else {}
    query: list[_Word] = []
    while pieces:
        number, unit = _number(pieces[0])
        taken = 1
        if number is not None:
            if not unit and len(pieces) > 1:
                unit, taken = pieces[1], 2
            scale, unit = _unit(unit)
            if not unit:
                taken = 1
            query.append(_Word((fold(pieces[0]),), (), number * scale, unit))
        else:
            folded = list(map(fold, pieces))
            for taken in range(min(_LONGEST_PHRASE, len(pieces)), 0, -1):
                phrase: Phrase = sum(folded[:taken], ())
                if phrase in meanings:
                    break
            own = (phrase, *_singular(phrase))
            query.append(_Word(own, tuple(sorted(meanings.get(phrase, set()) - set(own)))))
        pieces = pieces[taken:]
    return query


def _meanings(connection: sqlite3.Connection) -> dict[Phrase, set[Phrase]]:
    """Give for every term and synonym of the glossary all that it may stand for."""
    meanings: dict[Phrase, set[Phrase]] = {}
    for row in fetch(connection, "SELECT id, term, synonyms FROM term"):
        group = {fold(name) for name in names_of(row)} - {()}
        for phrase in group:
            meanings.setdefault(phrase, set()).update(group)
    return meanings


def _singular(phrase: Phrase) -> tuple[Phrase, ...]:
    last = phrase[-1]
    return ((*phrase[:-1], last[:-1]),) if len(last) > 3 and last.isalpha() and last.endswith("s") else ()


def _number(piece: str) -> tuple[float | None, str]:
    """Give the number that a piece such as '80', '2,5' or '80gsm' starts with, and the rest; no fractions."""
    asked = Asked("number", piece, "a number", "80")
    if "/" in piece.split("g/")[0]:  # 18/3 and 90/14 are names, not fractions
        return None, ""
    try:
        number, rest = scan_number(tidy(asked), asked)
        return number.value, rest
    except BadInput:
        return None, ""


def _unit(word: str) -> tuple[float, str]:
    """Give the scale to the unit in which values are compared, and that unit; '' if the word is no such unit."""
    if fold(word) in _GRAMMAGE:
        return 1.0, "gsm"
    unit = UNIT_OF.get(word.lower(), word.lower().replace("µ", "u"))
    if unit in THICKNESS_UM:
        return THICKNESS_UM[unit][0] / THICKNESS_UM[unit][1], "um"
    return 1.0, ""


def _candidates(connection: sqlite3.Connection, query: list[_Word], kind: str | None) -> list[tuple[str, Row]]:
    """Give the rows that hold every word; if only numbers were typed, the rows that may hold one of them."""
    needed = [word for word in query if word.number is None]
    sql, values = "SELECT kind, entry_id FROM entry", []
    if needed or not any(word.unit for word in query):
        texts = [" OR ".join(map(_quoted, word.phrases)) for word in needed or query]
        if texts:
            joiner = " AND " if needed else " OR "
            sql += " WHERE rowid IN (SELECT rowid FROM entry_fts WHERE entry_fts MATCH ?)"
            values = [joiner.join(f"({text})" for text in texts)]
    ids: dict[str, list[str]] = {}
    for entry in fetch(connection, sql, values):
        if entry["kind"] in KINDS and kind in (None, entry["kind"]):
            ids.setdefault(entry["kind"], []).append(entry["entry_id"])
    return [(name, row) for name, wanted in ids.items() for row in fetch_ids(connection, name, wanted).values()]


def _quoted(phrase: Phrase) -> str:
    """Write a phrase so that the full-text engine takes it as words only; a last word of letters may go on."""
    return f'"{" ".join(phrase)}"' + (" *" if _open_ended(phrase) else "")


def _open_ended(phrase: Phrase) -> bool:
    return phrase[-1].isalpha() and len(phrase[-1]) > 1


def _rank(kind: str, row: Row, query: list[_Word], whole: Phrase) -> _Key:
    """Give the sort key of a find: whole name or id, numbers met, words in the name rather than elsewhere.

    A source's title counts as a description: who types 'needles' wants needles before a book about them.
    """
    names = names_of(row) if kind != "source" else [""]
    name, *synonyms = [fold(text) for text in names]
    exact = 0 if whole in (name, fold(row["id"])) else 1 if whole in synonyms else 2
    met, weight = 0, 0.0
    for word in query:
        if word.number is None:
            weight += _weight(word, name, synonyms)
        else:
            met += _meets(word.number, word.unit, row, names)
    return (exact, -met, -weight, KINDS.index(kind), len(name), row["id"])


def _meets(number: float, unit: str, row: Row, names: list[str]) -> int:
    """Tell how well a row meets a number: 2 if a value in that unit (without unit: its name) has it, 1 in a range."""
    if not unit:
        written = {text.replace(",", ".") for name in names for text in _WRITTEN.findall(name)}
        return 2 if any(math.isclose(float(text), number) for text in written) else 0
    met = 0
    for key, cell in row.items():
        ending = key.rsplit("_", 1)[-1]
        if ending not in _COMPARED.get(unit, {}):
            continue
        scale = _COMPARED[unit][ending]
        if math.isclose(cell * scale, number, rel_tol=_CLOSE):
            return 2
        high = row.get(key.replace("_low_", "_high_")) if "_low_" in key else None
        if high is not None and cell * scale <= number <= high * scale:
            met = 1
    return met


def _weight(word: _Word, name: Phrase, synonyms: list[Phrase]) -> float:
    """Give how prominent a word is in a row: most in the name, less in a synonym, as part of a word, by meaning."""
    best = 0.0
    for phrase in word.phrases:
        by_meaning = 0.0 if phrase in word.own else 1.5
        for place, names in ((6.0, [name]), (4.0, synonyms)):
            if any(_within(phrase, text, False) for text in names):
                best = max(best, place - by_meaning)
            elif any(_within(phrase, text, _open_ended(phrase)) for text in names):
                best = max(best, place - 1 - by_meaning)
    return best


def _within(phrase: Phrase, text: Phrase, open_ended: bool) -> bool:
    """Tell whether a phrase stands in a text; if `open_ended`, its last word may go on."""
    length = len(phrase)
    for start in range(len(text) - length + 1):
        part = text[start : start + length]
        if part == phrase or (open_ended and part[:-1] == phrase[:-1] and part[-1].startswith(phrase[-1])):
            return True
    return False
