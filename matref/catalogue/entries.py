"""What full-text search reads: one `entry` for each row of the catalogue, under names and descriptions."""

from __future__ import annotations

from collections.abc import Iterator

from matref.catalogue.package import Package, Table, Value

ENTRY_TABLES = (
    """CREATE TABLE entry (
  id INTEGER PRIMARY KEY,
  kind TEXT NOT NULL,
  entry_id TEXT NOT NULL,
  name TEXT NOT NULL,
  synonyms TEXT NOT NULL,
  body TEXT NOT NULL,
  UNIQUE (kind, entry_id)
) STRICT""",
    """CREATE VIRTUAL TABLE entry_fts USING fts5 (
  name, synonyms, body, content = 'entry', content_rowid = 'id',
  tokenize = 'unicode61 remove_diacritics 2', prefix = '2 3'
)""",
    "CREATE VIRTUAL TABLE entry_vocab USING fts5vocab ('entry_fts', 'row')",
)
INSERT_ENTRY = "INSERT INTO entry (kind, entry_id, name, synonyms, body) VALUES (?, ?, ?, ?, ?)"
FILL_INDEX = "INSERT INTO entry_fts (entry_fts) VALUES ('rebuild')"

_NAMED_BY = ("name", "term", "title", "description", "hazard")
_NOT_READ = ("url", "source_id", "period")


def entries(package: Package) -> Iterator[tuple[str, str, str, str, str]]:
    """Yield kind (the table), id, name, synonyms and body (all its other words) of every row that has a name.

    A table without names says something of another table's rows, and is found with them.
    """
    for table in package.tables:
        named_by = next((column for column in _NAMED_BY if table.has(column)), None)
        if named_by is None:
            continue
        for row in table.rows():
            yield _entry(table, row, named_by)


def _entry(table: Table, row: dict[str, Value], named_by: str) -> tuple[str, str, str, str, str]:
    words = [
        str(row[field.name])
        for field in table.fields
        if field.type == "string"
        and row[field.name] is not None
        and field.name not in (named_by, "synonyms", *_NOT_READ)
    ]
    entry_id = str(row["id"])
    name = str(row[named_by] or entry_id)
    return table.name, entry_id, name, str(row.get("synonyms") or ""), " ".join(words)
