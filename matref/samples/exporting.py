"""Samples as a table for exchange: whole or not at all, exact, and harmless to open in a spreadsheet."""

from __future__ import annotations

import csv
import os
import sqlite3
from pathlib import Path
from typing import TextIO

from matref.database import one_line_errors, publish, taken, workroom
from matref.samples.cells import outgoing
from matref.samples.draft import EVIDENCE
from matref.samples.record import Sample

HEAD = ("id", "label", "measured_on", "same_as")


def export_csv(
    connection: sqlite3.Connection, target: str | os.PathLike[str] | TextIO, with_notes: bool, overwrite: bool
) -> int:
    """Write the samples that count to a path (UTF-8 with a byte-order mark) or an open text file; return how many.

    FileTrouble where the file exists and `overwrite` is False, or cannot be written.
    """
    if not isinstance(target, (str, os.PathLike)):
        return _write(connection, target, with_notes)
    place = Path(target).expanduser()
    if place.exists() and not overwrite:
        raise taken(place)
    with one_line_errors(place), workroom(place) as room:
        part = room / "part.csv"
        with part.open("w", encoding="utf-8-sig", newline="") as file:
            written = _write(connection, file, with_notes)
            file.flush()
            os.fsync(file.fileno())
        if overwrite:
            os.replace(part, place)
        elif not publish(part, place):
            raise taken(place)
    return written


def _write(connection: sqlite3.Connection, file: TextIO, with_notes: bool) -> int:
    writer = csv.writer(file)
    writer.writerow([*HEAD, *EVIDENCE, *(["note"] if with_notes else [])])
    written = 0
    rows = connection.execute("SELECT * FROM sample WHERE withdrawn_at IS NULL ORDER BY added_at, rowid")
    for sample in map(Sample.of, rows):
        cells = [sample.id, sample.label, sample.measured_on, sample.same_as]
        cells += [sample.typed.get(name, "") for name in EVIDENCE]
        writer.writerow([outgoing(cell) for cell in (*cells, *([sample.note] if with_notes else []))])
        written += 1
    return written
