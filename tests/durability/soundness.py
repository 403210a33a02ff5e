"""What has to hold of a workshop file, whatever happened to it."""

from __future__ import annotations

import os
import sqlite3
import time
from contextlib import closing
from pathlib import Path

from matref import workshop
from matref.database import sweep
from matref.samples import Sample, Samples
from matref.samples.draft import stored_observations

PERSONAL = ("sample", "sample_history", "finished_book", "stock", "setting")


def rows(place: Path, table: str) -> list[tuple[object, ...]]:
    """Return a table's rows by their key."""
    with closing(sqlite3.connect(place)) as connection:
        return connection.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()


def assert_sound(place: Path) -> dict[str, Sample]:
    """Assert that `check` passes and that nothing of the personal tables is half there; return the samples by id."""
    found = workshop.check(place)
    assert found.ok, found.problems
    with closing(workshop.connect(place, read_only=True)) as connection:
        totals = connection.execute(
            "SELECT class_id, count, w, wx, wy, wxx, wxy FROM sample_total WHERE count > 0 ORDER BY class_id"
        ).fetchall()
        sums = connection.execute(
            """SELECT class_id, count(*), sum(w), sum(wx), sum(wy), sum(wxx), sum(wxy)
               FROM pile_line GROUP BY class_id ORDER BY class_id"""
        ).fetchall()
        assert [tuple(row) for row in totals] == [tuple(row) for row in sums]
        samples = {}
        for row in connection.execute("SELECT * FROM sample"):
            assert stored_observations(row["observations"])
            samples[row["id"]] = Sample.of(row)
        placed = {row[0] for row in connection.execute("SELECT pile_id FROM pile_line")}
        due = {
            s.pile_id for s in samples.values() if s.class_id and s.grammage_gsm and s.caliper_um and not s.withdrawn_at
        }
        assert due <= placed <= {s.pile_id for s in samples.values()}
    return samples


def assert_nothing_half_counted(place: Path) -> None:
    """Assert that reading every sample anew changes no figure: what counts is what is stored."""
    tables = ("sample", "pile_line", "sample_total", "held_both_ways")
    before = {table: rows(place, table) for table in tables}
    with closing(workshop.connect(place)) as connection:
        Samples(connection).reread()
    after = {table: rows(place, table) for table in tables}
    for table in tables:
        kept = [row for row in before[table] if table != "sample_total" or row[1]]
        assert kept == [row for row in after[table] if table != "sample_total" or row[1]], table


def rooms(folder: Path) -> list[Path]:
    """Return the working folders that killed processes have left."""
    return [path for path in folder.iterdir() if path.name.startswith(".matref-")]


def assert_tidies_up(folder: Path) -> int:
    """Assert that what killed processes left in a folder goes away; return how much it was."""
    left = rooms(folder)
    for room in left:
        os.utime(room, (time.time() - 3600,) * 2)
    sweep(folder)
    assert rooms(folder) == []
    return len(left)
