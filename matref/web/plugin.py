"""The hooks by which Datasette knows matref. They do nothing but pass on to the rooms behind."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import Any, TypeVar

from datasette import hookimpl
from markupsafe import Markup, escape

from matref.web.functions import Functions
from matref.web.guard import UPLOADS, App, guarded
from matref.web.privacy import authorizer, hidden_columns
from matref.web.shelf import ROUTE
from matref.web.trouble import answer_trouble

_LINKED = {
    "source": f"/{ROUTE}/source?title=",
    "class": "/-/class/",
    "class_id": "/-/class/",
    "source_id": f"/{ROUTE}/source?id=",
    "fibre_id": f"/{ROUTE}/fibre?id=",
    "count_system_id": f"/{ROUTE}/count_system?id=",
}
_DIGITS = 6


F = TypeVar("F", bound=Callable[..., Any])


def _hook(function: F) -> F:
    marked: F = hookimpl(function)
    return marked


def _first(function: F) -> F:
    marked: F = hookimpl(tryfirst=True)(function)
    return marked


def _config(datasette: Any) -> dict[str, Any]:
    """Return the settings that `matref serve` gave; empty in a Datasette that somebody else started."""
    found: dict[str, Any] = datasette.plugin_config("matref") or {}
    return found


@_hook
def prepare_connection(conn: sqlite3.Connection, database: str, datasette: Any) -> None:
    """Give every query on a workshop file the SQL functions; hide the personal columns where matref serves it."""
    if conn.execute("SELECT 1 FROM sqlite_schema WHERE name = 'model_line'").fetchone() is None:
        return
    Functions(conn).register()
    config = _config(datasette)
    if database == ROUTE and config and not config["notes"]:
        conn.set_authorizer(authorizer(hidden_columns(conn)))


@_hook
def register_routes(datasette: Any) -> list[tuple[str, Callable[..., Any]]]:
    """Add the pages, where matref serves."""
    if not _config(datasette):
        return []
    from matref.web.routes import routes

    return routes(datasette)


@_hook
def skip_csrf(datasette: Any, scope: dict[str, Any]) -> bool:
    """Leave an uploaded table, and JSON for a page's twin, to the page, which checks by itself where they come from.

    Datasette's own check cannot read multipart forms with every release of the library that parses them, and takes no
    JSON from a visitor who has a cookie.
    """
    if not _config(datasette):
        return False
    kinds = [value for key, value in scope.get("headers") or [] if key.lower() == b"content-type"]
    twin = scope["path"].startswith("/-/") and scope["path"].endswith(".json")
    return scope["path"] in UPLOADS or (twin and bool(kinds) and kinds[0].startswith(b"application/json"))


@_hook
def asgi_wrapper(datasette: Any) -> Callable[[App], App]:
    """Put the guard round everything, where matref serves."""
    config = _config(datasette)
    return lambda app: guarded(app, loopback=config["loopback"]) if config else app


@_hook
def extra_template_vars(request: Any, datasette: Any) -> dict[str, Any]:
    """Give Datasette's own pages the unit in which lengths are read and shown."""
    if not _config(datasette) or request is None:
        return {}
    return {"here": request.path}


@_hook
def render_cell(value: Any, column: str, database: str) -> Any:
    """Link a class and a source of a view to their pages; show numbers with no more digits than anybody needs."""
    if database != ROUTE:
        return None
    if isinstance(value, float):
        return f"{value:.{_DIGITS}g}" if 1e-4 <= abs(value) < 1e6 else str(value)
    if column in _LINKED and isinstance(value, str) and value:
        from urllib.parse import quote

        return Markup(f'<a href="{_LINKED[column]}{quote(value, safe="")}">{escape(value)}</a>')
    return None


@_first
def handle_exception(datasette: Any, exception: Exception, request: Any) -> Any:
    """Answer parameters that make no sense with 400, and say it on a page that needs no script."""
    if not _config(datasette):
        return None

    async def inner() -> None:
        await answer_trouble(datasette, request, exception)

    return inner
