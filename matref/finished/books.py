"""The record of finished books: entered with what was measured, compared with what was predicted."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, cast

from matref.book.check import count
from matref.book.practice import Practice
from matref.book.spine import Limits, Sewing, SpineResult, spine
from matref.book.swell import threads_per_fold
from matref.book.text_block import Text
from matref.database import transaction
from matref.errors import BadInput, NotFound, shown
from matref.estimator.assumptions import Rules
from matref.estimator.estimate import Estimate
from matref.estimator.evidence import Evidence, Typed
from matref.finished.learning import fibre_of, flattening_posterior, pressing_posterior
from matref.finished.partial_pooling import moments
from matref.finished.record import FinishedBook
from matref.finished.threads import Threads
from matref.materials import thread as thread_called
from matref.personal_entry import clean_day, clean_text, new_id, now
from matref.quantities import parse_length, reading_uncertainty

if TYPE_CHECKING:
    from matref.answers import Paper
    from matref.estimator.observation import Observation

PRESSINGS = ("pressed", "nipped", "unpressed")
_Books = list[FinishedBook]
_LEVEL, _WIDE = 0.9, 0.99
_ABSURD = 2.0  # a thickness this many times outside the wide range is a slip, not a surprise
_SURE = 3.0  # standard uncertainties


class FinishedBooks:
    """The finished books of a workshop file. Withdrawn ones are kept but teach nothing.

    >>> import matref
    >>> with matref.open(":memory:") as workshop:
    ...     book = FinishedBooks(workshop.connection).add(
    ...         sheets_per_section=4, sections=8, thread="30/3 linen", caliper_um=104,
    ...         fore_edge_mm="6.4 mm", spine_mm="9.0 mm", measured_with="vernier", label="tide tables")
    ...     round(book.flattening, 2), book.spine_mm.inside
    (0.57, True)
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def add(
        self,
        *,
        fore_edge_mm: Typed | None = None,
        spine_mm: Typed | None = None,
        sheets_per_section: int | None = None,
        sections: int | None = None,
        thread: Typed | None = None,
        sewing: str | None = None,
        pressing: str = "pressed",
        endpaper_leaves: int = 0,
        caliper_um: Typed | None = None,
        sample: str | None = None,
        measured_with: str = "ruler",
        label: str = "",
        note: str = "",
        measured_on: str | date | None = None,
        plan: Mapping[str, Any] | None = None,
        **evidence: Typed | None,
    ) -> FinishedBook:
        """Keep a finished book and learn from it; return it beside what was predicted before it taught anything.

        Measured, one at least: thickness of the block without its cover, before rounding, at the fore-edge and at the
        spine, mm or text with a unit, with a ruler, vernier or micrometer. The paper: a measured caliper (µm), a
        sample, or evidence as for `caliper`. `plan`: the plan's file as a dict; what is not given is taken from it.
        `endpaper_leaves`: leaves of endpaper that count into the thickness, taken as the text's paper. BadInput for
        what is missing, makes no sense, or is far from any book of that many sheets.
        """
        from matref.planning.facts import facts_of

        facts = facts_of(self._connection, plan) if plan is not None else {}
        if caliper_um is None and sample is None and not any(v is not None for v in evidence.values()):
            evidence = dict(facts.get("paper", {}))
            caliper_um, sample = evidence.pop("caliper_um", None), cast(str | None, evidence.pop("sample", None))

        def fact(name: str, given: Any) -> Any:
            value = facts.get(name) if given is None else given
            if value is None:
                words = name.replace("_", " ")
                raise BadInput(f"the book's {words} is not given", expected=words, example=_EXAMPLES[name])
            return value

        columns: dict[str, Any] = {
            "label": clean_text(label, "label", 200),
            "note": clean_text(note, "note", 10_000, lines=True),
            "measured_on": clean_day(measured_on),
            "sheets_per_section": count(fact("sheets_per_section", sheets_per_section), "sheets in a section", 4),
            "sections": count(fact("sections", sections), "sections", 8),
            "endpaper_leaves": count(endpaper_leaves, "leaves of endpaper", 2, least=0),
            "sewing": sewing or facts.get("sewing", "all-along"),
            "pressing": _word(pressing, PRESSINGS, "pressing"),
            "measured_with": measured_with,
            "plan": json.dumps(plan, ensure_ascii=False, default=str) if plan is not None else None,
        }
        threads_per_fold(columns["sewing"])
        columns |= self._measured(fore_edge_mm, spine_mm, measured_with, columns["pressing"])
        columns |= self._thread(fact("thread", thread))
        with transaction(self._connection):
            paper, typed, key = self._paper(caliper_um, sample, evidence)
            caliper, u_caliper = moments(paper.caliper_um)
            columns |= {"paper": json.dumps(typed, ensure_ascii=False), "paper_key": key, "surface": paper.surface}
            columns |= {"caliper_um": caliper, "caliper_u_um": u_caliper}
            warnings = self._predict(columns, paper)
            columns |= {"id": new_id(self._connection, "finished_book"), "added_at": now()}
            marks = ", ".join("?" * len(columns))
            self._connection.execute(
                f"INSERT INTO finished_book ({', '.join(columns)}) VALUES ({marks})", tuple(columns.values())
            )
        return replace(self.get(columns["id"]), warnings=warnings)

    def get(self, book: str) -> FinishedBook:
        """Return a book by its id, or by its label where only one has it."""
        name = book.strip() if isinstance(book, str) else ""
        rows = self._connection.execute(
            "SELECT * FROM finished_book WHERE id = lower(?1) OR (label = ?1 AND label <> '')", (name,)
        ).fetchall()
        if not rows:
            raise NotFound(f'no finished book called "{shown(name)}"', expected="the id or label of one")
        if len(rows) > 1:
            ids = ", ".join(row["id"] for row in rows[:5])
            raise BadInput(f'{len(rows)} books are called "{shown(name)}"', expected=f"an id, such as {ids}")
        return FinishedBook.of(rows[0])

    def list(self, withdrawn: bool = False) -> _Books:
        """Return the books that count, in the order entered; `withdrawn`: the others too."""
        rows = self._connection.execute(
            "SELECT * FROM finished_book WHERE ? OR withdrawn_at IS NULL ORDER BY added_at, rowid", (withdrawn,)
        )
        return [FinishedBook.of(row) for row in rows]

    def remove(self, book: str) -> FinishedBook:
        """Withdraw a book: it is kept but teaches nothing; every estimate is exactly as without it."""
        return self._mark(book, now())

    def restore(self, book: str) -> FinishedBook:
        """Let a withdrawn book teach again."""
        return self._mark(book, None)

    def _mark(self, book: str, moment: str | None) -> FinishedBook:
        with transaction(self._connection):
            found = self.get(book)
            if bool(found.withdrawn_at) == bool(moment):
                state = "withdrawn already" if moment else "not withdrawn"
                raise BadInput(f'book "{shown(found.label) or found.id}" is {state}')
            self._connection.execute("UPDATE finished_book SET withdrawn_at = ? WHERE id = ?", (moment, found.id))
        return self.get(found.id)

    def _measured(self, edge: Typed | None, whole: Typed | None, tool: str, pressing: str) -> dict[str, float | None]:
        if edge is None and whole is None:
            raise BadInput(
                "nothing of the finished book was measured",
                expected="its fore-edge, its spine or both, in mm",
                example="6.5",
            )
        division = Rules(self._connection).division_mm(tool)
        found: dict[str, float | None] = {}
        for name, typed in (("fore_edge", edge), ("spine", whole)):
            value, u = _thickness(typed, name, division) if typed is not None else (None, None)
            found |= {f"{name}_mm": value, f"{name}_u_mm": u}
        thin, thick = found["fore_edge_mm"], found["spine_mm"]
        if thin and thick and pressing != "unpressed":
            u = math.hypot(found["fore_edge_u_mm"] or 0.0, found["spine_u_mm"] or 0.0)
            if thick < thin - _SURE * u:
                raise BadInput(
                    f"a spine of {thick:g} mm is thinner than the fore-edge of {thin:g} mm",
                    expected="both measured under the same pressure, or pressing unpressed",
                )
        return found

    def _thread(self, typed: Typed) -> dict[str, Any]:
        found = thread_called(self._connection, typed)
        mean, u = moments(found.diameter_mm)
        return {
            "thread": str(typed),
            "thread_name": found.name,
            "thread_fibre": fibre_of(self._connection, found),
            "thread_mm": mean,
            "thread_u_mm": u,
        }

    def _paper(
        self, caliper_um: Typed | None, sample: str | None, evidence: Mapping[str, Typed | None]
    ) -> tuple[Paper, dict[str, str], str]:
        """Return the paper, what was typed of it, and a key that books of the same paper share."""
        from matref.answers import paper_of
        from matref.samples import Samples
        from matref.samples.draft import Entry

        typed, rules = Entry.of("", "", None, evidence).typed, Rules(self._connection, own_habit=True)
        known, extra = Evidence(**typed), cast("tuple[Observation, ...]", ())
        told, key = dict(typed), json.dumps(typed, ensure_ascii=False, sort_keys=True)
        if sample is not None:
            samples = Samples(self._connection)
            known, extra = samples.as_evidence(sample, known, rules)
            kept = samples.get(sample)
            told["sample"], key = kept.id, f"pile {kept.pile_id}"
        if caliper_um is not None:
            told["caliper_um"] = str(caliper_um)
            key = f"caliper {caliper_um}"
        return paper_of(self._connection, known, extra, caliper_um, _LEVEL, rules), told, key

    def _predict(self, columns: dict[str, Any], paper: Paper) -> tuple[str, ...]:
        """Add the prediction to the columns; return what is surprising about the measured values, refuse the absurd."""
        thread = thread_called(self._connection, columns["thread"])
        plan = json.loads(columns["plan"]) if columns["plan"] else None
        threads = Threads.of(columns["sections"], columns["sewing"], plan)
        practice = Practice.of(Rules(self._connection).__getitem__)
        text = Text(
            columns["sheets_per_section"],
            columns["sections"],
            paper.caliper_um,
            pressing_posterior(self._connection),
            columns["endpaper_leaves"],
        )
        sewing = Sewing(
            thread.diameter_mm,
            flattening_posterior(self._connection, paper.surface, columns["thread_fibre"]),
            columns["sewing"],
            threads.singly,
            endpaper_folds=threads.endpaper_folds,
            fold_mm=practice.fold_spring_of(columns["pressing"] != "unpressed"),
        )
        limits = Limits.of(practice, paper.surface)

        def at(level: float) -> SpineResult:
            return spine(text, sewing, limits, level=level)

        likely, wide = at(_LEVEL), at(_WIDE)
        names = ("fore_edge_mm", "spine_mm")
        columns["predicted"] = json.dumps(
            {name: {**getattr(likely, name).as_json(), "level": _LEVEL} for name in names}
        )
        return tuple(filter(None, (_surprise(columns[name], getattr(wide, name), name) for name in names)))


