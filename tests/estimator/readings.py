"""Evidence read as it is for a sample: by the rules, without anybody's habits."""

from __future__ import annotations

import sqlite3
from typing import Any

from matref.estimator.assumptions import Rules
from matref.estimator.evidence import Evidence, Reading, read


def read_of(connection: sqlite3.Connection, **typed: Any) -> Reading:
    """Return the reading of some typed fields."""
    return read(Evidence(**typed), connection, Rules(connection))
