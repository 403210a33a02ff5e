"""Compile the data package into the workshop file: tables, views, search and the fitted model, as a whole."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime

from matref.catalogue import ddl, entries
from matref.catalogue.package import Package, Table, read_package
from matref.catalogue.views import VIEWS, View
from matref.database import quote
from matref.errors import FileTrouble
from matref.migrations import CATALOGUE_FORMAT
from matref.own_tables import own_tables

Fit = Callable[[sqlite3.Connection], None]
"""Fits the estimator from the tables of the connection and stores it there; must not commit."""

_CODEBOOK = """CREATE TABLE codebook (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  position INTEGER NOT NULL,
  unit TEXT NOT NULL,
  type TEXT NOT NULL,
  title TEXT NOT NULL,
  description TEXT NOT NULL,
  origin TEXT NOT NULL CHECK (origin IN ('stored', 'computed')),
  PRIMARY KEY (table_name, column_name)
) STRICT"""


def compile_into(connection: sqlite3.Connection, *, package: Package | None = None, fit: Fit | None = None) -> None:
    """Replace the catalogue in the connection's file by `package` (None: the packaged data), then fit.

    Call it inside a transaction: when it raises, rolling back leaves the catalogue that was there. `fit` None
    is the estimator's own. Personal tables are not touched.
    """
    package = package or read_package()
    package.verify()
    connection.execute("PRAGMA defer_foreign_keys = ON")  # ends by itself with the transaction
    _drop_catalogue(connection)
    objects = [_create(connection, "TABLE", table.name, ddl.create_table(table)) for table in package.tables]
    for table in package.tables:
        for statement in (*ddl.create_indexes(table), *ddl.create_triggers(table)):
            connection.execute(statement)
    for table in package.tables:
        _fill(connection, table)
    _check_references(connection)
    tables = {table.name for table in package.tables}
    views = [view for view in VIEWS if tables.issuperset(view.tables)]
    objects.append(_create(connection, "TABLE", "codebook", _CODEBOOK))
    _fill_codebook(connection, package, views)
    for name, statement in zip(("entry", "entry_fts", "entry_vocab"), entries.ENTRY_TABLES, strict=True):
        objects.append(_create(connection, "TABLE", name, statement))
    connection.executemany(entries.INSERT_ENTRY, entries.entries(package))
    connection.execute(entries.FILL_INDEX)
    objects += [_create(connection, "VIEW", view.name, view.create()) for view in views]
    _note(connection, package, objects)
    if fit is None:
        from matref.estimator.store import fit_into

        fit = fit_into
    fit(connection)


def _drop_catalogue(connection: sqlite3.Connection) -> None:
    row = connection.execute("SELECT value FROM info WHERE key = 'catalogue_objects'").fetchone()
    for kind, name in reversed(json.loads(row[0]) if row else []):
        connection.execute(f"DROP {kind} IF EXISTS {quote(name)}")


def _create(connection: sqlite3.Connection, kind: str, name: str, statement: str) -> tuple[str, str]:
    connection.execute(statement)
    return kind, name


def _fill(connection: sqlite3.Connection, table: Table) -> None:
    marks = ", ".join("?" * len(table.fields))
    insert = f"INSERT INTO {quote(table.name)} VALUES ({marks})"
    for row in table.rows():
        try:
            connection.execute(insert, tuple(row.values()))
        except sqlite3.IntegrityError as error:
            key = ", ".join(str(row[column]) for column in table.primary_key)
            raise FileTrouble(f"data file {table.path.name}, row {key}: {error}") from error


def _check_references(connection: sqlite3.Connection) -> None:
    for child, rowid, parent, number in connection.execute("PRAGMA foreign_key_check").fetchall():
        keys = connection.execute(f"PRAGMA foreign_key_list({quote(child)})").fetchall()
        column = next(key[3] for key in keys if key[0] == number)
        value = connection.execute(f"SELECT {quote(column)} FROM {quote(child)} WHERE rowid = ?", (rowid,)).fetchone()[
            0
        ]
        raise FileTrouble(f"data table {child}: {column} {value!r} is not in {parent}")


def _fill_codebook(connection: sqlite3.Connection, package: Package, views: list[View]) -> None:
    insert = "INSERT INTO codebook VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
    for table in package.tables:
        for position, field in enumerate(table.fields):
            row = (table.name, field.name, position, field.unit, field.type, field.title, field.description)
            connection.execute(insert, (*row, "stored"))
    stored = {f"{table.name}.{field.name}": field for table in package.tables for field in table.fields}
    for view in views:
        for position, column in enumerate(view.columns):
            shown = stored.get(column.sql)
            kind, text = (shown.type, shown.description) if shown else ("number", column.computed)
            row = (view.name, column.heading, position, column.unit, kind, column.heading, text)
            connection.execute(insert, (*row, "stored" if shown else "computed"))
    for own in own_tables():
        for position, kept in enumerate(own.columns):
            title = kept.name.replace("_", " ")
            connection.execute(
                insert, (own.name, kept.name, position, kept.unit, kept.type, title, kept.meaning, "stored")
            )


def _note(connection: sqlite3.Connection, package: Package, objects: list[tuple[str, str]]) -> None:
    facts = {
        "edition": package.edition,
        "data_licence": package.licence,
        "catalogue_format": str(CATALOGUE_FORMAT),
        "catalogue_objects": json.dumps(objects),
        "compiled_at": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    connection.executemany("INSERT OR REPLACE INTO info VALUES (?, ?)", facts.items())
