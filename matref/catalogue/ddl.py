"""From the data package's description of a table to SQL: STRICT, with keys, CHECKs and indexes.

The CHECKs come from the columns' own limits (enum, minimum, maximum), from the unit at the end of a column's
name (a length or a mass is positive), from pairs low/high, and from what paper, board and cloth can weigh.
"""

from __future__ import annotations

import re

from matref.catalogue.package import Field, Table, Value
from matref.database import quote

_SQL_TYPES = {"string": "TEXT", "integer": "INTEGER", "year": "INTEGER", "boolean": "INTEGER", "number": "REAL"}
_POSITIVE = re.compile(r"(_mm|_um|_in|_gsm|_g_cm3|_per_lb)$|^(factor|tex|sheets|bundle_count)$")

SHEET_G_CM3 = (0.1, 1.6)
"""Density of paper and board: a loose tissue weighs more than 0.1; cellulose without air, some filler in it,
about 1.6."""
CLOTH_G_CM3 = (0.03, 1.6)
"""Density of cloth, felt and wadding, which hold more air."""

_DENSITIES = {
    "reading": ("grammage_gsm", "caliper_um", 1.0, CLOTH_G_CM3),
    "board": ("grammage_gsm", "thickness_mm", 1000.0, SHEET_G_CM3),
    "fabric": ("mass_gsm", "thickness_mm", 1000.0, CLOTH_G_CM3),
}


def create_table(table: Table) -> str:
    """Return the CREATE TABLE statement of a catalogue table."""
    lines = [_column(table, field) for field in table.fields]
    if len(table.primary_key) > 1:
        lines.append(f"PRIMARY KEY ({_list(table.primary_key)})")
    lines += [
        f"FOREIGN KEY ({_list(key.columns)}) REFERENCES {quote(key.table)} ({_list(key.references)})"
        for key in table.foreign_keys
    ]
    lines += [f"CONSTRAINT {quote(name)} CHECK ({test})" for name, test in checks(table)]
    return f"CREATE TABLE {quote(table.name)} (\n  " + ",\n  ".join(lines) + "\n) STRICT"


def create_indexes(table: Table) -> list[str]:
    """Return an index for each foreign key and one for looking up names without regard to case."""
    statements = []
    for key in table.foreign_keys:
        name = quote("_".join((table.name, *key.columns)))
        statements.append(f"CREATE INDEX {name} ON {quote(table.name)} ({_list(key.columns)})")
    if table.has("name"):
        statements.append(f"CREATE INDEX {quote(f'{table.name}_name')} ON {quote(table.name)} (name COLLATE NOCASE)")
    return statements


def create_triggers(table: Table) -> list[str]:
    """Return the rule that a CHECK cannot hold: a paper or board in the fit is denser than cloth may be.

    An open mending tissue is looser; it stays with the reason in `flag`, out of the fit.
    """
    if table.name != "reading" or not table.has("used_in_fit"):
        return []
    low, high = SHEET_G_CM3
    return [
        f"""CREATE TRIGGER reading_density_{event.lower()} BEFORE {event} ON reading
WHEN NEW.used_in_fit = 1 AND NEW.grammage_gsm / NEW.caliper_um NOT BETWEEN {low} AND {high}
  AND EXISTS (SELECT 1 FROM material_class WHERE id = NEW.class_id AND family IN ('paper', 'board'))
BEGIN SELECT RAISE(ABORT, 'a paper or board in the fit has a density of {low} to {high} g/cm3'); END"""
        for event in ("INSERT", "UPDATE")
    ]


def checks(table: Table) -> list[tuple[str, str]]:
    """Return the names and conditions of a table's CHECKs."""
    found = [pair for field in table.fields for pair in _field_checks(field)]
    found += _order_checks(table)
    if table.name in _DENSITIES:
        mass, thickness, scale, (low, high) = _DENSITIES[table.name]
        if table.has(mass) and table.has(thickness):
            density = f"{quote(mass)} / ({quote(thickness)} * {scale})"
            found.append((f"density of {low} to {high} g/cm3", f"{density} BETWEEN {low} AND {high}"))
    return found


def _column(table: Table, field: Field) -> str:
    parts = [quote(field.name), _SQL_TYPES[field.type]]
    if table.primary_key == (field.name,):
        parts.append("PRIMARY KEY")
    if field.required or field.name in table.primary_key:
        parts.append("NOT NULL")
    if field.unique and table.primary_key != (field.name,):
        parts.append("UNIQUE")
    return " ".join(parts)


def _field_checks(field: Field) -> list[tuple[str, str]]:
    name = quote(field.name)
    found = []
    if field.type == "boolean":
        found.append((f"{field.name} is 0 or 1", f"{name} IN (0, 1)"))
    elif field.enum:
        found.append((f"{field.name} is one of its kinds", f"{name} IN ({', '.join(map(_literal, field.enum))})"))
    if field.type in ("number", "integer") and _POSITIVE.search(field.name):
        found.append((f"{field.name} is positive", f"{name} > 0"))
    if field.minimum is not None:
        found.append((f"{field.name} at least {field.minimum}", f"{name} >= {field.minimum}"))
    if field.maximum is not None:
        found.append((f"{field.name} at most {field.maximum}", f"{name} <= {field.maximum}"))
    return found


def _order_checks(table: Table) -> list[tuple[str, str]]:
    """Return low <= value <= high for every such set of columns: thickness_low_mm, thickness_mm, ..."""
    found = []
    for field in table.fields:
        words = field.name.split("_")
        if "low" not in words or field.type not in ("number", "integer"):
            continue
        at = words.index("low")
        middle = "_".join(words[:at] + words[at + 1 :]) or "value"
        high = "_".join([*words[:at], "high", *words[at + 1 :]])
        for below, above in ((field.name, middle), (middle, high), (field.name, high)):
            if table.has(below) and table.has(above):
                found.append((f"{below} up to {above}", f"{quote(below)} <= {quote(above)}"))
    return found


def _literal(value: Value) -> str:
    if isinstance(value, str):
        return "'" + value.replace("'", "''") + "'"
    return str(value)


def _list(names: tuple[str, ...]) -> str:
    return ", ".join(map(quote, names))
