"""The page for programs and who writes them: the SQL functions, the JSON addresses, and their description."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Response

from matref.web.functions import DOCUMENTED
from matref.web.openapi import QUESTIONS, Question, description
from matref.web.shelf import ROUTE
from matref.web.visit import Visit

_ROWS = 10


async def functions_page(visit: Visit) -> Response:
    """Document the SQL functions, each with queries that are run here and now, and the JSON addresses."""
    shown = [
        {"function": entry, "examples": [await _run(visit, sql) for sql in entry.examples]} for entry in DOCUMENTED
    ]
    here = f"{visit.request.scheme}://{visit.request.host}"
    questions = [(question, _curl(question, here)) for question in QUESTIONS]
    return await visit.page("functions.html", {"functions": shown, "questions": questions})


async def described(visit: Visit) -> Response:
    """Return the OpenAPI description."""
    return visit.json(description())


async def _run(visit: Visit, sql: str) -> dict[str, Any]:
    results = await visit.datasette.get_database(ROUTE).execute(sql, truncate=True, page_size=_ROWS)
    rows = [tuple(f"{v:.6g}" if isinstance(v, float) else v for v in row) for row in results.rows[:_ROWS]]
    return {"sql": sql, "columns": results.columns, "rows": rows, "more": len(results.rows) > len(rows)}


def _curl(question: Question, here: str) -> str:
    """Return a line that asks this question from a terminal."""
    address = here + question.path.replace("{id}", "ID")
    if question.method == "get":
        return f"curl '{address}{'?' + urlencode(question.example) if question.example else ''}'"
    sent = json.dumps(question.example, ensure_ascii=False)
    return f"curl '{address}' --json '{sent}'"
