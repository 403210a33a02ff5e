"""The packaged catalogue with its fitted model, made once for the estimator's tests."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest

from matref.database import open_memory
from matref.estimator.assumptions import Rules
from matref.estimator.model import Model
from matref.estimator.store import load_model
from matref.workshop import in_memory


@pytest.fixture(scope="session")
def fitted() -> Iterator[sqlite3.Connection]:
    """The packaged data with the model fitted, for reading only."""
    with closing(in_memory()) as connection:
        connection.execute("PRAGMA query_only = ON")
        yield connection


@pytest.fixture
def scratch(fitted: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """A copy of it that a test may change."""
    with closing(open_memory()) as copy:
        fitted.backup(copy)
        yield copy


@pytest.fixture(scope="session")
def model(fitted: sqlite3.Connection) -> Model:
    """All classes of paper and board."""
    return load_model(fitted)


@pytest.fixture
def rules(fitted: sqlite3.Connection) -> Rules:
    return Rules(fitted)
