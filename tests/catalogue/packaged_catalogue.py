"""The packaged catalogue, compiled once for all look-up tests; a test that changes rows takes a copy."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest

from matref.workshop import connect


@pytest.fixture(scope="session")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sqlite3.Connection]:
    """The packaged data as users have it, without the fitted model, opened for reading."""
    path = tmp_path_factory.mktemp("catalogue") / "matref.db"
    connect(path, fit=lambda _: None).close()
    with closing(connect(path, read_only=True)) as connection:
        yield connection


@pytest.fixture
def scratch(catalogue: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """A copy of the catalogue in memory that a test may change."""
    with closing(sqlite3.connect(":memory:")) as copy:
        catalogue.backup(copy)
        yield copy
