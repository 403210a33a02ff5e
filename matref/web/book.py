"""The page on which a book is planned: the form, the plan in figures and drawings, and the sheet of work as PDF."""

from __future__ import annotations

from typing import Any

from datasette.utils.asgi import Response
from markupsafe import Markup

from matref.api import Workshop
from matref.errors import BadInput
from matref.planning import PlannedBook
from matref.web.book_fields import BOOK_FIELDS, BOOK_GROUPS
from matref.web.offers import offers, usual
from matref.web.pile import class_choices
from matref.web.plan_form import CANDIDATES, MORE, PlanForm, fill_plan
from matref.web.visit import Visit
from matref.web.words import explain, source_titles

_WORDS = ("section", "swell", "creep", "fore-edge", "turn-in", "square", "grain", "nipping")
_START = {
    "mm": {"book.page_width_mm": "100", "book.page_height_mm": "150"},
    "in": {"book.page_width_mm": "4", "book.page_height_mm": "6"},
}
_START_BOOK = {"book.structure": "soft-cover", "book.sections": "5"}


async def book_page(visit: Visit) -> Response:
    """Show the form and, where it says something of a book, the plan."""
    if visit.blanks:
        return visit.without_blanks()
    form, units = fill_plan(visit.typed(), visit.units), visit.units
    answer: Any = None
    brought = not form.begun and not form.empty
    if form.begun:
        answer = await visit.desk.answer(("book page", form.key()), lambda w: _answer(w, form))
        if isinstance(answer, PlanForm):
            form, answer = answer, None
    else:
        form.typed = {**_START_BOOK, **_START[units], **form.typed}
    context = {
        "filled": form,
        "answer": answer,
        "brought": brought,
        "groups": BOOK_GROUPS,
        "known": BOOK_FIELDS,
        "more": MORE,
        "beside": range(1, CANDIDATES + 1),
        "classes": {
            family: found
            for family, found in (await visit.desk.answer(("choices",), class_choices)).items()
            if family != "cloth"
        },
        "offers": await visit.desk.answer(("offers",), offers),
        "usual": await visit.desk.answer(("usual", units), lambda w: usual(w, units)),
        "query": visit.request.query_string,
        "terms": await visit.desk.answer(("terms", "book"), lambda w: explain(w, _WORDS)) if answer else {},
    }
    return await visit.page("book.html", context)


async def book_json(visit: Visit) -> Response:
    """Answer as `plan --json` does; a posted object may have the shape of a plan file instead of fields."""
    form = fill_plan(visit.typed(), visit.units, strict=True)
    body = await visit.desk.answer(("book json", form.key()), lambda w: _json(w, form))
    return visit.json(body, 400 if "error" in body else 200)


async def book_json_posted(visit: Visit) -> Response:
    """Answer a plan posted as JSON in the shape of a plan file, or as form fields."""
    posted = await visit.posted_object()
    if any(isinstance(value, dict | list) for value in posted.values()):
        made = await visit.desk.ask(lambda w: w.plan(posted).as_json())
        return visit.json(made)
    fields = {name: [str(value)] for name, value in posted.items() if value is not None}
    form = fill_plan(fields, visit.units, strict=True)
    body = await visit.desk.ask(lambda w: _json(w, form))
    return visit.json(body, 400 if "error" in body else 200)


async def book_pdf(visit: Visit) -> Response:
    """Return the sheet of work as a PDF, with the marks to lay on at true size."""
    form = fill_plan(visit.typed(), visit.units)
    paper = visit.request.args.get("paper") or "A4"
    content = await visit.desk.answer(("book pdf", paper, form.key()), lambda w: _pdf(w, form, paper))
    headers = {"content-disposition": 'attachment; filename="sheet-of-work.pdf"'}
    return Response(content, headers=headers, content_type="application/pdf")


def planned(workshop: Workshop, form: PlanForm) -> PlannedBook | None:
    """Return the planned book, or None after writing into the form what is wrong."""
    try:
        return workshop.plan(form.plan())
    except BadInput as error:
        form.blame(error)
        return None


def _json(workshop: Workshop, form: PlanForm) -> dict[str, Any]:
    book = planned(workshop, form)
    if book is not None:
        return book.as_json()
    return {"ok": False, "error": form.told, "fields": form.errors}


def _pdf(workshop: Workshop, form: PlanForm, paper: str) -> bytes:
    from matref.bench.compose import pages_of
    from matref.bench.content import sheet_of_work
    from matref.bench.lengths import units_of
    from matref.bench.page import paper_size
    from matref.bench.pdf import pdf_bytes

    book = planned(workshop, form)
    if book is None:
        raise BadInput(form.told)
    units = units_of(form.units)
    sheet = sheet_of_work(book.as_json(), units)
    return pdf_bytes(pages_of(sheet, paper_size(paper), units), sheet.title)


def _answer(workshop: Workshop, form: PlanForm) -> dict[str, Any] | PlanForm:
    from matref.bench.content import sheet_of_work
    from matref.bench.lengths import ranged, units_of
    from matref.bench.svg import svg

    book = planned(workshop, form)
    if book is None:
        return form
    units = units_of(form.units)
    plain = book.as_json()
    sheet = sheet_of_work(plain, units)
    drawings = [*sheet.drawings, *(drawing for drawing, _ in sheet.layouts)]
    sources = {source for support in book.rests_on for source in support.sources}
    return {
        "sheet": sheet,
        "spine": ranged(plain["spine"]["spine_mm"], "mm", units),
        "drawings": [(d.caption, d.note, Markup(svg(d, caption=False))) for d in drawings],
        "cuts": [cuts for _, cuts in sheet.layouts],
        "compare": _compared(plain, units) if "compare" in plain else [],
        "assumed": book.assumed,
        "rests_on": book.rests_on,
        "sources": source_titles(workshop.connection, sources),
        "cost": plain["cost"],
    }


def _compared(plain: dict[str, Any], units: Any) -> list[dict[str, Any]]:
    from matref.bench.lengths import ranged

    return [
        one
        if "refused" in one
        else {
            **one,
            "spine": ranged(one["spine_mm"], "mm", units),
            "swell": f"{100 * one['swell_ratio']['value']:.0f} %",
            "weight": ranged(one["weight_g"], "g", units),
        }
        for one in plain["compare"]
    ]
