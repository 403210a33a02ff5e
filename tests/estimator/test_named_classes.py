"""A class may be called by any name that the catalogue has for it."""

from __future__ import annotations

import sqlite3

import pytest

from matref.catalogue.rows import fetch, names_of
from matref.errors import NotFound
from matref.estimator.caliper import caliper
from matref.estimator.evidence import Evidence
from matref.estimator.named_classes import class_ids


def test_every_name_that_is_printed_is_understood(fitted: sqlite3.Connection) -> None:
    rows = fetch(fitted, "SELECT * FROM material_class")
    ids = {row["id"] for row in rows}
    for row in rows:
        assert class_ids(fitted, row["id"].upper()) == (row["id"],)
        assert class_ids(fitted, row["name"]) == (row["id"],), row["name"]
        for name in set(names_of(row)) - ids:  # an id comes first: "silk" is the cloth
            assert row["id"] in class_ids(fitted, name), name


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("", ()),
        (" , ", ()),
        ("copier paper, Ledger", ("copier", "ledger")),
        ("photocopy paper", ("copier",)),
        ("copier,copier", ("copier",)),
        ("sail", ("sail",)),
    ],
)
def test_names(fitted: sqlite3.Connection, typed: str, expected: tuple[str, ...]) -> None:
    assert class_ids(fitted, typed) == expected


def test_what_is_no_name_is_refused_with_the_nearest(fitted: sqlite3.Connection) -> None:
    with pytest.raises(NotFound, match=r"copeir.*copier"):
        caliper(fitted, Evidence(paper_class="copeir", grammage=80))
