"""Samples as a table: taken in after a look at what would become of every row, and given out."""

from __future__ import annotations

import base64
import binascii
import io
import re
from dataclasses import dataclass, field
from typing import Any

from datasette.utils.asgi import Response
from python_multipart import FormParser
from python_multipart.exceptions import FormParserError
from python_multipart.multipart import Field, File

from matref.errors import BadInput
from matref.samples import ImportRefused, ImportReport
from matref.web.visit import Visit

MOST_TABLE_BYTES = 1_000_000
_MOST_ROWS_SHOWN = 500
_BOUNDARY = re.compile(r'boundary="?([^";\s]{1,200})"?', re.IGNORECASE)


@dataclass(slots=True)
class _Upload:
    """A form with a file: its fields as text, and the file's bytes."""

    fields: dict[str, str] = field(default_factory=dict)
    table: bytes = b""


async def import_page(visit: Visit) -> Response:
    """Ask for a table."""
    return await visit.page("import.html", {"report": None, "error": "", "table": "", "pasted": ""})


async def import_table(visit: Visit) -> Response:
    """Show what would become of every row; add them all, if none is bad, once that has been seen and confirmed."""
    upload = await _upload(visit)
    confirmed = upload.fields.get("confirm") == "yes"
    seen = upload.fields.get("table", "") if confirmed else ""
    table = _decoded(seen) if seen else upload.table or upload.fields.get("pasted", "").encode()
    context: dict[str, Any] = {"report": None, "error": "", "table": "", "pasted": upload.fields.get("pasted", "")}
    try:
        if not table.strip():
            raise BadInput("there is no table yet", expected="a file, or rows pasted into the box")
        if len(table) > MOST_TABLE_BYTES:
            raise BadInput("the table is larger than 1 MB", expected="several smaller tables")
        report = await visit.desk.ask(lambda w: w.samples.import_csv(io.BytesIO(table), apply=confirmed))
    except ImportRefused as refused:
        report = refused.report
    except BadInput as error:
        if visit.wants_json:
            raise
        return await visit.page("import.html", {**context, "error": str(error)})
    if visit.wants_json:
        return visit.json(report.as_json(), 400 if report.bad else 200)
    if report.applied:
        return visit.moved("/-/samples", _said(report))
    context |= {"report": report, "rows": report.rows[:_MOST_ROWS_SHOWN], "table": base64.b64encode(table).decode()}
    return await visit.page("import.html", context)


async def export_table(visit: Visit) -> Response:
    """Give out the samples as CSV; notes go along only for who may write and asks for them."""
    notes = bool(visit.request.args.get("notes")) and visit.may_write
    file = io.StringIO(newline="")
    await visit.desk.ask(lambda w: w.samples.export_csv(file, with_notes=notes))
    headers = {"content-disposition": 'attachment; filename="matref-samples.csv"'}
    return Response("\ufeff" + file.getvalue(), headers=headers, content_type="text/csv; charset=utf-8")


def _said(report: ImportReport) -> str:
    added, skipped = report.number("added"), report.number("skipped")
    words = f"{added} {'sample' if added == 1 else 'samples'} taken in."
    return words + (f" {skipped} were here already." if skipped else "")


async def _upload(visit: Visit) -> _Upload:
    content_type = visit.request.headers.get("content-type", "")
    if not content_type.lower().startswith("multipart/form-data"):
        fields = await visit.posted()
        return _Upload({name: values[-1] for name, values in fields.items() if values})
    found = _parts(await visit.request.post_body(), content_type)
    visit.insist(found.fields.pop("csrftoken", ""))
    return found


def _parts(body: bytes, content_type: str) -> _Upload:
    match = _BOUNDARY.search(content_type)
    if match is None:
        raise BadInput("the form arrived without its parts", expected="a form with a file")
    found = _Upload()

    def on_field(part: Field) -> None:
        found.fields[(part.field_name or b"").decode("utf-8", "replace")] = (part.value or b"").decode(
            "utf-8", "replace"
        )

    def on_file(part: File) -> None:
        part.file_object.seek(0)
        if part.field_name == b"file":
            found.table = part.file_object.read()
        part.close()

    try:
        parser = FormParser("multipart/form-data", on_field, on_file, boundary=match[1])
        parser.write(body)
        parser.finalize()
    except FormParserError as error:
        raise BadInput("the form arrived broken", expected="a form with a file") from error
    return found


def _decoded(text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise BadInput("the table to take in got lost on the way", expected="the file once more") from error
