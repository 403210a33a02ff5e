"""Samples from a table, all or none: every row is read and judged first, then all are written at once."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from itertools import islice, zip_longest
from typing import BinaryIO
from unicodedata import normalize

from matref.database import transaction
from matref.errors import BadInput, shown
from matref.estimator.assumptions import Rules
from matref.estimator.far_off import FarOff
from matref.personal_entry import OWN_ID, clean_id, new_id
from matref.samples.cells import incoming
from matref.samples.collection import find_row, insert
from matref.samples.delimited import Row, open_table
from matref.samples.draft import EVIDENCE, Draft, Entry
from matref.samples.outcome import ImportRefused, ImportReport, Outcome, RowOutcome
from matref.samples.pile import Models, Pile
from matref.samples.record import Sample

MOST_ROWS = 100_000
_MOST_BAD = 100
COLUMNS = ("id", "label", "note", "measured_on", "same_as", *EVIDENCE)
"""The columns that a table of samples may have; the first line may also call two of them class and with."""
_ALSO = {"class": "paper_class", "with": "with_"}
_SAID = {column: heading for heading, column in _ALSO.items()}
_NOT_UTF8 = "the table is not UTF-8: read as Windows-1252, so look at accented letters and signs such as µ"


@dataclass(slots=True)
class _Line:
    """A row on its way: its cells that are not blank, the columns of the table, and what is found out about it.

    `here`: the sample that this row is already; `fresh_id`: the id it gets if it has none and is added.
    """

    line: int
    columns: Collection[str]
    cells: dict[str, str]
    fresh_id: str = ""
    here: Sample | None = None
    pile_id: str = ""
    draft: Draft | None = None
    outcome: Outcome = "added"
    said: list[str] = field(default_factory=list)

    def cell(self, name: str) -> str:
        """Return a cell, '' where it is blank or there is no such column."""
        return self.cells.get(name, "")

    @property
    def own_id(self) -> str:
        """The id in the table, as typed in lower case ('' without)."""
        return self.cell("id").lower()

    @property
    def sample_id(self) -> str:
        """The id that the row's sample has or gets."""
        return self.own_id or (self.here.id if self.here else self.fresh_id)

    def refuse(self, reason: str, outcome: Outcome = "refused") -> None:
        """Set the row aside as bad."""
        self.outcome, self.draft, self.said = outcome, None, [reason]

    def skip(self, reason: str) -> None:
        """Leave the row out as known."""
        self.outcome, self.said = "skipped", [reason]

    def told(self, applied: bool) -> RowOutcome:
        """Return the row's outcome; a fresh id is told once it is given for good."""
        known = self.own_id or self.here or (applied and self.outcome == "added")
        return RowOutcome(
            self.line, self.outcome, shown(self.cell("label")), self.sample_id if known else None, tuple(self.said)
        )


def import_csv(connection: sqlite3.Connection, source: str | os.PathLike[str] | BinaryIO, apply: bool) -> ImportReport:
    """Read, judge and, with `apply`, add the rows of a table; see `Samples.import_csv`.

    The judging is done before the file is locked for writing, so that others need not wait for it; if another process
    wrote meanwhile it is done again.
    """
    with open_table(source) as table:
        columns = _columns(table.heading)
        lines = [_line(row, columns) for row in islice(table.rows, MOST_ROWS + 1)]
        encoding, separator = table.encoding, table.separator
    if not lines:
        raise BadInput("the table has a heading but no rows", expected="one row for each sample")
    if len(lines) > MOST_ROWS:
        raise BadInput(f"the table has more than {MOST_ROWS} rows", expected="several smaller tables")

    def report(applied: bool = False) -> ImportReport:
        notes = (_NOT_UTF8,) if encoding == "Windows-1252" else ()
        return ImportReport(encoding, separator, notes, tuple(line.told(applied) for line in lines), applied)

    seen = _changes(connection)
    _Judge(connection, lines).judge()
    if not apply:
        return report()
    _refuse_bad(report())
    with transaction(connection):
        if _changes(connection) != seen:
            _Judge(connection, lines).judge()
            _refuse_bad(report())
        _write(connection, [line for line in lines if line.draft is not None])
    return report(applied=True)


