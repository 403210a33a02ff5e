"""What stands in a workshop file and where it is from, to read without a program: `DICTIONARY.md` and `SOURCES.md`.

Run `python -m matref.catalogue.dictionary` after every change of `datapackage.json`, `sources.csv` or the personal
tables; the tests fail until it is done.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from matref.catalogue.package import Field, Package, Table, Value, data_folder, read_package
from matref.catalogue.views import VIEWS, View
from matref.own_tables import OwnTable, own_tables

_OWN = (
    "## Your own tables\n\nWhat you put into a workshop file: no edition of the data replaces it. Change it with "
    "`matref sample`, `finished` and `stock` rather than in SQL, which keeps no history; the last tables are kept by "
    "the file itself."
)
_FITTED = "## The fitted model\n\nWritten anew with every edition of the data and by `matref model fit`."
_MADE = "Written by `python -m matref.catalogue.dictionary`; do not change it by hand."


def dictionary(package: Package) -> str:
    """Return every table and column of the package, the views over them, then a person's own tables, as Markdown."""
    tables = [_table(table) for table in package.tables]
    names = {table.name for table in package.tables}
    views = [_view(view) for view in VIEWS if names.issuperset(view.tables)]
    head = f"# Data dictionary\n\n{_MADE} From `datapackage.json`, the description of the tables.\n\n## Tables"
    below = "## Views\n\nWhat people browse: the tables above, joined. Columns without a note are stored ones."
    own = own_tables()
    return (
        "\n\n".join(
            [
                head,
                *tables,
                below,
                *views,
                _OWN,
                *(_own_table(table) for table in own if table.personal),
                _FITTED,
                *(_own_table(table) for table in own if not table.personal),
            ]
        )
        + "\n"
    )


def sources(package: Package) -> str:
    """Return every source with the number of rows that name it, by kind, as Markdown."""
    named: Counter[Value] = Counter()
    for table in package.tables:
        if any(field.name == "source_id" for field in table.fields):
            named.update(row["source_id"] for row in table.rows())
    by_kind: dict[str, list[dict[str, Value]]] = {}
    for row in package.table("source").rows():
        by_kind.setdefault(str(row["kind"]), []).append(row)
    total = sum(len(rows) for rows in by_kind.values())
    head = (
        f"# Sources\n\n{_MADE} From `sources.csv`.\n\n"
        f"{total} sources. Grade A: a standard, a government specification, research or a reference work; B: a maker, "
        "the trade or an old handbook; C: a shop, a forum or a chart that repeats another. The number in brackets "
        "counts the rows of all tables that rest on the source."
    )
    sections = [
        "\n".join([f"## {kind.capitalize()}", "", *(_source(row, named[row["id"]]) for row in rows)])
        for kind, rows in sorted(by_kind.items())
    ]
    return "\n\n".join([head, *sections]) + "\n"


def _table(table: Table) -> str:
    head = f"### {table.name}\n\n{table.title}: {table.description} File `{table.path.name}`."
    keys = [f"`{', '.join(key.columns)}` names a row of [{key.table}](#{key.table})." for key in table.foreign_keys]
    return "\n\n".join([head, _columns(table.fields), *([" ".join(keys)] if keys else [])])


def _own_table(table: OwnTable) -> str:
    fields = [Field(c.name, c.type, "", c.meaning, c.unit, required=c.required) for c in table.columns]
    return f"### {table.name}\n\n{table.meaning}\n\n{_columns(fields)}"


def _columns(fields: Iterable[Field]) -> str:
    rows = [f"| `{field.name}` | {field.type} | {field.unit} | {_meaning(field)} |" for field in fields]
    return "\n".join(["| column | type | unit | meaning |", "|---|---|---|---|", *rows])


def _meaning(field: Field) -> str:
    """Return a column's meaning, with what it may hold."""
    words = [_cell(field.description)]
    if field.enum:
        words.append("One of: " + ", ".join(str(value) for value in field.enum) + ".")
    limits = [
        f"{sign} {limit:g}"
        for sign, limit in (("at least", field.minimum), ("at most", field.maximum))
        if limit is not None
    ]
    if limits:
        words.append(f"{' and '.join(limits).capitalize()}.")
    if field.required:
        words.append("Never empty.")
    return " ".join(words)


def _view(view: View) -> str:
    rows = [
        f"| `{column.heading}` | {column.unit} | {f'computed: {_cell(column.computed)}' if column.computed else ''} |"
        for column in view.columns
    ]
    return f"### {view.name}\n\n{view.title}.\n\n" + "\n".join(["| column | unit | note |", "|---|---|---|", *rows])


def _source(row: dict[str, Value], count: int) -> str:
    """Return one source as an item of a list: what was published, by whom, when, its grade, the rows it carries."""
    who = [str(row[name]) for name in ("author", "publisher") if row[name]]
    title = str(row["title"])
    where = f"[{title}]({row['url']})" if row["url"] else title
    parts = [where, ", ".join(dict.fromkeys(who)), str(row["year"] or "")]
    words = ". ".join(part.rstrip(".") for part in parts if part)
    return f"- {words}. Grade {row['grade']}. `{row['id']}` ({count})"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def write(folder: Path) -> None:
    """Write both into the folder of the data that is read."""
    package = read_package()
    for name, text in (("DICTIONARY.md", dictionary(package)), ("SOURCES.md", sources(package))):
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write(data_folder())
    sys.exit(0)
