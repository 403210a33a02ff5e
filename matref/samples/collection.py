"""The user's samples: add, list, edit, withdraw, restore, and hand to the estimator."""

from __future__ import annotations

import os
import sqlite3
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, BinaryIO, TextIO

from matref.database import transaction
from matref.errors import BadInput, NotFound, shown
from matref.estimator.assumptions import Rules
from matref.estimator.evidence import Evidence, Typed
from matref.estimator.far_off import FarOff
from matref.estimator.observation import Observation
from matref.personal_entry import new_id, now
from matref.samples.draft import EVIDENCE, Draft, Entry
from matref.samples.pile import Models, Pile, pooled
from matref.samples.record import Sample, Version

if TYPE_CHECKING:
    from matref.samples.outcome import ImportReport

_Rows = list[Sample]
_Versions = list[Version]
_HEAD = ("label", "note", "measured_on", "same_as")


class Samples:
    """What the user measured. A sample is named by its id or, where only one has it, by its label.

    Every change is one transaction; BadInput leaves the file as it was.

    >>> import matref
    >>> with matref.open(":memory:") as workshop:
    ...     kept = workshop.samples.add("ledger leaves", size="A4", sheets=20, mass="98 g")
    ...     round(kept.grammage_gsm.value, 1), round(kept.grammage_gsm.u, 1)
    (78.6, 0.4)
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def add(
        self,
        label: str = "",
        note: str = "",
        same_as: str | None = None,
        measured_on: str | date | None = None,
        **evidence: Typed | None,
    ) -> Sample:
        """Keep a sample and let it count; return it, with warnings where it is doubtful.

        `evidence`: the fields of `matref.estimator.evidence.Evidence`, at least one measurement among them. `same_as`:
        another sample of the same pile. `measured_on`: a day, today if not given. BadInput for what makes no sense,
        contradicts itself or the rest of its pile.
        """
        draft = Draft.of(Entry.of(label, note, measured_on, evidence), self._connection)
        with transaction(self._connection):
            sample_id = new_id(self._connection, "sample")
            pile_id = self._row(same_as)["pile_id"] if same_as else sample_id
            pile = Pile.stored(self._connection, pile_id).joined(draft.reading.observations, draft.reading.class_ids)
            warnings = (
                *self._also_called(draft.entry.label),
                *FarOff(self._connection).doubts(draft.reading),
                *pile.warnings(Models(self._connection)),
            )
            insert(self._connection, sample_id, pile_id, draft)
            pile.place(self._connection, pile_id)
        return self.get(sample_id).warned(warnings)

    def _also_called(self, label: str) -> tuple[str, ...]:
        """Return a line where a sample has that label already: by the label alone neither is found any more."""
        found = self._connection.execute("SELECT id FROM sample WHERE label = ? AND label <> ''", (label,)).fetchone()
        if found is None:
            return ()
        return (f'"{label}" is the label of sample {found[0]} too: call them by their ids, or give one another label',)

    def get(self, sample: str) -> Sample:
        """Return a sample, withdrawn or not; NotFound names the nearest labels."""
        return Sample.of(self._row(sample))

    def list(self, class_id: str | None = None, withdrawn: bool = False) -> _Rows:
        """Return the samples that count, of one class if given, in the order added; `withdrawn`: the others too."""
        if class_id is not None:
            Models(self._connection).of((class_id,))
        rows = self._connection.execute(
            """SELECT * FROM sample WHERE (?1 IS NULL OR class_id = ?1) AND (?2 OR withdrawn_at IS NULL)
               ORDER BY added_at, rowid""",
            (class_id, withdrawn),
        )
        return [Sample.of(row) for row in rows]

    def history(self, sample: str) -> _Versions:
        """Return the former versions of a sample, oldest first."""
        rows = self._connection.execute(
            "SELECT * FROM sample_history WHERE sample_id = ? ORDER BY version", (self._row(sample)["id"],)
        )
        return [Version.of(row) for row in rows]

    def edit(self, sample: str, **changes: Any) -> Sample:
        """Change fields of a sample and read it anew; the id stays, the former version is kept.

        `changes`: label, note, measured_on, same_as, or fields of the evidence; None or "" takes a field out
        (same_as: makes it a pile of its own). BadInput as for `add`.
        """
        unknown = [name for name in changes if name not in (*_HEAD, *EVIDENCE)]
        if unknown:
            raise BadInput(f"a sample has no {', '.join(unknown)}", expected=", ".join((*_HEAD, *EVIDENCE)))
        with transaction(self._connection):
            row = self._row(sample)
            before = Sample.of(row)
            if before.withdrawn_at:
                raise _withdrawn(before)
            entry = Entry.of(
                changes.get("label", before.label) or "",
                changes.get("note", before.note) or "",
                changes.get("measured_on", before.measured_on),
                {**before.typed, **{name: changes[name] for name in EVIDENCE if name in changes}},
            )
            alone = "same_as" in changes and not changes["same_as"]
            pile_id = before.id if alone else before.pile_id
            if changes.get("same_as"):
                pile_id = self._row(changes["same_as"])["pile_id"]
            moves = pile_id != before.pile_id or (alone and bool(self._others(before)))
            if entry == Entry(before.label, before.note, before.measured_on, before.typed) and not moves:
                return before
            draft = Draft.of(entry, self._connection)
            rest = Pile() if alone else Pile.stored(self._connection, pile_id, without=before.id)
            pile = rest.joined(draft.reading.observations, draft.reading.class_ids)
            warnings = (*FarOff(self._connection).doubts(draft.reading), *pile.warnings(Models(self._connection)))
            self._keep_version(before)
            self._update(before.id, {**draft.columns(), "pile_id": pile_id, "changed_at": now()})
            if moves:
                self._settle(before, self._others(before))
            pile.place(self._connection, pile_id)
        return self.get(before.id).warned(warnings)

    def remove(self, sample: str) -> Sample:
        """Withdraw a sample: it is kept but no longer counts; every estimate is exactly as without it."""
        with transaction(self._connection):
            found = self.get(sample)
            if found.withdrawn_at:
                raise BadInput(f'sample "{_called(found)}" is withdrawn already')
            self._update(found.id, {"withdrawn_at": now()})
            self._place(found.pile_id)
        return self.get(found.id)

    def restore(self, sample: str) -> Sample:
        """Let a withdrawn sample count again; BadInput where the rest of its pile now contradicts it."""
        with transaction(self._connection):
            found = self.get(sample)
            if not found.withdrawn_at:
                raise BadInput(f'sample "{_called(found)}" is not withdrawn')
            self._update(found.id, {"withdrawn_at": None})
            warnings = Pile.stored(self._connection, found.pile_id).warnings(Models(self._connection))
            self._place(found.pile_id)
        return self.get(found.id).warned(warnings)

    def as_evidence(
        self, sample: str, evidence: Evidence, rules: Rules | None = None
    ) -> tuple[Evidence, tuple[Observation, ...]]:
        """Return what to ask the estimator of the pile that a sample belongs to.

        The evidence gets the pile's class where it names none; the observations are those of all samples of the pile
        that count, repeated readings of one kind made one. They are read as a question's evidence is, by the person's
        own hold where that has been learnt from other piles; `rules` remember what they rest on.
        """
        found = self.get(sample)
        if found.withdrawn_at:
            raise _withdrawn(found)
        rules = rules or Rules(self._connection, own_habit=True)
        rules.asked_about(found.pile_id)
        pile = Pile.reread(self._connection, found.pile_id, rules)
        classes = ",".join(pile.class_ids())
        known = evidence if evidence.paper_class or not classes else replace(evidence, paper_class=classes)
        return known, tuple(replace(o, pile=found.pile_id) for o in pooled(pile.observations))

    def import_csv(self, source: str | os.PathLike[str] | BinaryIO, apply: bool = True) -> ImportReport:
        """Add the samples of a table, all or none; `apply` False only tells what would become of every row.

        `source`: a path or an open binary file. Columns by name in any order: the fields of the evidence, label, note,
        measured_on, same_as, id. A row whose id is here already is skipped if it is the same; if it differs nothing is
        written. Raises `ImportRefused`, which holds the report, when rows are bad.
        """
        from matref.samples.importing import import_csv

        return import_csv(self._connection, source, apply)

    def export_csv(
        self, target: str | os.PathLike[str] | TextIO, with_notes: bool = False, overwrite: bool = False
    ) -> int:
        """Write the samples that count as a table and return their number. `target`: a path or an open text file.

        A file appears whole or not at all; an existing one is written over only with `overwrite`. Notes, which may be
        private, only go along with `with_notes`. `import_csv` reads the table back exactly.
        """
        from matref.samples.exporting import export_csv

        return export_csv(self._connection, target, with_notes, overwrite)

    def reread(self) -> tuple[str, ...]:
        """Read every sample's evidence anew, after the rules or sizes of the catalogue have changed; return warnings.

        A sample whose text the catalogue no longer understands keeps what it said.
        """
        said = []
        rules = Rules(self._connection)
        with transaction(self._connection):
            for sample in self.list(withdrawn=True):
                entry = Entry(sample.label, sample.note, sample.measured_on, sample.typed)
                try:
                    self._update(sample.id, Draft.of(entry, self._connection, rules).columns())
                except BadInput as error:
                    said.append(f'sample "{_called(sample)}" keeps its former reading: {error}')
            for (pile_id,) in self._connection.execute("SELECT DISTINCT pile_id FROM sample").fetchall():
                try:
                    self._place(pile_id)
                except BadInput as error:
                    said.append(f"pile {pile_id} counts as it did before: {error}")
        return tuple(said)

    def _row(self, sample: object) -> sqlite3.Row:
        if not isinstance(sample, str) or not sample.strip():
            raise BadInput("no sample is named", expected="the id or label of a sample", example="matref sample list")
        found = find_row(self._connection, sample.strip())
        if found is None:
            from difflib import get_close_matches

            labels = [row[0] for row in self._connection.execute("SELECT DISTINCT label FROM sample LIMIT 1000")]
            near = ", ".join(get_close_matches(sample, labels, 3, 0.5))
            raise NotFound(
                f'no sample called "{shown(sample)}"' + (f" (near: {near})" if near else ""),
                expected="the id or label of a sample",
                example="matref sample list",
            )
        return found

    def _others(self, sample: Sample) -> Sequence[str]:
        rows = self._connection.execute(
            "SELECT id FROM sample WHERE pile_id = ? AND id <> ? ORDER BY added_at, rowid", (sample.pile_id, sample.id)
        )
        return [row[0] for row in rows]

    def _settle(self, left: Sample, others: Sequence[str]) -> None:
        """Let the rest of a pile count without the sample that left; if the pile went by its id, by the next one's."""
        if left.pile_id == left.id and others:
            for other in others:
                self._update(other, {"pile_id": others[0]})
            self._place(others[0])
        self._place(left.pile_id)

    def _keep_version(self, before: Sample) -> None:
        self._connection.execute(
            """INSERT INTO sample_history
               SELECT id, 1 + (SELECT count(*) FROM sample_history WHERE sample_id = ?1),
                      label, pile_id, note, measured_on, as_typed, changed_at, ?2 FROM sample WHERE id = ?1""",
            (before.id, now()),
        )

    def _update(self, sample_id: str, columns: dict[str, Any]) -> None:
        marks = ", ".join(f"{name} = ?" for name in columns)
        self._connection.execute(f"UPDATE sample SET {marks} WHERE id = ?", (*columns.values(), sample_id))

    def _place(self, pile_id: str) -> None:
        Pile.stored(self._connection, pile_id).place(self._connection, pile_id)


