"""Thread: counts, tickets and deniers to tex, with the diameter that the fibre's yarn density gives."""

from __future__ import annotations

import math
import re
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from matref.book.thread import diameter_mm, tex_from_direct_count, tex_from_indirect_count
from matref.catalogue.conversion.question import Question, Words, aliases, matching, spell
from matref.catalogue.conversion.reading import Reading
from matref.catalogue.rows import Row, fetch, fold, names_of, said

_COUNT: Final = re.compile(r"(?<![\d.,/])(\d{1,5}(?:[.,]\d{1,3})?)(?: ?([a-z]*) ?/ ?(\d{1,2}))?(?![\d.,/])", re.ASCII)
_NOISE: Final = frozenset({"thread", "threads", "yarn", "no", "number"})
_MOST_PLIES: Final = 12
_MOST_TEX: Final = 10_000


@dataclass(frozen=True, slots=True)
class _Tables:
    """The tables that bear on thread."""

    systems: list[Row]
    fibres: list[Row]
    threads: list[Row]

    def in_use(self, fibre: Row | None = None) -> list[Row]:
        """Give the count systems that listed threads (of a fibre) go by, the commonest first."""
        used = [
            row["count_system_id"]
            for row in self.threads
            if "count_system_id" in row and fibre in (None, self.fibre_of(row))
        ]
        return sorted((row for row in self.systems if row["id"] in used), key=lambda row: -used.count(row["id"]))

    def fibre_of(self, thread: Row) -> Row | None:
        """Give the fibre of a listed thread."""
        return next((row for row in self.fibres if row["id"] == thread.get("fibre_id")), None)

    def usual_fibre(self, system: Row) -> Row | None:
        """Give the fibre of most listed threads that go by a system; none for tex, which is for all (ISO 1144)."""
        if system["direct"] and math.log10(system["factor"]).is_integer():
            return None
        used = [
            row["fibre_id"] for row in self.threads if row.get("count_system_id") == system["id"] and "fibre_id" in row
        ]
        return max(self.fibres, key=lambda row: used.count(row["id"])) if used else None


def from_thread(connection: sqlite3.Connection, question: Question) -> list[Reading]:
    """Read a thread such as '18/3 linen', 'Ne 40/2', 'Tkt 40', '210 den' or 'tex 30': its linear density in tex.

    Where no count system is named, those that go with the fibre are readings, and the metric count, which is
    written the same way. Twist take-up is left out. Each reading has the diameter of a round thread of its fibre,
    `{value, low, high}` in mm, over the range of yarn densities listed.
    """
    match = _COUNT.search(question.text)
    if match is None:
        return []
    count, plies = float(match[1].replace(",", ".")), int(match[3] or 1)
    around = question.text[: match.start()] + f" {match[2] or ''} " + question.text[match.end() :]
    words = tuple(word for word in fold(around) if word not in _NOISE)
    if not 0 < plies <= _MOST_PLIES or count <= 0 or (not words and (not match[3] or plies > count)):
        return []
    tables = _Tables(
        fetch(connection, "SELECT * FROM count_system"),
        fetch(connection, "SELECT * FROM fibre"),
        fetch(connection, "SELECT * FROM thread"),
    )
    named, left = _named_systems(tables.systems, words)
    fibre = _fibre(tables.fibres, left)
    if left and fibre is None:
        name = tuple(sorted(question.whole))
        return [_by_name(tables, row) for row in tables.threads if "tex" in row and name in aliases(row)]
    systems = named or _unnamed_systems(tables, fibre, count, plies if match[3] else 0)
    ids = {row["id"] for row in systems}
    practices = [(kin, row) for row in systems for kin in _kin(tables.systems, row) if kin["id"] not in ids]
    readings = [
        _reading(tables, row, fibre or tables.usual_fibre(like), count, plies, exact=row is like)
        for row, like in [*((row, row) for row in systems), *practices]
    ]
    return [reading for reading in readings if reading is not None]


def _named_systems(systems: list[Row], words: Words) -> tuple[list[Row], Words]:
    """Give the count systems that the words name, by their longest name, and the words left over."""
    for size in range(len(words), 0, -1):
        for system in systems:
            for alias in aliases(system, brackets=True):
                if len(set(alias) - _NOISE) == size and set(alias) - _NOISE <= set(words):
                    left = tuple(word for word in words if word not in alias)
                    named = matching(systems, alias, brackets=True)
                    return named + [row for row in systems if row not in named and _kind_of(row, alias)], left
    return [], words


