"""The first page, a page for each class, the page of SQL functions, and the one where the secret is typed."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote

from datasette.utils.asgi import Response

from matref.api import Workshop
from matref.errors import BadInput, NotFound
from matref.web.access import COOKIE, is_secret, writer_cookie
from matref.web.lines import class_lines, own_points
from matref.web.picture import picture
from matref.web.shelf import ROUTE
from matref.web.visit import Visit
from matref.web.words import explain, source_titles

_LAST = 5
_MONTH_S = 2_592_000


async def home(visit: Visit) -> Response:
    """Say what can be done here, how much is known, and what was measured last."""
    context = await visit.desk.answer(("home",), _home)
    return await visit.page("home.html", {**context, "queries": visit.datasette.metadata("queries", database=ROUTE)})


async def search(visit: Visit) -> Response:
    """Find entries of the catalogue by words."""
    words = (visit.request.args.get("q") or "").strip()
    found: list[dict[str, Any]] = []
    error = ""
    if words:
        try:
            found = await visit.desk.answer(("find", words), lambda w: w.find(words, limit=40))
        except BadInput as problem:
            error = str(problem)
    if visit.wants_json:
        return visit.json({"ok": False, "error": error}, 400) if error else visit.json(found)
    return await visit.page("find.html", {"words": words, "found": found, "error": error})


async def class_page(visit: Visit) -> Response:
    """Show how to recognise a class, its picture and what the readings say."""
    wanted = unquote(visit.request.url_vars["id"])
    units = visit.units
    context = await visit.desk.answer(("class", wanted, units), lambda w: _class(w, wanted, units))
    return await visit.page("class.html", context)


async def unlock_page(visit: Visit) -> Response:
    """Ask for the secret."""
    return await visit.page("unlock.html", {"error": ""})


async def unlock(visit: Visit) -> Response:
    """Give leave to write to whoever knows the secret."""
    fields = await visit.posted()
    if not is_secret(visit.datasette, fields.get("secret", [""])[0].strip()):
        return await visit.page("unlock.html", {"error": "That is not the secret that was printed."}, status=403)
    response = visit.moved("/-/samples", "You may write here now.")
    response.set_cookie(COOKIE, writer_cookie(visit.datasette), max_age=_MONTH_S, httponly=True)
    return response


def _home(workshop: Workshop) -> dict[str, Any]:
    one = workshop.connection.execute
    rows = one(
        f"""SELECT s.id, s.label, c.name, s.grammage_gsm, s.caliper_um, s.measured_on
            FROM sample AS s LEFT JOIN material_class AS c ON c.id = s.class_id
            WHERE s.withdrawn_at IS NULL ORDER BY s.added_at DESC LIMIT {_LAST}"""
    )
    keys = ("id", "label", "class_name", "grammage_gsm", "caliper_um", "measured_on")
    return {
        "readings": one("SELECT count(*) FROM reading").fetchone()[0],
        "sources": one("SELECT count(*) FROM source").fetchone()[0],
        "classes": one("SELECT count(*) FROM material_class").fetchone()[0],
        "edition": one("SELECT value FROM info WHERE key = 'edition'").fetchone()[0],
        "last": [dict(zip(keys, row, strict=True)) for row in rows],
    }


def _class(workshop: Workshop, wanted: str, units: str) -> dict[str, Any]:
    connection = workshop.connection
    row = connection.execute(
        "SELECT * FROM material_class WHERE id = ?1 OR name = ?1 COLLATE NOCASE ORDER BY id = ?1 DESC", (wanted,)
    ).fetchone()
    if row is None:
        raise NotFound(f'no class called "{wanted[:60]}"', expected="one of the classes of the shelf")
    material = dict(row)
    sources = connection.execute(
        "SELECT DISTINCT source_id FROM reading WHERE class_id = ? ORDER BY 1", (material["id"],)
    ).fetchall()
    lines = class_lines(connection, [material["id"]])
    own = own_points(connection, [material["id"]])
    readings = lines[0].readings if lines else ()
    return {
        "material": material,
        "picture": picture(lines, own, None, units=units) if readings or own else "",
        "readings": len(readings),
        "own": len(own),
        "grammages": (min(g for g, _ in readings), max(g for g, _ in readings)) if readings else None,
        "bulks": (min(t / g for g, t in readings), max(t / g for g, t in readings)) if readings else None,
        "sources": source_titles(connection, [s for (s,) in sources] + [material["source_id"]]),
        "terms": explain(workshop, ("caliper", "grammage", "bulk")),
    }
