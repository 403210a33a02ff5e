"""How a person's own samples enter the class lines: one statement per pile, summed per class.

A pile counts once however often it was measured: its readings are combined first. Totals per class are kept by
triggers in whole numbers of 1e-8, so that withdrawing a sample restores every figure exactly, and an estimate does not
slow down with the number of samples.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable, Sequence

from matref.estimator.line import Totals, log_ratio
from matref.estimator.observation import Observation

UNIT = 1e-8

SCHEMA = """
CREATE TABLE pile_line (
    pile_id TEXT PRIMARY KEY,
    class_id TEXT NOT NULL,
    x REAL NOT NULL,
    y REAL NOT NULL,
    own_variance REAL NOT NULL CHECK (own_variance > 0),
    w INTEGER NOT NULL,
    wx INTEGER NOT NULL,
    wy INTEGER NOT NULL,
    wxx INTEGER NOT NULL,
    wxy INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE sample_total (
    class_id TEXT PRIMARY KEY,
    count INTEGER NOT NULL,
    w INTEGER NOT NULL,
    wx INTEGER NOT NULL,
    wy INTEGER NOT NULL,
    wxx INTEGER NOT NULL,
    wxy INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TRIGGER pile_line_added AFTER INSERT ON pile_line BEGIN
    INSERT INTO sample_total VALUES (new.class_id, 1, new.w, new.wx, new.wy, new.wxx, new.wxy)
    ON CONFLICT (class_id) DO UPDATE SET
        count = count + 1, w = w + new.w, wx = wx + new.wx, wy = wy + new.wy,
        wxx = wxx + new.wxx, wxy = wxy + new.wxy;
END;
CREATE TRIGGER pile_line_removed AFTER DELETE ON pile_line BEGIN
    UPDATE sample_total SET
        count = count - 1, w = w - old.w, wx = wx - old.wx, wy = wy - old.wy,
        wxx = wxx - old.wxx, wxy = wxy - old.wxy
    WHERE class_id = old.class_id;
END;
"""

# Slope of log caliper on log grammage for turning doubt about grammage into doubt about the line; lines lie near 1.
_SLOPE = 1.0


def totals(connection: sqlite3.Connection, apart_from: Iterable[str] = ()) -> dict[str, Totals]:
    """Return the sums over personal piles by class, leaving out the piles `apart_from`."""
    sums = {
        row[0]: list(row[1:])
        for row in connection.execute("SELECT class_id, count, w, wx, wy, wxx, wxy FROM sample_total WHERE count > 0")
    }
    for pile_id in apart_from:
        own = connection.execute(
            "SELECT class_id, 1, w, wx, wy, wxx, wxy FROM pile_line WHERE pile_id = ?", (pile_id,)
        ).fetchone()
        if own is not None:
            sums[own[0]] = [whole - part for whole, part in zip(sums[own[0]], own[1:], strict=True)]
    return {class_id: Totals(s[0], *(value * UNIT for value in s[1:])) for class_id, s in sums.items() if s[0]}


def combine(observations: Iterable[Observation]) -> tuple[float, float, float] | None:
    """Return (x, y, variance of y about the line from measuring) of a pile, or None if it lacks either quantity.

    >>> from matref.estimator.observation import Observation
    >>> weighed = Observation("weighing", "", 1.0, 0.0, math.log(80.0), 0.01)
    >>> gauged = Observation("gauge", "", 0.0, 1.0, math.log(104.0), 0.01)
    >>> x, y, variance = combine([weighed, gauged])
    >>> (round(x, 3), round(math.exp(y), 1), round(math.sqrt(variance), 4))
    (0.0, 104.0, 0.0141)
    """
    observations = list(observations)
    g_weight = math.fsum(1 / o.u**2 for o in observations if o.grammage_part)
    c_weight = math.fsum(1 / o.u**2 for o in observations if o.caliper_part)
    if not g_weight or not c_weight:
        return None
    log_g = math.fsum(o.value / o.u**2 for o in observations if o.grammage_part) / g_weight
    log_c = math.fsum(o.value / o.u**2 for o in observations if o.caliper_part) / c_weight
    return log_g + log_ratio(1.0), log_c, 1 / c_weight + _SLOPE**2 / g_weight


def place_pile(
    connection: sqlite3.Connection, pile_id: str, class_id: str | None, observations: Sequence[Observation]
) -> None:
    """Make the pile count in its class line as these observations say, replacing what it said before."""
    connection.execute("DELETE FROM pile_line WHERE pile_id = ?", (pile_id,))
    found = combine(observations)
    if class_id is None or found is None:
        return
    scatter = _scatter_variance(connection, class_id)
    if scatter is not None:
        connection.execute(
            "INSERT INTO pile_line VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (pile_id, class_id, *found, *_weights(*found, scatter)),
        )


def reweigh(connection: sqlite3.Connection) -> None:
    """Work out every pile's weight anew, after a fit has changed how much products scatter."""
    rows = connection.execute("SELECT pile_id, class_id, x, y, own_variance FROM pile_line").fetchall()
    connection.execute("DELETE FROM pile_line")
    connection.execute("DELETE FROM sample_total")
    scatter: dict[str, float | None] = {}
    for pile_id, class_id, x, y, own in rows:
        if class_id not in scatter:
            scatter[class_id] = _scatter_variance(connection, class_id)
        # A class that this edition no longer knows keeps its piles, without weight, until it is known again.
        weights = _weights(x, y, own, scatter[class_id] or 0.0) if scatter[class_id] else (0, 0, 0, 0, 0)
        connection.execute(
            "INSERT INTO pile_line VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", (pile_id, class_id, x, y, own, *weights)
        )


def _weights(x: float, y: float, own_variance: float, scatter_variance: float) -> tuple[int, int, int, int, int]:
    w = 1 / (scatter_variance + own_variance)
    return (
        round(w / UNIT),
        round(w * x / UNIT),
        round(w * y / UNIT),
        round(w * x * x / UNIT),
        round(w * x * y / UNIT),
    )


def _scatter_variance(connection: sqlite3.Connection, class_id: str) -> float | None:
    """Return the variance with which one product tells of its class line: scale² (ν + 3) / (ν + 1).

    The inverse of Student's t information about its centre: a product in the tails tells less.
    """
    row = connection.execute(
        """SELECT f.product_sd, f.tail FROM model_line AS m JOIN model_family AS f ON f.family = m.family
           WHERE m.class_id = ?""",
        (class_id,),
    ).fetchone()
    return None if row is None else float(row[0]) ** 2 * (row[1] + 3) / (row[1] + 1)
