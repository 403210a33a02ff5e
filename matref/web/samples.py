"""The pages of personal samples: list, add, correct, withdraw."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from matref.api import Workshop
from matref.samples import Sample
from matref.web.fields import GROUPS, SAMPLE_FIELDS, SAMPLE_FORM, Filled, field_name
from matref.web.pile import class_choices
from matref.web.records import PAGE, Records, unknown_action
from matref.web.visit import Visit

_HEAD = ("label", "note", "measured_on", "same_as")


class SamplePages(Records[Sample]):
    """What was measured of each pile."""

    path = "/-/samples"
    list_template = "samples.html"
    form_template = "sample.html"
    form = SAMPLE_FORM
    filters = ("class", "withdrawn")
    added = "Kept; it counts from now on."

    def listed(self, workshop: Workshop, asked: Mapping[str, str], start: int) -> list[Sample]:
        """Return the samples of a class or of all, withdrawn ones too if asked."""
        rows = workshop.connection.execute(
            """SELECT * FROM sample WHERE (?1 = '' OR class_id = ?1) AND (?2 OR withdrawn_at IS NULL)
               ORDER BY added_at DESC, rowid DESC LIMIT ?3 OFFSET ?4""",
            (asked["class"], bool(asked["withdrawn"]), PAGE + 1, start),
        )
        return [Sample.of(row) for row in rows]

    def get(self, workshop: Workshop, name: str) -> Sample:
        """Return one sample, withdrawn or not."""
        return workshop.samples.get(name)

    def keep(self, workshop: Workshop, filled: Filled, name: str | None) -> Sample:
        """Add or correct a sample; correcting takes out the fields that were emptied."""
        head = {key: filled.typed.get(key, "") for key in _HEAD}
        if name is None:
            return workshop.samples.add(
                head["label"], head["note"], head["same_as"] or None, head["measured_on"], **filled.evidence()
            )
        gone = {key: "" for key in workshop.samples.get(name).typed if field_name(key) in filled.typed}
        given = {key: text for key, text in head.items() if key in filled.typed}
        return workshop.samples.edit(name, **{**gone, **filled.evidence(), **given})

    def act(self, workshop: Workshop, name: str, action: str, filled: Filled) -> tuple[Sample, str]:  # noqa: ARG002
        """Withdraw a sample, or let it count again."""
        if action == "withdraw":
            return workshop.samples.remove(name), "Withdrawn: it no longer counts."
        if action == "restore":
            return workshop.samples.restore(name), "It counts again."
        raise unknown_action(action, "edit, withdraw or restore")

    def filled_from(self, record: Sample) -> Filled:
        """Return the form that corrects a sample."""
        typed = {field_name(key): text for key, text in record.typed.items()}
        return Filled({**{key: getattr(record, key) for key in _HEAD}, **typed}, known=self.form)

    async def around(self, visit: Visit, record: Sample | None) -> dict[str, Any]:
        """Return the words and choices of the form, and the former versions."""
        return {
            "groups": GROUPS,
            "head": SAMPLE_FIELDS,
            "classes": await visit.desk.answer(("choices",), class_choices),
            "names": await visit.desk.answer(("class names",), _class_names),
            "history": await visit.desk.ask(lambda w: w.samples.history(record.id)) if record else [],
        }

    async def around_list(self, visit: Visit) -> dict[str, Any]:
        """Return the names of the classes."""
        return {"names": await visit.desk.answer(("class names",), _class_names)}


def _class_names(workshop: Workshop) -> dict[str, str]:
    return dict(workshop.connection.execute("SELECT id, name FROM material_class").fetchall())