_EXAMPLES = {"sheets_per_section": "4", "sections": "8", "thread": '"30/3 linen"'}


def _surprise(measured: float | None, wide: Estimate, name: str) -> str:
    words = name.removesuffix("_mm").replace("_", "-")
    if measured is None or wide.low <= measured <= wide.high:
        return ""
    line = f"a {words} of {measured:g} mm was measured where {wide.low:.2g} to {wide.high:.2g} mm was to be expected"
    if not wide.low / _ABSURD <= measured <= wide.high * _ABSURD:
        raise BadInput(line, expected="the number of folded sheets in a section, of sections, and mm of the bare block")
    return line


def _thickness(typed: Typed, name: str, division_mm: float) -> tuple[float, float]:
    """Return a thickness read at both ends of an instrument, mm, with its standard uncertainty (GUM 4.3.7)."""
    words = name.replace("_", "-") + " thickness"
    read = parse_length(typed, what=words)
    if not 0.2 <= read.value <= 500:
        raise BadInput(f"a {words} of {read.value:g} mm", expected="0.2 to 500 mm", example="6.5")
    return read.value, reading_uncertainty(max(read.step, division_mm), ends=2)


def _word(text: str, words: tuple[str, ...], what: str) -> str:
    if text not in words:
        raise BadInput(f'"{shown(str(text))}" is no {what}', expected=" or ".join(words), example=words[0])
    return text
