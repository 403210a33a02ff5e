"""The JSON addresses as an OpenAPI description (OpenAPI 3.1), made from the tables of fields that the pages use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

from matref.web.asking import Field
from matref.web.book_fields import BOOK_FIELDS
from matref.web.fields import FIELDS, SAMPLE_FORM
from matref.web.finished import FINISHED_FORM
from matref.web.shapes import SCHEMAS, Schema
from matref.web.stock import STOCK_FORM

_UNITS = Field(
    "units",
    "Lengths without a unit are in",
    kind="choice",
    choices=(("mm", "millimetres"), ("in", "inches")),
)
_WEIGHED = {"size": "A4", "sheets": 20, "mass": "98 g"}
_PLAN = {
    "book": {"structure": "soft-cover", "page_width_mm": 100, "page_height_mm": 150, "sections": 5},
    "paper": {"class": "bond_writing", "grammage_gsm": 80},
}


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that can be asked of, or sent to, an address.

    `asks`: the fields of its query, or of its JSON object where it is sent. `answer`: the name of a shape, with " list"
    behind it for a list. `example`: an object that can be sent, or a query. `writes`: it needs leave to write.
    """

    path: str
    method: str
    summary: str
    answer: str
    asks: tuple[Field, ...] = ()
    example: Mapping[str, Any] | None = None
    writes: bool = False
    status: int = 200
    body: Schema | None = None


def _records(
    path: str, what: str, shape: str, fields: Iterable[Field], example: dict[str, Any], actions: str
) -> list[Question]:
    filters = tuple(Field(name, words) for name, words in _FILTERS[path])
    start = Field(
        "start", "How many to pass over: fifty come at a time, and a Link header names the next", kind="count"
    )
    action = Field("action", f"What to do with it: {actions}")
    one = f"{path}/{{id}}.json"
    return [
        Question(f"{path}.json", "get", f"List {what}, latest first", f"{shape} list", (*filters, start)),
        Question(f"{path}.json", "post", f"Add one of {what}", shape, tuple(fields), example, writes=True, status=201),
        Question(one, "get", f"One of {what}, by its id or label", shape),
        Question(
            one,
            "post",
            f"Change one of {what}",
            shape,
            (action, *fields),
            {"action": actions.split()[0].strip(",")},
            writes=True,
        ),
    ]


_FILTERS = {
    "/-/samples": (("class", "Only of this class"), ("withdrawn", "1: withdrawn ones too")),
    "/-/stock": (("material", "Only of this material"),),
    "/-/finished": (("withdrawn", "1: withdrawn ones too"),),
}
QUESTIONS: tuple[Question, ...] = (
    Question(
        "/-/pile.json",
        "get",
        "What is this pile of paper, and how thick is it?",
        "Pile",
        (*FIELDS.values(), _UNITS),
        _WEIGHED,
    ),
    Question("/-/pile.json", "post", "The same, sent as JSON", "Pile", (*FIELDS.values(), _UNITS), _WEIGHED),
    Question(
        "/-/book.json",
        "get",
        "Plan a book from fields",
        "Plan",
        (*BOOK_FIELDS.values(), _UNITS),
        {f"{table}.{key}": value for table, keys in _PLAN.items() for key, value in keys.items()},
    ),
    Question(
        "/-/book.json",
        "post",
        "Plan a book from tables, as in a plan file",
        "Plan",
        example=_PLAN,
        body={"type": "object", "additionalProperties": {"type": ["object", "array"]}},
    ),
    Question(
        "/-/find.json", "get", "Find entries of the catalogue", "Entry list", (Field("q", "Words"),), {"q": "linen"}
    ),
    *_records(
        "/-/samples",
        "the samples",
        "Sample",
        SAMPLE_FORM.values(),
        {"label": "tide tables", **_WEIGHED},
        "withdraw, restore or edit",
    ),
    Question(
        "/-/samples/import.json",
        "post",
        "See what would become of a table of samples",
        "Imported",
        (Field("pasted", "The table as CSV"), Field("confirm", "yes: take its rows in, unless one is bad")),
        {"pasted": "label,size,sheets,mass\nloft pile,A4,20,98 g\n"},
        writes=True,
    ),
    *_records(
        "/-/stock",
        "the piles on the shelf",
        "StockPile",
        STOCK_FORM.values(),
        {"material": "cloth", "size": "600 x 450 mm", "count": 2, "grain": "long"},
        "remove",
    ),
    *_records(
        "/-/finished",
        "the finished books",
        "FinishedBook",
        FINISHED_FORM.values(),
        {
            "label": "second tide log",
            "sheets_per_section": 4,
            "sections": 8,
            "thread": "30/3 linen",
            "caliper_um": 104,
            "fore_edge_mm": "6.4 mm",
            "spine_mm": "9.0 mm",
            "measured_with": "vernier",
        },
        "withdraw or restore",
    ),
)
"""Everything that programs can ask, in the order in which it is documented."""


