"""The pages of finished books: how each came out beside what was predicted, and what they teach.

A record can begin from a plan: the address of `/-/book`, sent to `/-/finished/new`, fills in what the plan settled.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from matref.api import Workshop
from matref.errors import BadInput
from matref.estimator.estimate import Estimate
from matref.finished import FinishedBook, flattening_posterior, pressing_posterior, taught
from matref.planning.facts import facts_of
from matref.quantities import format_range, parse_count
from matref.web.asking import Field
from matref.web.fields import EVIDENCE_FIELDS, GROUPS, LABEL, MEASURED_ON, NOTE, Filled, field_name, fill
from matref.web.offers import offers
from matref.web.pile import class_choices
from matref.web.plan_form import PlanForm, fill_plan
from matref.web.records import PAGE, Records, unknown_action
from matref.web.shown import give_or_take
from matref.web.visit import Visit

MEASURED = (
    Field(
        "fore_edge_mm",
        "Thickness at the fore-edge",
        "Of the bare block, before rounding.",
        "6.4",
        kind="length",
        named="fore-edge",
    ),
    Field("spine_mm", "Thickness at the spine", "This or the fore-edge, or both.", "9.0", kind="length", named="spine"),
    Field(
        "measured_with",
        "Measured with",
        kind="choice",
        choices=(("", "a ruler"), ("vernier", "a vernier"), ("micrometer", "a micrometer")),
        usual="ruler",
    ),
)
MADE = (
    Field("sheets_per_section", "Sheets in a section", "", "4", kind="count", named="sheets per section"),
    Field("sections", "How many sections", "", "8", kind="count", noun="sections", named="sections"),
    Field(
        "thread",
        "Thread",
        "A count with its fibre, one of the list, or how thick it is: 0.5 mm.",
        "30/3 linen",
        offers="threads",
        named="thread",
    ),
    Field(
        "sewing",
        "Sewn",
        kind="choice",
        choices=(("", "all along by hand"), ("two-on", "two-on by hand"), ("machine", "by machine")),
        usual="all-along",
    ),
    Field(
        "pressing",
        "The block was",
        "Before it was measured.",
        kind="choice",
        choices=(("", "pressed"), ("nipped", "nipped only"), ("unpressed", "not pressed")),
        usual="pressed",
        named="pressing",
    ),
    Field(
        "endpaper_leaves",
        "Leaves of endpaper in it",
        "Counted into the thickness; none if left empty.",
        "4",
        kind="count",
        noun="leaves",
    ),
)
PAPER_KNOWN = (
    Field("sample", "One of my samples", kind="pick", offers="samples", named="sample"),
    Field("caliper_um", "Thickness of one sheet", "Under a gauge.", "104", kind="thickness", named="caliper"),
)
HEAD = (replace(LABEL, example="second tide log"), MEASURED_ON)
PLAN = Field("plan", "Its plan", "The tables of a plan file.", kind="plan", named="plan")
FINISHED_FORM: dict[str, Field] = {
    entry.name: entry for entry in (*HEAD, *MEASURED, *MADE, *PAPER_KNOWN, *EVIDENCE_FIELDS.values(), NOTE, PLAN)
}
"""The fields of a finished book: what was measured, what it is made of, what is known of its paper."""

_ASKED_ONCE = ("sections", "sheets_per_section", "endpaper_leaves")


class FinishedPages(Records[FinishedBook]):
    """How books came out."""

    path = "/-/finished"
    list_template = "finished.html"
    form_template = "finished_book.html"
    form = FINISHED_FORM
    private = ("note", "plan")
    filters = ("withdrawn",)
    added = "Kept; the next spine is reckoned with it."

    def listed(self, workshop: Workshop, asked: Mapping[str, str], start: int) -> list[FinishedBook]:
        """Return the books that count, withdrawn ones too if asked."""
        return workshop.finished.list(withdrawn=bool(asked["withdrawn"]))[::-1][start : start + PAGE + 1]

    def get(self, workshop: Workshop, name: str) -> FinishedBook:
        """Return one book, withdrawn or not."""
        return workshop.finished.get(name)

    def keep(self, workshop: Workshop, filled: Filled, name: str | None) -> FinishedBook:  # noqa: ARG002
        """Record a finished book."""
        text = filled.text
        counts = {name: _whole(text(name), self.form[name].noun) for name in _ASKED_ONCE}
        return workshop.finished.add(
            fore_edge_mm=text("fore_edge_mm") or None,
            spine_mm=text("spine_mm") or None,
            sheets_per_section=counts["sheets_per_section"],
            sections=counts["sections"],
            endpaper_leaves=counts["endpaper_leaves"] or 0,
            thread=text("thread") or None,
            sewing=text("sewing") or None,
            pressing=text("pressing") or "pressed",
            caliper_um=text("caliper_um") or None,
            sample=text("sample") or None,
            measured_with=text("measured_with") or "ruler",
            label=text("label"),
            note=text("note"),
            measured_on=text("measured_on") or None,
            plan=_plan_of(text("plan")),
            **filled.evidence(),
        )

    def act(
        self,
        workshop: Workshop,
        name: str,
        action: str,
        filled: Filled,  # noqa: ARG002
    ) -> tuple[FinishedBook, str]:
        """Withdraw a book, or let it teach again."""
        if action == "withdraw":
            return workshop.finished.remove(name), "Withdrawn: it teaches nothing any more."
        if action == "restore":
            return workshop.finished.restore(name), "It counts again."
        raise unknown_action(action, "withdraw or restore")

    def begin(self, workshop: Workshop, fields: Mapping[str, list[str]], units: str) -> Filled:
        """Return the form of a new record; the fields of a plan fill in what the plan settled."""
        filled = fill(fields, units, known=self.form)
        form = fill_plan(fields, units)
        if form.begun:
            filled.typed = {**_settled(workshop, form), **{n: t for n, t in filled.typed.items() if t}}
        return filled

    async def around(self, visit: Visit, record: FinishedBook | None) -> dict[str, Any]:
        """Return the words and choices of the form, and the record as it is shown."""
        return {
            "head": HEAD,
            "measured": MEASURED,
            "made": MADE,
            "paper": PAPER_KNOWN,
            "note": NOTE,
            "groups": GROUPS,
            "offers": await visit.desk.answer(("offers",), offers),
            "classes": await visit.desk.answer(("choices",), class_choices),
            "compared": compared(record, visit.units) if record else [],
        }

    async def around_list(self, visit: Visit) -> dict[str, Any]:
        """Return what the books teach, and how each is shown."""
        units = visit.units
        return {"learnt": await visit.desk.answer(("learnt",), _learnt), "compared": lambda book: compared(book, units)}


def compared(book: FinishedBook, units: str) -> list[dict[str, str]]:
    """Return fore-edge and spine: predicted, measured, and whether the one lies in the other."""
    found = []
    for name, one in (("Fore-edge", book.fore_edge_mm), ("Spine", book.spine_mm)):
        ends = one.predicted.value, one.predicted.low, one.predicted.high
        row = {"name": name, "predicted": format_range(*ends, "mm", units), "measured": "", "verdict": ""}
        if one.measured is not None and one.u is not None:
            row["measured"] = give_or_take(one.measured, one.u, "mm", units)
            row["verdict"] = "in the range" if one.inside else "outside the range"
        found.append(row)
    return found


def _settled(workshop: Workshop, form: PlanForm) -> dict[str, str]:
    """Return what a plan settled of a finished book; nothing where the plan cannot be made."""
    try:
        plan = form.plan()
        planned = workshop.plan(plan).plan
    except BadInput:
        return {}
    try:
        facts = facts_of(workshop.connection, plan)
    except BadInput:  # a caliper measured in the block
        del plan["paper"]
        facts = facts_of(workshop.connection, plan)
    known = {
        "label": form.typed.get("book.title", ""),
        "sections": planned.sections.sections,
        "sheets_per_section": planned.sections.sheets_per_section,
        "thread": facts.get("thread", planned.stitching.thread),
        "sewing": facts.get("sewing", ""),
        "plan": json.dumps(plan, ensure_ascii=False),
        **{field_name(name): text for name, text in facts.get("paper", {}).items()},
    }
    return {name: str(text) for name, text in known.items() if text}


def _learnt(workshop: Workshop) -> dict[str, Any]:
    pressed, flattened = taught(workshop.connection)
    pressing = Estimate.of(pressing_posterior(workshop.connection))
    flattening = Estimate.of(flattening_posterior(workshop.connection, "mixed", ""))
    return {
        "books": pressed,
        "swollen": flattened,
        "pressing": format_range(pressing.value, pressing.low, pressing.high, ""),
        "flattening": format_range(flattening.value, flattening.low, flattening.high, ""),
    }


def _plan_of(text: str) -> dict[str, Any] | None:
    if not text:
        return None
    try:
        plan = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadInput("the plan is not JSON", expected="the tables of a plan file as one object") from error
    if not isinstance(plan, dict):
        raise BadInput("the plan is no object", expected="the tables of a plan file as one object")
    return plan


def _whole(text: str, noun: str) -> int | None:
    return int(parse_count(text, noun=noun).value) if text else None
