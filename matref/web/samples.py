"""The pages of personal samples: list, add, correct, withdraw, and take in or give out as a table."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote

from datasette.utils.asgi import Response

from matref.api import Workshop
from matref.errors import BadInput
from matref.samples import Sample
from matref.web.fields import (
    GROUPS,
    SAMPLE_FIELDS,
    SAMPLE_FORM,
    Filled,
    check,
    field_name,
    fill,
)
from matref.web.pile import class_choices
from matref.web.visit import Visit

_HEAD = ("label", "note", "measured_on", "same_as")
_PAGE = 50


async def list_page(visit: Visit) -> Response:
    """List the samples, latest first, a page at a time."""
    class_id, withdrawn = visit.request.args.get("class") or None, bool(visit.request.args.get("withdrawn"))
    start = _offset(visit.request.args.get("start") or "0")
    found = await visit.desk.ask(lambda w: _listed(w, class_id, withdrawn, start))
    if visit.wants_json:
        return visit.json([as_json(sample, visit.may_write) for sample in found])
    context = {
        "samples": found[:_PAGE],
        "next": start + _PAGE if len(found) > _PAGE else None,
        "withdrawn": withdrawn,
        "class_id": class_id,
        "names": await visit.desk.answer(("class names",), _class_names),
    }
    return await visit.page("samples.html", context)


async def new_page(visit: Visit) -> Response:
    """Show the form for a new sample, filled with what the address brings along."""
    return await _form(visit, fill(visit.typed(), visit.units, known=SAMPLE_FORM))


async def add(visit: Visit) -> Response:
    """Keep a new sample; on the page, go to it afterwards."""
    fields = await visit.posted()
    units = _units(fields, visit)
    filled = fill(fields, units, strict=visit.wants_json, known=SAMPLE_FORM)
    kept = await visit.desk.ask(lambda w: _keep(w, filled, None))
    if kept is None:
        return visit.json(_refusal(filled), 400) if visit.wants_json else await _form(visit, filled)
    if visit.wants_json:
        return visit.json(as_json(kept, notes=True), 201)
    return visit.moved(f"/-/samples/{kept.id}", " ".join(("Kept; it counts from now on.", *kept.warnings)))


async def show_page(visit: Visit) -> Response:
    """Show one sample, with the form that corrects it and its former versions."""
    name = unquote(visit.request.url_vars["id"])
    sample = await visit.desk.ask(lambda w: w.samples.get(name))
    if visit.wants_json:
        return visit.json(as_json(sample, visit.may_write))
    return await _form(visit, _filled_from(sample), sample)


async def change(visit: Visit) -> Response:
    """Correct, withdraw or restore a sample."""
    name = unquote(visit.request.url_vars["id"])
    fields = await visit.posted()
    action = (fields.pop("action", None) or ["edit"])[-1]
    if action in ("withdraw", "restore"):
        sample = await visit.desk.ask(
            lambda w: w.samples.remove(name) if action == "withdraw" else w.samples.restore(name)
        )
        said = "Withdrawn: it no longer counts." if action == "withdraw" else "It counts again."
    elif action == "edit":
        filled = fill(fields, _units(fields, visit), strict=visit.wants_json, known=SAMPLE_FORM)
        kept = await visit.desk.ask(lambda w: _keep(w, filled, name))
        if kept is None:
            if visit.wants_json:
                return visit.json(_refusal(filled), 400)
            return await _form(visit, filled, await visit.desk.ask(lambda w: w.samples.get(name)))
        sample, said = kept, " ".join(("Corrected.", *kept.warnings))
    else:
        raise BadInput(f"no action called {action[:40]}", expected="edit, withdraw or restore")
    return visit.json(as_json(sample, notes=True)) if visit.wants_json else visit.moved(f"/-/samples/{sample.id}", said)


def as_json(sample: Sample, notes: bool) -> dict[str, Any]:
    """Return a sample as plain values, without its note for those who may not write."""
    found = sample.as_json()
    if not notes:
        del found["note"]
    return found


async def _form(visit: Visit, filled: Filled, sample: Sample | None = None) -> Response:
    history = await visit.desk.ask(lambda w: w.samples.history(sample.id)) if sample else []
    context = {
        "groups": GROUPS,
        "head": SAMPLE_FIELDS,
        "filled": filled,
        "classes": await visit.desk.answer(("choices",), class_choices),
        "names": await visit.desk.answer(("class names",), _class_names),
        "sample": sample,
        "history": history,
    }
    return await visit.page("sample.html", context)


def _keep(workshop: Workshop, filled: Filled, name: str | None) -> Sample | None:
    """Add or correct the sample, or write into the form what is wrong and return None."""
    check(filled, workshop.connection)
    if filled.wrong:
        return None
    head = {key: filled.typed.get(key, "") for key in _HEAD}
    try:
        if name is None:
            return workshop.samples.add(
                head["label"], head["note"], head["same_as"] or None, head["measured_on"], **filled.evidence()
            )
        sample = workshop.samples.get(name)
        gone = {key: "" for key in sample.typed if field_name(key) in filled.typed}
        given = {key: text for key, text in head.items() if key in filled.typed}
        return workshop.samples.edit(name, **{**gone, **filled.evidence(), **given})
    except BadInput as error:
        filled.blame(error)
        return None


def _refusal(filled: Filled) -> dict[str, Any]:
    words = filled.general or "; ".join(filled.errors.values())
    return {"ok": False, "error": words, "fields": filled.errors}


def _filled_from(sample: Sample) -> Filled:
    typed = {field_name(key): text for key, text in sample.typed.items()}
    head = {"label": sample.label, "note": sample.note, "measured_on": sample.measured_on, "same_as": sample.same_as}
    return Filled({**head, **typed})


def _listed(workshop: Workshop, class_id: str | None, withdrawn: bool, start: int) -> list[Sample]:
    rows = workshop.connection.execute(
        """SELECT * FROM sample WHERE (?1 IS NULL OR class_id = ?1) AND (?2 OR withdrawn_at IS NULL)
           ORDER BY added_at DESC, rowid DESC LIMIT ?3 OFFSET ?4""",
        (class_id, withdrawn, _PAGE + 1, start),
    )
    return [Sample.of(row) for row in rows]


def _class_names(workshop: Workshop) -> dict[str, str]:
    return dict(workshop.connection.execute("SELECT id, name FROM material_class").fetchall())


def _units(fields: dict[str, list[str]], visit: Visit) -> str:
    chosen = (fields.pop("units", None) or [""])[-1]
    return chosen if chosen in ("mm", "in") else visit.units


def _offset(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise BadInput(f"a start of {text[:40]}", expected="a number of samples to pass over", example="50")
    return int(text)