def description() -> dict[str, Any]:
    """Return the OpenAPI description of this server's JSON addresses."""
    paths: dict[str, dict[str, Any]] = {}
    for question in QUESTIONS:
        paths.setdefault(question.path, {})[question.method] = _operation(question)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "matref",
            "version": version("matref"),
            "summary": "Papers, boards, cloths and threads for hand-made notebooks: look up, estimate, plan, record",
            "description": "Every page has a twin that answers in JSON and takes the same fields. Quantities may be "
            "typed as people write them, with a unit; a bare number is in the unit that its field names. Keys of the "
            "answers carry their units.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/"}],
        "paths": paths,
        "components": {
            "schemas": SCHEMAS,
            "securitySchemes": {
                "secret": {
                    "type": "http",
                    "scheme": "bearer",
                    "description": "The secret that was printed at the start. On the machine itself none is needed.",
                }
            },
        },
    }


def _operation(question: Question) -> dict[str, Any]:
    found: dict[str, Any] = {"summary": question.summary, "parameters": [], "responses": _answers(question)}
    if "{id}" in question.path:
        found["parameters"].append(
            {"name": "id", "in": "path", "required": True, "schema": {"type": "string", "minLength": 1}}
        )
    if question.method == "get":
        found["parameters"] += [_parameter(entry, question.example or {}) for entry in question.asks]
    else:
        body = question.body or {
            "type": "object",
            "properties": {entry.name: _typed(entry) for entry in question.asks},
            "additionalProperties": False,
        }
        found["requestBody"] = {
            "required": True,
            "content": {"application/json": {"schema": body, "example": question.example}},
        }
    if question.writes:
        found["security"] = [{"secret": []}, {}]
    return found


def _answers(question: Question) -> dict[str, Any]:
    name = question.answer.removesuffix(" list")
    schema: Schema = {"$ref": f"#/components/schemas/{name}"}
    if question.answer != name:
        schema = {"type": "array", "items": schema}
    wrong = {str(status): _json(words, {"$ref": "#/components/schemas/Error"}) for status, words in _TROUBLES.items()}
    if question.method == "get":
        del wrong["403"], wrong["415"]
    if "{id}" not in question.path:
        del wrong["404"]
    if question.answer == "Imported":
        wrong["400"] = _json(
            "Some rows are bad, and none was taken in", {"anyOf": [schema, {"$ref": "#/components/schemas/Error"}]}
        )
    return {str(question.status): _json("The answer", schema), **wrong}


_TROUBLES = {
    400: "Something typed makes no sense",
    403: "This visitor may not write, or the request comes from a page of another site",
    404: "Nothing goes by that name",
    413: "Too much at once",
    414: "The address is too long",
    415: "What was sent is no JSON",
}


def _json(words: str, schema: Schema) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": schema}}}


def _parameter(entry: Field, example: Mapping[str, Any]) -> dict[str, Any]:
    found = {"name": entry.name, "in": "query", "description": told(entry), "schema": _typed(entry)}
    return {**found, "example": str(example[entry.name])} if entry.name in example else found


def _typed(entry: Field) -> Schema:
    words = {"description": told(entry)}
    if entry.kind == "plan":
        return {"type": "object", **words}
    if entry.choices:
        values = [value for value, _ in entry.choices if value]
        return {"type": "string", "enum": [*([entry.usual] if entry.usual else []), *values], **words}
    if entry.kind in ("text", "note", "class", "pick"):
        return {"type": "string", **words}
    return {"type": ["string", "number"], **words}


def told(entry: Field) -> str:
    """Return a field in one line: what it is called, its unit, a hint and an example.

    >>> told(FIELDS["mass"])
    'Their mass (g). 98 g, 3 1/2 oz. For example 98.'
    """
    unit = "mm or in" if entry.kind == "length" else entry.unit("mm")
    words = entry.label + (f" ({unit})" if unit else "") + "."
    example = f"For example {entry.example}." if entry.example else ""
    return " ".join(filter(None, (words, entry.hint, example)))