def insert(connection: sqlite3.Connection, sample_id: str, pile_id: str, draft: Draft) -> None:
    """Write a new sample's row, inside the caller's transaction; the pile is placed by the caller."""
    moment = now()
    columns = {"id": sample_id, "pile_id": pile_id, "added_at": moment, "changed_at": moment, **draft.columns()}
    marks = ", ".join("?" * len(columns))
    connection.execute(f"INSERT INTO sample ({', '.join(columns)}) VALUES ({marks})", tuple(columns.values()))


def find_row(connection: sqlite3.Connection, name: str) -> sqlite3.Row | None:
    """Return the row of a sample by id or by a label that only one has; None where there is none of the name.

    Of samples with the same label those that count go first. BadInput where several share it.
    """
    name = unicodedata.normalize("NFC", name)
    row: sqlite3.Row | None = connection.execute("SELECT * FROM sample WHERE id = ?", (name.lower(),)).fetchone()
    if row is not None:
        return row
    rows: Sequence[sqlite3.Row] = connection.execute(
        "SELECT * FROM sample WHERE label = ? AND label <> '' ORDER BY withdrawn_at IS NOT NULL, added_at", (name,)
    ).fetchall()
    counting = [row for row in rows if row["withdrawn_at"] is None] or rows
    if len(counting) > 1:
        ids = ", ".join(row["id"] for row in counting[:5])
        raise BadInput(f'{len(counting)} samples are called "{shown(name)}"', expected=f"an id, such as {ids}")
    return counting[0] if counting else None


def _called(sample: Sample) -> str:
    return shown(sample.label) or sample.id


def _withdrawn(sample: Sample) -> BadInput:
    return BadInput(
        f'sample "{_called(sample)}" is withdrawn', expected="a sample that counts; restore it first", example=sample.id
    )