def _refuse_bad(report: ImportReport) -> None:
    if report.bad:
        raise ImportRefused(report)


def _changes(connection: sqlite3.Connection) -> int:
    """Return a number that another connection's writing changes (PRAGMA data_version)."""
    return int(connection.execute("PRAGMA data_version").fetchone()[0])


def _write(connection: sqlite3.Connection, lines: Sequence[_Line]) -> None:
    for line in lines:
        if line.draft is not None:
            insert(connection, line.sample_id, line.pile_id, line.draft)
    for pile_id in dict.fromkeys(line.pile_id for line in lines):
        Pile.stored(connection, pile_id).place(connection, pile_id)


def _columns(heading: Sequence[str]) -> list[str]:
    """Return the column names of the heading's cells ('' for one without heading)."""
    found: list[str] = []
    for cell in heading:
        name = "_".join(incoming(cell).strip().lower().replace("-", " ").split())
        name = _ALSO.get(name, name)
        if name and name not in COLUMNS:
            from difflib import get_close_matches

            known = [_SAID.get(column, column) for column in COLUMNS]
            near = get_close_matches(name, known, 1, 0.6)
            raise BadInput(
                f'a column is headed "{shown(cell)}"' + (f", perhaps meant {near[0]}" if near else ""),
                expected="headings among " + ", ".join(known),
            )
        if name and name in found:
            raise BadInput(f'two columns are headed "{name}"', expected="each heading once")
        found.append(name)
    return found


def _line(row: Row, columns: Sequence[str]) -> _Line:
    line = _Line(row.line, columns, {})
    if row.trouble:
        line.refuse(row.trouble)
        return line
    for name, cell in zip_longest(columns, row.cells, fillvalue=""):
        plain = incoming(cell).strip()
        if plain and name:
            line.cells[name] = plain
        elif plain:
            line.refuse(f'"{shown(plain)}" stands in a column without a heading; perhaps a separator too many')
            break
    return line


