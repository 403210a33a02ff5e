"""The Python API: one object for one workshop file, with a method for every question.

>>> import matref
>>> with matref.open(":memory:") as workshop:
...     answer = workshop.caliper(paper_class="copier", grammage=80)
...     answer.caliper_um.low < answer.caliper_um.value < answer.caliper_um.high
True
"""

from __future__ import annotations

import os
import sqlite3
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from matref import workshop as file
from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.caliper import CaliperResult, caliper
from matref.estimator.evidence import Evidence, Typed

if TYPE_CHECKING:
    from matref.answers import SpineAnswer
    from matref.finished import FinishedBooks
    from matref.planning import PlannedBook
    from matref.planning.document import Source
    from matref.samples import Samples
    from matref.stock import Stock


class Workshop:
    """A user's file: the catalogue, the estimator, and what the user measured.

    Methods take numbers in g/m², mm and g, or text with units ("20 lb bond", "10.5 mm", "98 g"). They raise
    `matref.errors.BadInput` in one line for what makes no sense.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection

    def __enter__(self) -> Self:
        """Return the workshop itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    # look up

    def find(self, words: str, *, kind: str | None = None, limit: int = 20) -> list[dict[str, Any]]:
        """Return catalogue entries for some words, best first: `{id, kind, name, values…, source}`."""
        from matref.catalogue.search import find

        return find(self.connection, words, kind, limit)

    def show(self, entry_id: str, *, kind: str | None = None) -> dict[str, Any]:
        """Return one entry with every value and every source."""
        from matref.catalogue.show import show

        return show(self.connection, entry_id, kind)

    def convert(self, text: str) -> dict[str, Any]:
        """Return what an old measure means in SI: `{input, meaning, value, unit, exact, source}`."""
        from matref.catalogue.convert import convert

        return convert(self.connection, text)

    # estimate

    def caliper(
        self,
        *,
        level: float = 0.9,
        sample: str | None = None,
        target_pct: float | None = None,
        **evidence: Typed | None,
    ) -> CaliperResult:
        """Return caliper, bulk and grammage of a pile, with intervals, from whatever is known of it.

        `evidence`: the fields of `matref.estimator.evidence.Evidence` (paper_class, grammage, size, sheets, mass, …).
        `sample`: the id of a sample, whose measurements count as this pile's own. `target_pct`: also say how many
        sheets each way of measuring needs to bring the half-width down to that share of the caliper.
        """
        rules = Rules(self.connection, own_habit=True)
        known, extra = self._with_sample(self._evidence(evidence), sample, rules)
        return caliper(self.connection, known, level=level, extra=extra, rules=rules, target_pct=target_pct)

    def spine(
        self,
        *,
        sheets_per_section: int,
        sections: int | None = None,
        pages: int | None = None,
        thread: Typed,
        caliper_um: Typed | None = None,
        sewing: str = "all-along",
        rounding_deg: float = 0.0,
        level: float = 0.9,
        sample: str | None = None,
        **evidence: Typed | None,
    ) -> SpineAnswer:
        """Return fore-edge, swell, spine and creep of a sewn book, with intervals.

        The paper's thickness comes from `caliper_um` (a measured single sheet, µm or text with a unit) or from the same
        evidence as `caliper`; `thread` is a diameter, a count with its fibre, or a thread of the catalogue.
        """
        from matref.answers import spine_answer

        rules = Rules(self.connection, own_habit=True)
        known, extra = self._with_sample(self._evidence(evidence), sample, rules)
        return spine_answer(
            self.connection,
            known,
            extra,
            evidence_rules=rules,
            caliper_um=caliper_um,
            sheets_per_section=sheets_per_section,
            sections=sections,
            pages=pages,
            thread=thread,
            sewing=sewing,
            rounding_deg=rounding_deg,
            level=level,
        )

    def plan(self, plan: Source) -> PlannedBook:
        """Return a whole book planned from a plan file (a path) or from a mapping of the same shape.

        Every mistake in it is a BadInput in one line with the path of its key. `matref.planning.reference()` lists the
        keys, `matref.planning.starter()` is a file to begin with.
        """
        from matref.planning import plan_file

        return plan_file(self.connection, plan)

    # what the user measured, and what lies on the shelf

    @property
    def stock(self) -> Stock:
        """What lies on the user's shelf."""
        from matref.stock import Stock

        return Stock(self.connection)

    @property
    def samples(self) -> Samples:
        """The user's own samples."""
        from matref.samples import Samples

        return Samples(self.connection)

    @property
    def finished(self) -> FinishedBooks:
        """How the user's books came out."""
        from matref.finished import FinishedBooks

        return FinishedBooks(self.connection)

    def _evidence(self, fields: dict[str, Typed | None]) -> Evidence:
        try:
            return Evidence(**fields)  # type: ignore[arg-type]
        except TypeError as error:
            unknown = [name for name in fields if name not in Evidence.__dataclass_fields__]
            raise BadInput(
                f"{', '.join(unknown)} is no kind of evidence", expected=", ".join(Evidence.__dataclass_fields__)
            ) from error

    def _with_sample(self, evidence: Evidence, sample: str | None, rules: Rules) -> tuple[Evidence, tuple[Any, ...]]:
        if sample is None:
            return evidence, ()
        return self.samples.as_evidence(sample, evidence, rules)


def open(path: str | os.PathLike[str] | None = None) -> Workshop:
    """Open a workshop file, making it first if need be (None: `MATREF_DB`, else the user's own file).

    ":memory:" gives a catalogue that is gone when closed.
    """
    if path == ":memory:":
        return Workshop(file.in_memory())
    return Workshop(file.connect(path))