def _kind_of(system: Row, alias: Words) -> bool:
    """Tell whether a system's name ends in this one: cotton ticket is a kind of ticket."""
    return any(spell(name)[-len(alias) :] == alias for name in names_of(system))


def _fibre(fibres: list[Row], words: Words) -> Row | None:
    """Give the fibre that the words name, or the first whose names hold all of them."""
    if not words:
        return None
    for row in matching(fibres, words):
        return row
    return next((row for row in fibres if any(set(words) <= set(names) for names in aliases(row))), None)


def _unnamed_systems(tables: _Tables, fibre: Row | None, count: float, plies: int) -> list[Row]:
    """Give the systems in which a bare count is likely to be meant: by fibre, or by a listed thread of that count."""
    listed = {
        row["count_system_id"]
        for row in tables.threads
        if row.get("count") == count
        and row.get("plies") == plies
        and "count_system_id" in row
        and fibre in (None, tables.fibre_of(row))
    }
    likely = sorted(_plied(tables.in_use(fibre)), key=lambda row: row["id"] not in listed)
    metric = matching(tables.systems, ("count", "metric"))
    return list({row["id"]: row for row in [*likely, *metric]}.values())


def _plied(systems: Iterable[Row]) -> list[Row]:
    """Keep the systems whose number is that of one strand, the finer the higher."""
    return [row for row in systems if not row["direct"] and not row["resultant"]]


def _kin(systems: list[Row], system: Row) -> list[Row]:
    """Give the rows for a practice of the same count, named 'cotton count, some practice'."""
    names = aliases(system)
    return [row for row in systems if row is not system and "," in row["name"] and names & aliases(row)]


def _reading(
    tables: _Tables, system: Row, fibre: Row | None, count: float, plies: int, *, exact: bool
) -> Reading | None:
    strands = 1 if system["resultant"] else plies
    convert = tex_from_direct_count if system["direct"] else tex_from_indirect_count
    tex = convert(count, system["factor"], strands)
    if not 0 < tex <= _MOST_TEX:
        return None
    meaning = f"{system['name']} {count:g}" + (f", {strands} plies" if strands > 1 else "")
    return Reading(
        meaning + (f", {fibre['name']}" if fibre else ""),
        tex,
        "tex",
        exact,
        system["source_id"],
        entry=f"count_system:{system['id']}",
        note=said(system, "note"),
        more={"diameter_mm": _diameter(tables.fibres, fibre, tex), "other_counts": _others(tables, tex)},
    )


def _by_name(tables: _Tables, thread: Row) -> Reading:
    """Read a thread by the name it is sold under, 'size 69': the tex listed for it."""
    more = {"diameter_mm": _diameter(tables.fibres, tables.fibre_of(thread), thread["tex"])}
    note, entry = said(thread, "note"), f"thread:{thread['id']}"
    return Reading(thread["name"], thread["tex"], "tex", False, thread["source_id"], entry=entry, note=note, more=more)


def _diameter(fibres: list[Row], fibre: Row | None, tex: float) -> dict[str, Any]:
    """Give the diameter in mm of a round thread, d = √(4·tex/(π·ρ)), over the yarn densities ρ of its fibre.

    Without a fibre, over those of all fibres, with their geometric mean as the value.
    """
    among = [fibre] if fibre else fibres
    low = min(row["yarn_density_low_g_cm3"] for row in among)
    high = max(row["yarn_density_high_g_cm3"] for row in among)
    middle = fibre["yarn_density_g_cm3"] if fibre else math.sqrt(low * high)
    value, smallest, largest = (diameter_mm(tex, 1000 * density) for density in (middle, high, low))
    rests_on = [f"fibre:{fibre['id']}"] if fibre else [f"fibre:{row['id']}" for row in fibres]
    return {"value": value, "low": smallest, "high": largest, "rests_on": rests_on}


def _others(tables: _Tables, tex: float) -> dict[str, float]:
    """Give the same thread's number, as one strand, in the other systems that listed threads go by."""
    return {row["name"]: tex / row["factor"] if row["direct"] else row["factor"] / tex for row in tables.in_use()}
