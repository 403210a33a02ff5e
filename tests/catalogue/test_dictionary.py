"""The data dictionary and the list of sources say what the data say."""

from __future__ import annotations

import csv
import json
import sqlite3
from collections import Counter

import pytest
from packaged_catalogue import catalogue

from matref.catalogue.dictionary import dictionary, sources
from matref.catalogue.package import data_folder, read_package

__all__ = ["catalogue"]
DATA = data_folder()
DESCRIBED = json.loads((DATA / "datapackage.json").read_text(encoding="utf-8"))["resources"]


@pytest.mark.parametrize(("name", "made"), [("DICTIONARY.md", dictionary), ("SOURCES.md", sources)])
def test_it_is_as_written_now(name: str, made) -> None:  # type: ignore[no-untyped-def]
    kept = (DATA / name).read_text(encoding="utf-8")
    assert made(read_package()) == kept, "run: python -m matref.catalogue.dictionary"


@pytest.mark.parametrize("table", DESCRIBED, ids=lambda table: table["name"])
def test_every_column_is_in_the_dictionary_with_its_unit(table) -> None:  # type: ignore[no-untyped-def]
    text = (DATA / "DICTIONARY.md").read_text(encoding="utf-8")
    section = text.split(f"\n### {table['name']}\n")[1].split("\n### ")[0]
    with (DATA / table["path"]).open(encoding="utf-8", newline="") as file:
        heading = next(csv.reader(file))
    rows = [line.strip("| ").split(" | ") for line in section.splitlines() if line.startswith("| `")]
    assert [row[0].strip("`") for row in rows] == heading
    for row, field in zip(rows, table["schema"]["fields"], strict=True):
        assert row[2].strip() == field.get("unit", "")
        assert field["description"].replace("|", "\\|") in row[3]


def test_every_source_is_listed_once_with_the_rows_that_name_it() -> None:
    text = (DATA / "SOURCES.md").read_text(encoding="utf-8")
    named: Counter[str] = Counter()
    for path in DATA.glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            named.update(row["source_id"] for row in csv.DictReader(file) if "source_id" in row)
    with (DATA / "sources.csv").open(encoding="utf-8", newline="") as file:
        ids = [row["id"] for row in csv.DictReader(file)]
    for source_id in ids:
        assert text.count(f"`{source_id}` ({named[source_id]})") == 1
    assert f"{len(ids)} sources" in text
    assert text.count("\n- ") == len(ids)


def test_the_views_in_it_are_those_of_the_file(catalogue: sqlite3.Connection) -> None:
    views = (DATA / "DICTIONARY.md").read_text(encoding="utf-8").split("\n## Views\n")[1]
    names = {name for (name,) in catalogue.execute("SELECT DISTINCT table_name FROM codebook")}
    views_of_file = {name for (name,) in catalogue.execute("SELECT name FROM sqlite_master WHERE type = 'view'")}
    for name in views_of_file & names:
        columns = [row[1] for row in catalogue.execute(f'PRAGMA table_info("{name}")')]
        section = views.split(f"### {name}\n")[1].split("\n### ")[0]
        assert [line.split("`")[1] for line in section.splitlines() if line.startswith("| `")] == columns
