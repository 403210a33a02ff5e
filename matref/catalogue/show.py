"""One entry of the catalogue with everything that is known of it: values, their meaning, every source."""

from __future__ import annotations

import sqlite3
from typing import Any

from matref.catalogue.rows import KINDS, Row, brief_sources, fetch, fetch_ids, fold, names_of
from matref.catalogue.search import as_entry, display_name, heading, near
from matref.errors import BadInput, NotFound, shown

_EXAMPLE = "matref show sheet_size:iso-a5"
_REFERENCE = "_id"
_USUAL = {"grammage": "grammage_gsm", "bulk": "bulk_cm3_g"}


def show(connection: sqlite3.Connection, entry_id: str, kind: str | None = None) -> dict[str, Any]:
    """Give one entry, by id, by 'kind:id', or by its exact name.

    Returns what `find` gives of it, with the whole source, and `columns` (unit and meaning of each value),
    `refers_to` (the entries it names by id, such as a thread's fibre), `related` (other entries of the same kind
    and name, which may disagree), for a class of material `readings` (count and ranges of its published pairs) and
    `usual` (within which grammages, and without readings also bulks, about four in five of it lie, as far as known),
    and `sources` (every source named above). NotFound with near names if there is no such entry; BadInput if
    entries of several kinds have that id.
    """
    kind, row = _one(connection, entry_id, kind)
    related = _related(connection, kind, row)
    readings = fetch(connection, "SELECT * FROM reading WHERE class_id = ?", (row["id"],))
    usual = fetch(connection, "SELECT * FROM usual_range WHERE class_id = ? ORDER BY quantity DESC", (row["id"],))
    readings, usual = (readings, usual) if kind == "material_class" else ([], [])
    ids = {other["source_id"] for other in (row, *related, *readings, *usual) if "source_id" in other}
    sources = fetch_ids(connection, "source", sorted(ids))
    brief = brief_sources(connection, ids)
    entry = as_entry(kind, row, brief)
    entry["source"] = row if kind == "source" else sources.get(row.get("source_id", ""), {})
    entry["columns"] = _columns(connection, kind, row)
    entry["refers_to"] = _references(connection, row)
    entry["related"] = [as_entry(kind, other, brief) for other in related]
    if readings:
        entry["readings"] = _summary(readings)
    if usual:
        entry["usual"] = {
            _USUAL[row["quantity"]]: {"low": row["low"], "high": row["high"], "source": row["source_id"]}
            for row in usual
        }
    entry["sources"] = [row] if kind == "source" else list(sources.values())
    return entry


def _one(connection: sqlite3.Connection, entry_id: str, kind: str | None) -> tuple[str, Row]:
    """Find the row meant, by id or else by name."""
    typed = entry_id.strip().encode(errors="replace").decode()
    before, colon, after = typed.partition(":")
    if kind is None and colon and before.strip() in KINDS:
        kind, typed = before.strip(), after.strip()
    if kind is not None and kind not in KINDS:
        raise BadInput(f"no kind of entry called '{kind[:40]}'", expected=", ".join(KINDS), example=_EXAMPLE)
    for column, text in (("entry_id", typed.lower()), ("name", typed)):
        found = [
            row
            for row in fetch(
                connection,
                f"SELECT kind, entry_id FROM entry WHERE {column} = ? COLLATE NOCASE",
                (text,),
            )
            if row["kind"] in KINDS and kind in (None, row["kind"])
        ]
        if len({row["kind"] for row in found}) > 1:
            options = ", ".join(f"{row['kind']}:{row['entry_id']}" for row in found[:5])
            raise BadInput(
                f"'{typed[:40]}' is the name of several entries",
                expected=f"one of {options}",
                example=f"matref show {found[0]['kind']}:{found[0]['entry_id']}",
            )
        if found:
            first = found[0]
            return first["kind"], fetch_ids(connection, first["kind"], [first["entry_id"]])[first["entry_id"]]
    raise _not_found(connection, typed, kind)


def _not_found(connection: sqlite3.Connection, typed: str, kind: str | None) -> NotFound:
    close = near(connection, typed)
    what = f"no {kind} called" if kind else "nothing called"
    return NotFound(
        f"{what} '{shown(typed)}'" + (f"; near: {', '.join(close)}" if close else ""),
        expected="an id that find prints",
        example=_EXAMPLE,
    )


def _columns(connection: sqlite3.Connection, kind: str, row: Row) -> dict[str, Row]:
    """Give unit and meaning of each value of the row, from the code-book."""
    described = fetch(
        connection,
        "SELECT column_name, unit, description FROM codebook WHERE table_name = ? ORDER BY position",
        (kind,),
    )
    return {
        heading(kind, cell["column_name"]): {"unit": cell.get("unit", ""), "meaning": cell.get("description", "")}
        for cell in described
        if cell["column_name"] in row and cell["column_name"] not in ("id", "name", "source_id")
    }


def _references(connection: sqlite3.Connection, row: Row) -> dict[str, Row]:
    """Give name and kind of the entries that the row names by id, sources apart."""
    found: dict[str, Row] = {}
    for column, cell in row.items():
        kind = {"class_id": "material_class"}.get(column, column.removesuffix(_REFERENCE))
        if column.endswith(_REFERENCE) and kind in KINDS and kind != "source":
            for other in fetch_ids(connection, kind, [cell]).values():
                found[column] = {"id": other["id"], "kind": kind, "name": display_name(kind, other)}
    return found


def _related(connection: sqlite3.Connection, kind: str, row: Row) -> list[Row]:
    """Give the other rows of the kind that go by the same name, up to its comma."""
    if kind in ("reading", "source", "caution"):
        return []
    head = fold(names_of(row)[0].partition(",")[0])
    rows = fetch(connection, f'SELECT * FROM "{kind}"')
    return [other for other in rows if other["id"] != row["id"] and fold(names_of(other)[0].partition(",")[0]) == head]


def _summary(readings: list[Row]) -> dict[str, Any]:
    """Give count and ranges of a class's published pairs, and how many of them the fit uses."""
    bulks = [row["caliper_um"] / row["grammage_gsm"] for row in readings]
    return {
        "count": len(readings),
        "used_in_fit": sum(bool(row.get("used_in_fit")) for row in readings),
        "grammage_gsm": _range([row["grammage_gsm"] for row in readings]),
        "caliper_um": _range([row["caliper_um"] for row in readings]),
        "bulk_cm3_g": _range([round(bulk, 4) for bulk in bulks]),
    }


def _range(values: list[float]) -> dict[str, float]:
    return {"low": min(values), "high": max(values)}
