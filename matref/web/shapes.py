"""The shapes of the JSON answers, in JSON Schema, for `matref.web.openapi`.

Every key named here is there in every answer, unless it is left out of `required`; an answer may have others beside.
"""

from __future__ import annotations

from typing import Any

Schema = dict[str, Any]

_NUMBER: Schema = {"type": "number"}
_COUNT: Schema = {"type": "integer", "minimum": 0}
_TEXT: Schema = {"type": "string"}
_DAY: Schema = {"type": "string", "format": "date"}
_TEXTS: Schema = {"type": "array", "items": _TEXT}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/components/schemas/{name}"}


def _maybe(schema: Schema) -> Schema:
    return {"anyOf": [schema, {"type": "null"}]}


def _list(schema: Schema) -> Schema:
    return {"type": "array", "items": schema}


def _object(title: str, properties: dict[str, Schema], without: tuple[str, ...] = ()) -> Schema:
    required = [name for name in properties if name not in without]
    return {"type": "object", "title": title, "properties": properties, "required": required}


_RECORDED: dict[str, Schema] = {
    "id": _TEXT,
    "label": _TEXT,
    "note": {**_TEXT, "description": "Only for who may write."},
    "added_at": {"type": "string", "format": "date-time"},
}
_MEASURED_ON: dict[str, Schema] = {"measured_on": _DAY, "withdrawn_at": _maybe(_TEXT)}

