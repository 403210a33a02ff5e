"""The common shape of the pages of what a person records: list, add, show, change, each with its JSON twin.

Samples, finished books and what lies on the shelf are each a kind of `Records`. Leave to write is asked before any of
this (`matref.web.visit.view`), and every change is one transaction of the room behind.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from typing import Any, ClassVar, Generic, Protocol, TypeVar
from urllib.parse import quote, unquote, urlencode

from datasette.utils.asgi import Response

from matref.api import Workshop
from matref.errors import BadInput
from matref.web.asking import Field
from matref.web.fields import Filled, check, fill
from matref.web.visit import Visit

PAGE = 50
"""How many records a list shows at once."""


class Record(Protocol):
    """What every record has."""

    @property
    def id(self) -> str:
        """Its id."""

    def as_json(self) -> dict[str, Any]:
        """Return plain values."""


R = TypeVar("R", bound=Record)


class Records(ABC, Generic[R]):
    """The pages of one kind of record.

    `path`: where the list is. `form`: its fields by name. `private`: keys of the JSON that only who may write sees.
    `filters`: what the list can be narrowed by. `added`: what is said when one was added.
    """

    path: ClassVar[str]
    list_template: ClassVar[str]
    form_template: ClassVar[str]
    form: ClassVar[Mapping[str, Field]]
    private: ClassVar[tuple[str, ...]] = ("note",)
    filters: ClassVar[tuple[str, ...]] = ()
    added: ClassVar[str]

    # what each kind knows

    @abstractmethod
    def listed(self, workshop: Workshop, asked: Mapping[str, str], start: int) -> list[R]:
        """Return the records, latest first, from `start`: one more than a page, where there are more."""

    @abstractmethod
    def get(self, workshop: Workshop, name: str) -> R:
        """Return one record; NotFound."""

    @abstractmethod
    def keep(self, workshop: Workshop, filled: Filled, name: str | None) -> R:
        """Add a record, or correct the one called `name`; BadInput, and then nothing has changed."""

    @abstractmethod
    def act(self, workshop: Workshop, name: str, action: str, filled: Filled) -> tuple[R, str]:
        """Do what `action` names to a record; return it with what to say. BadInput for an action nobody knows."""

    def begin(self, workshop: Workshop, fields: Mapping[str, list[str]], units: str) -> Filled:  # noqa: ARG002
        """Return the form of a new record, filled with what the address brought along."""
        return fill(fields, units, known=self.form)

    def filled_from(self, record: R) -> Filled | None:  # noqa: ARG002
        """Return the form that corrects a record, None where it cannot be corrected."""
        return None

    async def around(self, visit: Visit, record: R | None) -> dict[str, Any]:  # noqa: ARG002
        """Return what else the form's page shows."""
        return {}

    async def around_list(self, visit: Visit) -> dict[str, Any]:  # noqa: ARG002
        """Return what else the list's page shows."""
        return {}

    # the handlers

    async def list_page(self, visit: Visit) -> Response:
        """List the records, latest first, a page at a time."""
        asked = {name: visit.request.args.get(name) or "" for name in self.filters}
        start = _offset(visit.request.args.get("start") or "0")
        found = await visit.desk.ask(lambda w: self.listed(w, asked, start))
        further = {**{n: t for n, t in asked.items() if t}, "start": str(start + PAGE)}
        following = urlencode(further) if len(found) > PAGE else ""
        if visit.wants_json:
            answer = visit.json([self.as_json(record, visit.may_write) for record in found[:PAGE]])
            if following:
                answer.headers["link"] = f'<{self.path}.json?{following}>; rel="next"'
            return answer
        context = {
            "records": found[:PAGE],
            "following": following,
            "asked": asked,
            "path": self.path,
            **await self.around_list(visit),
        }
        return await visit.page(self.list_template, context)

    async def new_page(self, visit: Visit) -> Response:
        """Show the form of a new record, filled with what the address brings along."""
        fields, units = visit.typed(), visit.units
        return await self._page(visit, await visit.desk.ask(lambda w: self.begin(w, fields, units)))

    async def add(self, visit: Visit) -> Response:
        """Keep a new record; on the page, go to it afterwards."""
        filled = await self._posted(visit)
        kept = await visit.desk.ask(lambda w: self._tried(w, filled, None))
        if kept is None:
            return visit.json(refusal(filled), 400) if visit.wants_json else await self._page(visit, filled)
        if visit.wants_json:
            return visit.json(self.as_json(kept, True), 201)
        return visit.moved(self.place(kept), " ".join((self.added, *getattr(kept, "warnings", ()))))

    async def show_page(self, visit: Visit) -> Response:
        """Show one record."""
        name = unquote(visit.request.url_vars["id"])
        record = await visit.desk.ask(lambda w: self.get(w, name))
        if visit.wants_json:
            return visit.json(self.as_json(record, visit.may_write))
        return await self._page(visit, self.filled_from(record) or Filled({}, known=self.form), record)

    async def change(self, visit: Visit) -> Response:
        """Correct a record, or do something else to it."""
        name = unquote(visit.request.url_vars["id"])
        fields = await visit.posted(self._structures)
        action = (fields.pop("action", None) or ["edit"])[-1]
        filled = fill(fields, _units(fields, visit), strict=visit.wants_json, known=self.form)
        if action == "edit" and self.filled_from(await visit.desk.ask(lambda w: self.get(w, name))) is not None:
            kept = await visit.desk.ask(lambda w: self._tried(w, filled, name))
            if kept is None:
                if visit.wants_json:
                    return visit.json(refusal(filled), 400)
                return await self._page(visit, filled, await visit.desk.ask(lambda w: self.get(w, name)))
            record, said = kept, " ".join(("Corrected.", *getattr(kept, "warnings", ())))
        else:
            record, said = await visit.desk.ask(lambda w: self.act(w, name, action, filled))
        return visit.json(self.as_json(record, True)) if visit.wants_json else visit.moved(self.place(record), said)

    # and what they share

    def as_json(self, record: R, private: bool) -> dict[str, Any]:
        """Return a record as plain values, without what is private for those who may not write."""
        return {k: v for k, v in record.as_json().items() if private or k not in self.private}

    def place(self, record: R) -> str:
        """Return where a record is shown."""
        return f"{self.path}/{quote(record.id, safe='')}"

    @property
    def _structures(self) -> list[str]:
        return [name for name, entry in self.form.items() if entry.kind == "plan"]

    async def _posted(self, visit: Visit) -> Filled:
        fields = await visit.posted(self._structures)
        return fill(fields, _units(fields, visit), strict=visit.wants_json, known=self.form)

    def _tried(self, workshop: Workshop, filled: Filled, name: str | None) -> R | None:
        """Add or correct a record, or write into the form what is wrong and return None."""
        check(filled, workshop.connection)
        if filled.wrong:
            return None
        try:
            return self.keep(workshop, filled, name)
        except BadInput as error:
            filled.blame(error)
            return None

    async def _page(self, visit: Visit, filled: Filled, record: R | None = None) -> Response:
        context = {"filled": filled, "record": record, "path": self.path, **await self.around(visit, record)}
        return await visit.page(self.form_template, context)


def refusal(filled: Filled) -> dict[str, Any]:
    """Return what is wrong with a form as plain values."""
    return {"ok": False, "error": filled.general or "; ".join(filled.errors.values()), "fields": filled.errors}


def unknown_action(action: str, expected: str) -> BadInput:
    """Return the error for an action that nobody knows."""
    return BadInput(f"no action called {action[:40]}", expected=expected)


def _units(fields: dict[str, list[str]], visit: Visit) -> str:
    chosen = (fields.pop("units", None) or [""])[-1]
    return chosen if chosen in ("mm", "in") else visit.units


def _offset(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise BadInput(f"a start of {text[:40]}", expected="a number of records to pass over", example="50")
    return int(text)
