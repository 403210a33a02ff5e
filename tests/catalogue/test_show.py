"""One entry with everything: values, units, sources, relations; and helpful refusals."""

# ruff: noqa: F401, F811 - fixtures are imported by name

from __future__ import annotations

import json
import sqlite3
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packaged_catalogue import catalogue

from matref.catalogue.rows import KINDS
from matref.catalogue.search import find
from matref.catalogue.show import show
from matref.errors import BadInput, NotFound


def test_a_thread_with_its_fibre_and_count(catalogue: sqlite3.Connection) -> None:
    entry = show(catalogue, "linen-18-3")
    assert (entry["kind"], entry["name"], entry["plies"]) == ("thread", "linen thread 18/3", 3)
    assert entry["tex"] == pytest.approx(3 * 1653.5155 / 18, rel=1e-5)  # GNU units: lea
    assert entry["columns"]["tex"]["unit"] == "tex"
    assert entry["columns"]["tex"]["meaning"]
    assert entry["refers_to"]["fibre_id"]["kind"] == "fibre"
    assert entry["refers_to"]["count_system_id"]["id"] == "lea"
    assert entry["source"] in entry["sources"]


def test_every_value_is_described(catalogue: sqlite3.Connection) -> None:
    for kind in KINDS:
        entry_id = find(catalogue, "", kind, limit=1)[0]["id"]
        entry = show(catalogue, entry_id, kind)
        own = {"id", "kind", "name", "source", "columns", "refers_to", "related", "readings", "usual", "sources"}
        assert set(entry) - own == set(entry["columns"]), kind
        assert all(column["meaning"] for column in entry["columns"].values())


def test_a_class_sums_up_its_readings(catalogue: sqlite3.Connection) -> None:
    entry = show(catalogue, "newsprint")
    rows = catalogue.execute(
        "SELECT grammage_gsm, caliper_um, source_id, used_in_fit FROM reading WHERE class_id = 'newsprint'"
    ).fetchall()
    readings = entry["readings"]
    assert readings["count"] == len(rows) > 3
    assert readings["used_in_fit"] == sum(row[3] for row in rows)
    assert readings["grammage_gsm"] == {"low": min(r[0] for r in rows), "high": max(r[0] for r in rows)}
    assert readings["caliper_um"]["high"] == max(r[1] for r in rows)
    assert readings["bulk_cm3_g"]["low"] == pytest.approx(min(r[1] / r[0] for r in rows), abs=1e-4)
    assert {row[2] for row in rows} <= {source["id"] for source in entry["sources"]}


def test_rows_that_disagree_stand_side_by_side(catalogue: sqlite3.Connection) -> None:
    """'Medium' is 18 x 23 in by most lists, 19 x 24 in Cockerell's of 1901."""
    entry = show(catalogue, "uk-trad-medium")
    others = {other["id"]: other for other in entry["related"]}
    assert others["uk-1901-medium"]["width_mm"] == pytest.approx(19 * 25.4)
    assert entry["width_mm"] == pytest.approx(18 * 25.4)
    assert "uk-trad-medium" not in others
    assert others["uk-1901-medium"]["source"]["id"] in {source["id"] for source in entry["sources"]}


@pytest.mark.parametrize(
    "typed", ["iso-a5", "ISO-A5", " iso-a5 ", "sheet_size:iso-a5", "sheet_size: iso-a5", "A5", "a5"]
)
def test_ways_to_ask(catalogue: sqlite3.Connection, typed: str) -> None:
    assert show(catalogue, typed)["id"] == "iso-a5"


def test_an_id_of_two_kinds_must_say_which(catalogue: sqlite3.Connection) -> None:
    with pytest.raises(BadInput, match=r"fibre:linen.*material_class:linen"):
        show(catalogue, "linen")
    assert show(catalogue, "fibre:linen")["kind"] == "fibre"
    assert show(catalogue, "linen", "material_class")["kind"] == "material_class"


def test_a_source_shows_itself(catalogue: sqlite3.Connection) -> None:
    entry = show(catalogue, "source:common-practice")
    assert entry["source"]["id"] == "common-practice"
    assert entry["source_kind"] == "common practice"
    assert "source_kind" in entry["columns"]


@pytest.mark.parametrize(("typed", "meant"), [("coper", "copier"), ("linen-18-4", "linen")])
def test_unknown_ids_bring_near_ones(catalogue: sqlite3.Connection, typed: str, meant: str) -> None:
    with pytest.raises(NotFound, match="near: ") as caught:
        show(catalogue, typed)
    assert meant in str(caught.value)
    assert "for example" in str(caught.value)


@pytest.mark.parametrize("typed", ["", ":", "thread:", "nokind:linen", "thread:copier", "a' OR 1=1 --", "\0", "\ud800"])
def test_hostile_ids(catalogue: sqlite3.Connection, typed: str) -> None:
    with pytest.raises(NotFound):
        show(catalogue, typed)


def test_an_unknown_kind(catalogue: sqlite3.Connection) -> None:
    with pytest.raises(BadInput, match="no kind"):
        show(catalogue, "linen", "codebook")


@settings(deadline=None)
@given(st.text(max_size=60), st.none() | st.sampled_from(KINDS))
def test_any_text(catalogue: sqlite3.Connection, typed: str, kind: str | None) -> None:
    try:
        entry = show(catalogue, typed, kind)
    except BadInput:
        return
    assert entry["id"]


def test_entries_are_json(catalogue: sqlite3.Connection) -> None:
    for typed in ("newsprint", "iso-a5", "linen-18-3", "uk-trad-medium"):
        entry: dict[str, Any] = show(catalogue, typed)
        assert json.loads(json.dumps(entry)) == entry


def test_every_entry_that_is_found_is_shown(catalogue: sqlite3.Connection) -> None:
    for words in ("linen", "octavo", "caliper", "mould"):
        for found in find(catalogue, words):
            shown = show(catalogue, f"{found['kind']}:{found['id']}")
            assert all(shown[key] == found[key] for key in found if key != "source")
            assert shown["source"]["id"] == found["source"]["id"]