SCHEMAS: dict[str, Schema] = {
    "Error": {
        **_object(
            "What was wrong",
            {
                "ok": {"const": False},
                "error": {**_TEXT, "description": "One sentence: what was wrong, what was expected, an example."},
                "fields": {
                    "type": "object",
                    "additionalProperties": _TEXT,
                    "description": "What was wrong, field by field, where that can be told.",
                },
            },
            without=("fields",),
        ),
    },
    "Range": _object(
        "A value with the ends of its range, in the unit that the key names",
        {"value": _NUMBER, "low": _NUMBER, "high": _NUMBER},
    ),
    "Measured": _object("A value with its standard uncertainty", {"value": _NUMBER, "u": _NUMBER}),
    "Support": _object("What an answer rests on", {"kind": _TEXT, "what": _TEXT, "sources": _TEXTS}),
    "Pile": _object(
        "What a pile is and how thick its paper is",
        {
            "caliper_um": _ref("Range"),
            "bulk_cm3_g": _ref("Range"),
            "grammage_gsm": _ref("Range"),
            "class_mean_caliper_um": _maybe(_ref("Range")),
            "level": {**_NUMBER, "exclusiveMinimum": 0, "exclusiveMaximum": 1},
            "classes": _list(
                _object(
                    "A kind it may be",
                    {"class": _TEXT, "name": _TEXT, "probability": {**_NUMBER, "minimum": 0, "maximum": 1}},
                )
            ),
            "rests_on": _list(_ref("Support")),
            "why": _list(_object("A cause of the doubt", {"cause": _TEXT, "half_width_without_pct": _NUMBER})),
            "advice": _list(
                _object("What to measure next", {"measure": _TEXT, "half_width_um": _NUMBER, "half_width_pct": _NUMBER})
            ),
            "warnings": _TEXTS,
        },
    ),
    "Plan": _object(
        "A planned book",
        {
            "title": _TEXT,
            "text_block": _object(
                "The leaves",
                {
                    "paper": _TEXT,
                    "structure": _TEXT,
                    "page_width_mm": _NUMBER,
                    "page_height_mm": _NUMBER,
                    "pages": _COUNT,
                    "fore_edge_mm": _ref("Range"),
                    "caliper_um": _ref("Range"),
                },
            ),
            "sections": _object("The sections", {"count": _COUNT, "sheets_per_section": _COUNT, "reasons": _TEXTS}),
            "creep": _object("The creep", {"creep_mm": _ref("Range"), "fore_edge_trim_mm": _NUMBER}),
            "spine": _object(
                "The spine",
                {
                    "fore_edge_mm": _ref("Range"),
                    "swell_mm": _ref("Range"),
                    "spine_mm": _ref("Range"),
                    "swell_ratio": _ref("Range"),
                    "biggest_cause": _TEXT,
                },
            ),
            "cover": _object(
                "The cover",
                {
                    "closed_mm": _ref("Range"),
                    "parts": _list({"type": "object"}),
                    "materials": _list({"type": "object"}),
                },
            ),
            "stitching": _object(
                "The sewing", {"lines_mm": _list(_NUMBER), "order": _list(_NUMBER), "stations_mm": _list(_NUMBER)}
            ),
            "under_needle_mm": _maybe(_NUMBER),
            "cutting": {"type": "object"},
            "shopping": _list({"type": "object"}),
            "steps": _list({"type": "object"}),
            "cautions": _list(_object("A caution", {"step": _TEXT, "text": _TEXT, "source": _TEXT})),
            "rests_on": _list(_ref("Support")),
            "warnings": _TEXTS,
            "weight_g": _ref("Range"),
            "assumed": _TEXTS,
            "level": _NUMBER,
        },
    ),
    "Entry": _object("An entry of the catalogue", {"id": _TEXT, "kind": _TEXT, "name": _TEXT, "source": {}}),
    "Sample": _object(
        "A sample",
        {
            **_RECORDED,
            **_MEASURED_ON,
            "changed_at": _TEXT,
            "class": _maybe(_TEXT),
            "same_as": _maybe(_TEXT),
            "as_typed": {"type": "object", "additionalProperties": _TEXT},
            "parsed": {"type": "object", "additionalProperties": _NUMBER},
            "grammage_gsm": _maybe(_ref("Measured")),
            "caliper_um": _maybe(_ref("Measured")),
            "warnings": _TEXTS,
        },
        without=("note",),
    ),
    "Imported": _object(
        "What became of a table",
        {
            "applied": {"type": "boolean"},
            "added": _COUNT,
            "skipped": _COUNT,
            "conflict": _COUNT,
            "refused": _COUNT,
            "rows": _list(_object("A row", {"line": _COUNT, "outcome": _TEXT, "said": _TEXTS})),
        },
    ),
    "StockPile": _object(
        "A pile on the shelf",
        {
            **_RECORDED,
            "material": _TEXT,
            "width_mm": _NUMBER,
            "height_mm": _NUMBER,
            "count": _COUNT,
            "grain": _TEXT,
            "price": {**_maybe(_NUMBER), "description": "Of one piece; only for who may write."},
            "sample": _TEXT,
            "entry": _TEXT,
        },
        without=("note", "price"),
    ),
    "FinishedBook": _object(
        "A finished book",
        {
            **_RECORDED,
            **_MEASURED_ON,
            "sheets_per_section": _COUNT,
            "sections": _COUNT,
            "endpaper_leaves": _COUNT,
            "sewing": _TEXT,
            "pressing": _TEXT,
            "thread": _TEXT,
            "thread_mm": _NUMBER,
            "paper": {"type": "object", "additionalProperties": _TEXT},
            "caliper_um": _NUMBER,
            "measured_with": _TEXT,
            "fore_edge_mm": _ref("Compared"),
            "spine_mm": _ref("Compared"),
            "flattening": _maybe(_NUMBER),
            "pressing_factor": _maybe(_NUMBER),
            "plan": {**_maybe({"type": "object"}), "description": "Only for who may write."},
            "warnings": _TEXTS,
        },
        without=("note", "plan"),
    ),
    "Compared": _object(
        "A thickness as measured, beside what was predicted before",
        {
            "measured": _maybe(_NUMBER),
            "u": _maybe(_NUMBER),
            "predicted": _ref("Range"),
            "inside": _maybe({"type": "boolean"}),
        },
    ),
}
"""Name to schema."""
