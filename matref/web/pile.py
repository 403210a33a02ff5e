"""The page that asks what a pile is known by and answers what it is and how thick."""

from __future__ import annotations

from typing import Any

from datasette.utils.asgi import Response

from matref.api import Workshop
from matref.errors import BadInput
from matref.estimator.caliper import CaliperResult
from matref.estimator.estimate import Estimate
from matref.quantities import format_range
from matref.web import shown
from matref.web.fields import GROUPS, Filled, check, fill
from matref.web.lines import class_lines, own_points
from matref.web.offers import offers
from matref.web.picture import LETTERS, Pile, mark, picture
from matref.web.records import refusal
from matref.web.visit import Visit
from matref.web.words import explain, source_titles

_DRAWN = 5
_DRAWN_SHARE = 0.03


async def pile_page(visit: Visit) -> Response:
    """Show the form, and under it the answer to what is filled in."""
    if visit.blanks:
        return visit.without_blanks()
    filled = fill(visit.typed(), visit.units)
    answer = None
    if not filled.empty:
        answer = await visit.desk.answer(("pile page", filled.key()), lambda w: _answer(w, filled))
        if isinstance(answer, Filled):
            filled, answer = answer, None
    choices = await visit.desk.answer(("choices",), class_choices)
    context = {
        "groups": GROUPS,
        "filled": filled,
        "answer": answer,
        "classes": choices,
        "offers": await visit.desk.answer(("offers",), offers),
        "query": visit.request.query_string,
        "terms": await visit.desk.answer(("terms", "pile"), lambda w: explain(w, _WORDS)),
    }
    return await visit.page("pile.html", context)


_WORDS = ("caliper", "grammage", "bulk", "basis-weight")


async def pile_json(visit: Visit) -> Response:
    """Answer as the command `caliper --json` does."""
    fields = await visit.posted() if visit.request.method == "POST" else visit.typed()
    filled = fill(fields, visit.units, strict=True)
    body = await visit.desk.answer(("pile json", filled.key()), lambda w: _json(w, filled))
    return visit.json(body, status=400 if "error" in body else 200)


def estimate(workshop: Workshop, filled: Filled) -> CaliperResult | None:
    """Return the estimate that a filled form asks for, or None after writing into it what is wrong."""
    check(filled, workshop.connection)
    if filled.wrong:
        return None
    try:
        evidence: dict[str, Any] = filled.evidence()
        return workshop.caliper(level=filled.level(), sample=filled.typed.get("sample") or None, **evidence)
    except BadInput as error:
        filled.blame(error)
        return None


def _json(workshop: Workshop, filled: Filled) -> dict[str, Any]:
    result = estimate(workshop, filled)
    if result is not None:
        return result.as_json()
    return refusal(filled)


def _answer(workshop: Workshop, filled: Filled) -> dict[str, Any] | Filled:
    result = estimate(workshop, filled)
    if result is None:
        return filled
    connection = workshop.connection
    drawn = [c.class_id for c in result.classes if c.probability >= _DRAWN_SHARE][:_DRAWN]
    lines = class_lines(connection, drawn)
    own = own_points(connection, drawn)
    pile = Pile(shown.ends(result.grammage_gsm), shown.ends(result.caliper_um))
    letters = dict(zip(drawn, LETTERS, strict=False))
    sources = {s for support in result.rests_on for s in support.sources}
    return {
        "caliper": shown.caliper(result.caliper_um, filled.units),
        "bulk": format_range(*shown.ends(result.bulk_cm3_g), unit="cm³/g"),
        "grammage": format_range(*shown.ends(result.grammage_gsm), unit="g/m²"),
        "hundred": shown.length(_stack(result, 100), filled.units),
        "half_width_pct": 100 * result.caliper_um.half_width / result.caliper_um.value,
        "mean": result.class_mean_caliper_um and shown.caliper(result.class_mean_caliper_um, filled.units),
        "level": result.level,
        "classes": [
            {
                "id": c.class_id,
                "name": c.name,
                "share": c.probability,
                "letter": letters.get(c.class_id),
                "mark": mark(drawn.index(c.class_id)) if c.class_id in letters else "",
            }
            for c in result.classes
        ],
        "why": result.why,
        "advice": result.advice,
        "warnings": result.warnings,
        "rests_on": result.rests_on,
        "sources": source_titles(connection, sources),
        "picture": picture(lines, own, pile, units=filled.units),
        "own": len(own),
        "measured": any(s.kind == "measurement" for s in result.rests_on),
    }


def _stack(result: CaliperResult, sheets: int) -> Estimate:
    value, low, high = (um * sheets / 1000 for um in shown.ends(result.caliper_um))
    return Estimate(value, low, high, result.level)


def class_choices(workshop: Workshop) -> dict[str, list[tuple[str, str]]]:
    """Return family to (id, name) of its classes, for the list of kinds."""
    found: dict[str, list[tuple[str, str]]] = {}
    rows = workshop.connection.execute("SELECT family, id, name FROM material_class ORDER BY family DESC, name")
    for family, class_id, name in rows:
        found.setdefault(family, []).append((class_id, name))
    return {family: found[family] for family in ("paper", "board", "cloth") if family in found}
