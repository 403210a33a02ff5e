"""The addresses of the pages, and what answers each."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeVar

from datasette.utils.asgi import NotFound

from matref.web.book import book_json, book_json_posted, book_page, book_pdf
from matref.web.desk import Desk
from matref.web.exchange import export_table, import_page, import_table
from matref.web.finished import FinishedPages
from matref.web.home import class_page, home, search, unlock, unlock_page
from matref.web.pile import pile_json, pile_page
from matref.web.programs import described, functions_page
from matref.web.records import Record, Records
from matref.web.samples import SamplePages
from matref.web.shelf import ROUTE
from matref.web.stock import StockPages
from matref.web.visit import view

R = TypeVar("R", bound=Record)


def routes(datasette: Any) -> list[tuple[str, Callable[..., Any]]]:
    """Return Datasette's (pattern, view) pairs; they come before its own."""
    desk = Desk(lambda: str(datasette.get_database(ROUTE).path))
    return [
        (r"^/$", view(desk, home)),
        (r"^/-/find(\.json)?$", view(desk, search)),
        (r"^/-/pile$", view(desk, pile_page)),
        (r"^/-/pile\.json$", view(desk, pile_json, pile_json, post_action="view")),
        (r"^/-/class/(?P<id>[^/]+)$", view(desk, class_page)),
        (r"^/-/book$", view(desk, book_page)),
        (r"^/-/book\.json$", view(desk, book_json, book_json_posted, post_action="view")),
        (r"^/-/book\.pdf$", view(desk, book_pdf)),
        (r"^/-/samples/import(\.json)?$", view(desk, import_page, import_table)),
        (r"^/-/samples/export\.csv$", view(desk, export_table)),
        *_records(desk, SamplePages()),
        *_records(desk, StockPages()),
        *_records(desk, FinishedPages()),
        (r"^/-/functions$", view(desk, functions_page)),
        (r"^/-/matref\.json$", view(desk, described)),
        (r"^/-/unlock$", view(desk, unlock_page, unlock, post_action="view")),
        # Datasette's workbenches for building Datasette, which makers do not need; some list paths of this machine.
        (r"^/-/(patterns|messages|allow-debug|permissions|threads|databases)(\.json)?$", _closed),
    ]


def _records(desk: Desk, pages: Records[R]) -> list[tuple[str, Callable[..., Any]]]:
    at = re.escape(pages.path)
    return [
        (rf"^{at}(\.json)?$", view(desk, pages.list_page, pages.add)),
        (rf"^{at}/new$", view(desk, pages.new_page, pages.add)),
        (rf"^{at}/(?P<id>[^/]+?)(\.json)?$", view(desk, pages.show_page, pages.change)),
    ]


async def _closed() -> None:
    raise NotFound("This page is closed here")
