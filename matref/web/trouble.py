"""Errors as a person reads them: one sentence, on a page or as JSON, with the right status."""

from __future__ import annotations

import sqlite3
import traceback
from typing import Any

from datasette.database import QueryInterrupted
from datasette.utils.asgi import Base400, Request, Response
from datasette.views.base import DatasetteError

from matref.errors import MatrefError, NotFound
from matref.web.shelf import ROUTE

_SENSELESS = (ValueError, OverflowError, AssertionError, LookupError, TypeError, AttributeError)
_SQL_MISTAKES = ("SQLITE_ERROR", "SQLITE_MISMATCH", "SQLITE_TOOBIG", "SQLITE_RANGE")
_FAULT = "Something went wrong in matref itself; what it was is printed where matref was started."
_TOO_SLOW = "This question took too long and was stopped. Ask for less: a narrower filter, or a LIMIT."


class Answered(Exception):
    """Carries an answer past Datasette's own handler, which prints every variable of even a mistyped address."""

    def __init__(self, response: Response) -> None:
        super().__init__(response.status)
        self.response = response


async def answer_trouble(datasette: Any, request: Request, exception: Exception) -> None:
    """Raise Answered: with what a visitor can put right, or for a fault of the program with words that tell nothing.

    Datasette's own pages meet nonsense in their parameters (`_next=x`) with errors of Python's: that is a bad
    request, not a fault of the server. A fault is printed where matref was started, and only there.
    """
    status, words = _told(exception, request.path)
    if status >= 500:
        traceback.print_exception(exception)
    raise Answered(await trouble(datasette, request, status, words))


def _told(exception: Exception, path: str) -> tuple[int, str]:
    if isinstance(exception, MatrefError):
        return (404 if isinstance(exception, NotFound) else 400), str(exception)
    if isinstance(exception, QueryInterrupted) or getattr(exception, "title", "") == "SQL Interrupted":
        return 400, _TOO_SLOW
    if isinstance(exception, DatasetteError):  # "cannot sort by ..." comes without a status, as 500
        return (exception.status if exception.status < 500 else 400), str(exception.message)
    if isinstance(exception, Base400):
        return exception.status, str(exception)
    if path.startswith(f"/{ROUTE}/") and _senseless(exception):
        return 400, "This address asks for something that makes no sense."
    return 500, _FAULT


def _senseless(exception: Exception) -> bool:
    if isinstance(exception, sqlite3.ProgrammingError):
        return True
    if isinstance(exception, sqlite3.Error):
        return getattr(exception, "sqlite_errorname", "") in _SQL_MISTAKES
    return isinstance(exception, _SENSELESS)


async def trouble(datasette: Any, request: Request, status: int, words: str) -> Response:
    """Return a page, or JSON for an address that ends in .json, that says what was wrong."""
    if request.path.endswith(".json"):
        return Response.json({"ok": False, "error": words}, status=status)
    page = await datasette.render_template("error.html", {"status": status, "error": words}, request=request)
    return Response.html(page, status=status)
