"""One visit to a page: who asks, for what, in which units, and how to answer."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Collection
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Forbidden, Request, Response

from matref.errors import BadInput, NotFound
from matref.web.access import from_elsewhere, may_write, permit, same_site
from matref.web.desk import Desk
from matref.web.shown import give_or_take
from matref.web.trouble import trouble

UNITS_COOKIE = "matref_units"
_NOT_OURS = "This form is not from here, or is out of date: open the page again and send it from there"
_MOST_FIELDS = 500
_YEAR_S = 31_536_000


@dataclass(slots=True)
class Visit:
    """A request, with the desk that answers it."""

    datasette: Any
    request: Request
    desk: Desk

    @property
    def units(self) -> str:
        """The unit of lengths: what the address says, else what was chosen last: 'mm' or 'in'."""
        for chosen in (self.request.args.get("units"), self.request.cookies.get(UNITS_COOKIE)):
            if chosen in ("mm", "in"):
                return str(chosen)
        return "mm"

    @property
    def wants_json(self) -> bool:
        """Whether the address is the JSON twin of a page."""
        return bool(self.request.path.endswith(".json"))

    @property
    def may_write(self) -> bool:
        """Whether this visitor may write."""
        return may_write(self.datasette, self.request)

    def typed(self) -> dict[str, list[str]]:
        """Return the fields of the address, each with everything typed into it."""
        args = self.request.args
        return {name: args.getlist(name) for name in args}

    @property
    def blanks(self) -> bool:
        """Whether the address carries empty fields, as a form sends them."""
        return any(not text.strip() for values in self.typed().values() for text in values)

    def without_blanks(self) -> Response:
        """Return the way to the same address without its empty fields: a link short enough to share."""
        kept = [(name, text) for name, values in self.typed().items() for text in values if text.strip()]
        return Response.redirect(self.request.path + ("?" + urlencode(kept) if kept else ""))

    async def posted_object(self) -> dict[str, Any]:
        """Return a JSON object that a program sent here."""
        body = (await self.request.post_body()).decode("utf-8", "replace")
        if from_elsewhere(self.request):
            raise Forbidden(_NOT_OURS)
        return _json_object(body)

    async def posted(self, structures: Collection[str] = ()) -> dict[str, list[str]]:
        """Return the fields of a form or of a JSON object that was sent here from one of our own pages or programs.

        `structures`: fields of the JSON object that may hold an object; it is kept as the JSON that a form would send.
        """
        from urllib.parse import parse_qs

        body = (await self.request.post_body()).decode("utf-8", "replace")
        if self.request.headers.get("content-type", "").startswith("application/json"):
            # A page of another site cannot send this kind without asking first, and is never told yes.
            if from_elsewhere(self.request):
                raise Forbidden(_NOT_OURS)
            return _json_fields(body, structures)
        try:
            fields = parse_qs(body, keep_blank_values=True, max_num_fields=_MOST_FIELDS)
        except ValueError as error:
            raise BadInput("the form has too many fields", expected=f"at most {_MOST_FIELDS}") from error
        self.insist(fields.pop("csrftoken", [""])[0])
        return fields

    def insist(self, token: str) -> None:
        """Refuse a form that does not come from one of our own pages."""
        if not same_site(self.datasette, self.request, token):
            raise Forbidden(_NOT_OURS)

    async def page(self, template: str, context: dict[str, Any], status: int = 200) -> Response:
        """Return a page made of a template."""
        context = {"units": self.units, "may_write": self.may_write, "give_or_take": give_or_take, **context}
        html = await self.datasette.render_template(f"matref/{template}", context, request=self.request)
        response = Response.html(html, status=status)
        if self.request.args.get("units") in ("mm", "in"):
            response.set_cookie(UNITS_COOKIE, self.units, max_age=_YEAR_S, httponly=True)
        return response

    def json(self, found: Any, status: int = 200) -> Response:
        """Return plain values as JSON."""
        return Response(json.dumps(found, ensure_ascii=False), status, content_type="application/json; charset=utf-8")

    def moved(self, path: str, message: str = "", **fields: str) -> Response:
        """Return the way to another page, with a message to show there (POST, then redirect)."""
        if message:
            self.datasette.add_message(self.request, message, self.datasette.INFO)
        return Response.redirect(path + ("?" + urlencode(fields) if fields else ""))


Handler = Callable[[Visit], Awaitable[Response]]
View = Callable[..., Awaitable[Response]]


def view(desk: Desk, get: Handler | None = None, post: Handler | None = None, post_action: str = "write") -> View:
    """Return a Datasette view: leave is asked first, then the handler answers; bad input becomes a sentence."""
    handlers = {"GET": (get, "view"), "HEAD": (get, "view"), "POST": (post, post_action)}

    async def answer(datasette: Any, request: Request) -> Response:
        handler, action = handlers.get(request.method, (None, "view"))
        try:
            await permit(datasette, request, action)
            if handler is None:
                answered = await trouble(datasette, request, 405, "This page does not take that kind of request.")
                answered.headers["allow"] = ", ".join(method for method, (one, _) in handlers.items() if one)
                return answered
            return await handler(Visit(datasette, request, desk))
        except NotFound as error:
            return await trouble(datasette, request, 404, str(error))
        except BadInput as error:
            return await trouble(datasette, request, 400, str(error))
        except Forbidden as error:
            if not request.path.endswith(".json"):
                raise  # Datasette has a page for it
            return await trouble(datasette, request, 403, str(error))

    return answer


def _json_object(body: str) -> dict[str, Any]:
    try:
        found = json.loads(body or "{}")
    except (ValueError, RecursionError) as error:
        raise BadInput("what was sent is not JSON", expected="one object of fields") from error
    if not isinstance(found, dict):
        raise BadInput("what was sent is not a JSON object", expected="one object of fields")
    return found


def _json_fields(body: str, structures: Collection[str] = ()) -> dict[str, list[str]]:
    fields = {}
    for name, value in _json_object(body).items():
        if name in structures and isinstance(value, dict):
            fields[name] = [json.dumps(value, ensure_ascii=False)]
            continue
        values = value if isinstance(value, list) else [value]
        if any(isinstance(v, dict | list) for v in values):
            raise BadInput(f"the field {name[:40]} holds a structure", expected="text or a number")
        fields[name] = [str(v) for v in values if v is not None]
    return fields
