"""What a picture shows, read from the workshop: class lines, their readings, and the user's own samples."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence

from matref.estimator.model import Model
from matref.estimator.store import load_model
from matref.web.picture import ClassLine, Point

_MOST_SAMPLES = 300


def class_lines(connection: sqlite3.Connection, class_ids: Sequence[str]) -> list[ClassLine]:
    """Return the lines of these classes, personal samples counted in, with the readings used in the fit."""
    model = _model(connection, class_ids)
    return [
        ClassLine(
            model.classes[class_id].name,
            model.classes[class_id].line.intercept,
            model.classes[class_id].line.slope,
            tuple(_readings(connection, class_id)),
        )
        for class_id in class_ids
        if class_id in model.classes
    ]


def own_points(connection: sqlite3.Connection, class_ids: Sequence[str]) -> list[Point]:
    """Return grammage and caliper of the user's latest samples of these classes, or of no class, that have both."""
    marks = ", ".join("?" * len(class_ids))
    rows = connection.execute(
        f"""SELECT grammage_gsm, caliper_um FROM sample
            WHERE withdrawn_at IS NULL AND grammage_gsm IS NOT NULL AND caliper_um IS NOT NULL
              AND class_id IN ({marks}) ORDER BY added_at DESC LIMIT {_MOST_SAMPLES}""",
        list(class_ids),
    )
    return [(row[0], row[1]) for row in rows]


def _model(connection: sqlite3.Connection, class_ids: Sequence[str]) -> Model:
    model = load_model(connection)
    if all(class_id in model.classes for class_id in class_ids):
        return model
    return load_model(connection, "cloth")


def _readings(connection: sqlite3.Connection, class_id: str) -> list[Point]:
    rows = connection.execute(
        "SELECT grammage_gsm, caliper_um FROM reading WHERE class_id = ? AND used_in_fit = 1", (class_id,)
    )
    return [(row[0], row[1]) for row in rows]