class _Judge:
    """Finds out what becomes of every row: who is here already, then piles, then what each pile's rows say together."""

    def __init__(self, connection: sqlite3.Connection, lines: Sequence[_Line]) -> None:
        self.connection = connection
        self.lines = [line for line in lines if line.outcome != "refused"]
        self.models = Models(connection)
        self.rules = Rules(connection)
        self.far_off = FarOff(connection)
        self.by_id: dict[str, _Line] = {}
        self.by_label: dict[str, list[_Line]] = {}
        self.piles: dict[str, Pile] = {}

    def judge(self) -> None:
        """Set every row's outcome, draft, pile and what is said of it."""
        for line in self.lines:
            line.outcome, line.said, line.draft, line.here = "added", [], None, None
            self._guard(line, self._name)
        bad = 0
        for line in self.lines:
            if line.outcome == "added" and bad < _MOST_BAD:
                self._guard(line, self._decide)
            elif line.outcome == "added":  # saying what is wrong takes longest, and nothing will be written anyway
                line.refuse(f"not looked at: {_MOST_BAD} rows before it are bad")
            bad += line.outcome in ("conflict", "refused")

    def _guard(self, line: _Line, step: Callable[[_Line], None]) -> None:
        try:
            step(line)
        except BadInput as error:
            line.refuse(str(error))

    def _name(self, line: _Line) -> None:
        """Find the row's sample here: by its id or, where it has none, by being the same in everything."""
        entry = _entry(line)
        if line.cell("id"):
            clean_id(line.cell("id"))
            row = self.connection.execute("SELECT * FROM sample WHERE id = ?", (line.own_id,)).fetchone()
            self.by_id.setdefault(line.own_id, line)
        else:
            line.fresh_id = line.fresh_id or new_id(self.connection, "sample")
            row = self.connection.execute(
                """SELECT * FROM sample WHERE as_typed = ?1 AND label = ?2
                   AND (?3 = '' OR measured_on = ?3) AND (?4 IS NULL OR note = ?4)
                   ORDER BY withdrawn_at IS NOT NULL, added_at LIMIT 1""",
                (
                    entry.as_typed,
                    entry.label,
                    line.cell("measured_on"),
                    entry.note if "note" in line.columns else None,
                ),
            ).fetchone()
        line.here = Sample.of(row) if row else None
        if entry.label:
            self.by_label.setdefault(entry.label, []).append(line)

    def _decide(self, line: _Line) -> None:
        line.pile_id = self._pile_of(line)
        first = self.by_id.get(line.own_id, line)
        if first is not line:
            if first.cells == line.cells:
                line.skip(f"the same as line {first.line}")
            else:
                line.refuse(f"id {line.own_id} stands on line {first.line} too, with other values", "conflict")
            return
        entry = _entry(line)
        if line.here:
            self._compare(line, entry, line.here)
            return
        draft = Draft.of(entry, self.connection, self.rules)
        if line.pile_id not in self.piles:
            self.piles[line.pile_id] = Pile.stored(self.connection, line.pile_id)
        pile = self.piles[line.pile_id].joined(draft.reading.observations, draft.reading.class_ids)
        line.said = [*self.far_off.doubts(draft.reading), *pile.warnings(self.models)]
        self.piles[line.pile_id], line.draft = pile, draft

    def _compare(self, line: _Line, entry: Entry, here: Sample) -> None:
        """Skip a row that says what its sample here says; columns that the table lacks do not count."""
        was = {**here.typed, "label": here.label, "note": here.note, "same_as": here.pile_id}
        told = {**entry.typed, "label": entry.label, "note": entry.note, "same_as": line.pile_id}
        other = [n for n in line.columns if n in (*was, *told) and was.get(n, "") != told.get(n, "")]
        if line.cell("measured_on") and here.measured_on != entry.measured_on:
            other.append("measured_on")
        if line.own_id and other:
            line.refuse(f"sample {here.id} is here already with another {', '.join(other)}", "conflict")
        else:
            line.skip(f"sample {here.id} is here already" + (", but withdrawn" if here.withdrawn_at else ""))

    def _pile_of(self, line: _Line) -> str:
        """Return the id of the pile a row belongs to: that of the first sample that `same_as` leads to."""
        seen = [line]
        while same_as := seen[-1].cell("same_as"):
            other = self._row_named(same_as)
            if other is None:
                return self._pile_elsewhere(same_as)
            if other is seen[-1]:
                break
            if other in seen:
                raise BadInput(f'same_as leads round in a circle by "{shown(same_as)}"', expected="one first sample")
            seen.append(other)
        first = seen[-1]
        return first.here.pile_id if first.here and not first.own_id else first.sample_id

    def _row_named(self, name: str) -> _Line | None:
        if name.lower() in self.by_id:
            return self.by_id[name.lower()]
        rows = self.by_label.get(normalize("NFC", name), [])
        if len(rows) > 1:
            raise BadInput(f'{len(rows)} rows are called "{shown(name)}"', expected="an id in same_as")
        return rows[0] if rows else None

    def _pile_elsewhere(self, name: str) -> str:
        row = find_row(self.connection, name)
        if row is not None:
            return str(row["pile_id"])
        if OWN_ID.fullmatch(name.lower()):  # a pile whose first sample was not handed on
            return name.lower()
        raise BadInput(
            f'same_as names no sample: "{shown(name)}"', expected="an id or label of the table or of a sample here"
        )


def _entry(line: _Line) -> Entry:
    evidence = {name: line.cells[name] for name in EVIDENCE if name in line.cells}
    return Entry.of(line.cell("label"), line.cell("note"), line.cell("measured_on"), evidence)
