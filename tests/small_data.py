"""Fixtures shared by the tests. The small data package is invented; no value in it is a published one."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from matref.catalogue import package as packaged
from matref.catalogue.seal import seal

_ID = {"name": "id", "type": "string", "constraints": {"required": True, "unique": True}}
_NAME = {"name": "name", "type": "string", "constraints": {"required": True}}
_SOURCE_ID = {"name": "source_id", "type": "string", "constraints": {"required": True}}


def _key(column: str, table: str) -> dict[str, Any]:
    return {"fields": [column], "reference": {"resource": table, "fields": ["id"]}}


_TABLES: dict[str, tuple[list[dict[str, Any]], list[dict[str, Any]], list[dict[str, str]]]] = {
    "source": (
        [_ID, {"name": "title", "type": "string"}, {"name": "year", "type": "string"}],
        [],
        [{"id": "chandler-ledger", "title": "A ship chandler's invented ledger", "year": ""}],
    ),
    "material_class": (
        [
            _ID,
            _NAME,
            {"name": "family", "type": "string", "constraints": {"enum": ["paper", "board", "cloth"]}},
            {"name": "synonyms", "type": "string"},
            {"name": "recognise", "type": "string"},
            {"name": "uses", "type": "string"},
            {"name": "surface", "type": "string"},
            _SOURCE_ID,
        ],
        [_key("source_id", "source")],
        [
            {
                "id": "chart_paper",
                "name": "chart paper",
                "family": "paper",
                "synonyms": "sea chart; crème chart",
                "recognise": "stiff, soundings printed on it",
                "source_id": "chandler-ledger",
            },
            {"id": "sailcloth", "name": "sailcloth", "family": "cloth", "source_id": "chandler-ledger"},
        ],
    ),
    "reading": (
        [
            _ID,
            {"name": "class_id", "type": "string", "constraints": {"required": True}},
            {"name": "description", "type": "string"},
            {"name": "grammage_gsm", "type": "number", "unit": "g/m2", "constraints": {"required": True}},
            {"name": "caliper_um", "type": "number", "unit": "um", "constraints": {"required": True}},
            {"name": "kind", "type": "string"},
            {"name": "method", "type": "string"},
            {"name": "used_in_fit", "type": "boolean"},
            {"name": "flag", "type": "string"},
            _SOURCE_ID,
        ],
        [_key("source_id", "source"), _key("class_id", "material_class")],
        [
            {
                "id": f"chart-{gsm}",
                "class_id": "chart_paper",
                "description": f"chart paper {gsm}",
                "grammage_gsm": str(gsm),
                "caliper_um": str(1.25 * gsm),
                "kind": "nominal",
                "used_in_fit": "1",
                "source_id": "chandler-ledger",
            }
            for gsm in (80, 100, 120)
        ],
    ),
}


class SmallData:
    """An invented data package in a folder of its own, which a test may change and seal again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir()
        resources = []
        for name, (fields, keys, rows) in _TABLES.items():
            self.write(name, rows)
            described = [{"title": f["name"], "description": f["name"], **f} for f in fields]
            schema = {"fields": described, "primaryKey": ["id"], "foreignKeys": keys}
            resources.append(
                {
                    "name": name,
                    "path": f"{name}.csv",
                    "profile": "tabular-data-resource",
                    "title": name,
                    "description": name,
                    "schema": schema,
                }
            )
        self.describe({"name": "small", "version": "1", "licenses": [{"name": "CC0-1.0"}], "resources": resources})
        seal(folder)

    def write(self, table: str, rows: list[dict[str, str]]) -> None:
        names = [field["name"] for field in _TABLES[table][0]]
        with (self.folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, names, restval="", lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)

    def add(self, table: str, **cells: str) -> None:
        """Append a row and seal, which makes another edition."""
        self.write(table, [*self.rows(table), cells])
        seal(self.folder)

    def rows(self, table: str) -> list[dict[str, str]]:
        with (self.folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def descriptor(self) -> dict[str, Any]:
        text = (self.folder / "datapackage.json").read_text(encoding="utf-8")
        found: dict[str, Any] = json.loads(text)
        return found

    def describe(self, descriptor: dict[str, Any]) -> None:
        (self.folder / "datapackage.json").write_text(json.dumps(descriptor), encoding="utf-8")


@pytest.fixture
def small_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SmallData:
    """The small package, put in the place of the packaged data."""
    small = SmallData(tmp_path / "small data")
    monkeypatch.setattr(packaged, "data_folder", lambda: small.folder)
    return small
