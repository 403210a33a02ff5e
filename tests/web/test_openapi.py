"""The JSON addresses do what their OpenAPI description says: schemathesis makes the requests and judges the answers."""

from __future__ import annotations

from html import unescape
from typing import TYPE_CHECKING, Any

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi import checks

from matref.web.openapi import QUESTIONS, Question, description
from matref.web.stock import STOCK_FORM

if TYPE_CHECKING:
    from conftest import Site

CHECKS = [
    not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_headers_conformance,
    checks.response_schema_conformance,
    checks.unsupported_method,
]
BOUNDED = settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    database=None,
)


schema = schemathesis.openapi.from_dict(description())


def sent(case: schemathesis.Case) -> dict[str, Any]:
    """The request of a case as httpx wants it, which keeps cookies with the client and raw bytes apart from forms."""
    options = case.as_transport_kwargs(base_url="http://localhost")
    del options["cookies"]
    if isinstance(options.get("data"), bytes | str):
        options["content"] = options.pop("data")
    return options


@schema.parametrize()
@BOUNDED
def test_answers_are_as_described(case: schemathesis.Case, shared: Site) -> None:
    response = shared.loop.run_until_complete(shared.client.request(**sent(case)))
    case.validate_response(response, checks=CHECKS)


def conforming(site: Site, path: str, *, name: str = "", send: dict[str, Any] | None = None) -> Any:
    """Ask, or send, and return the answer, which has to be of the described shape."""
    method = "GET" if send is None else "POST"
    address = path.replace("{id}", name)
    response = site.get(address) if send is None else site.post(address, json=send)
    assert response.status_code in (200, 201), response.text
    schema[path][method].validate_response(response)
    return response.json()


@pytest.mark.parametrize("path", ["/-/samples", "/-/stock", "/-/finished"])
def test_a_record_keeps_its_shape_all_its_life(site: Site, path: str) -> None:
    described = {(question.path, question.method): question for question in QUESTIONS}
    example = dict(described[f"{path}.json", "post"].example or {})
    note = {"note": "from the loft", **({"plan": {"book": {"sections": 8}}} if path == "/-/finished" else {})}
    made = conforming(site, f"{path}.json", send={**example, **note})
    assert made["note"] == "from the loft"
    one = f"{path}/{{id}}.json"
    assert conforming(site, one, name=made["id"]) == {**made, "warnings": []} if "warnings" in made else made
    assert [record["id"] for record in conforming(site, f"{path}.json")] == [made["id"]]
    conforming(site, one, name=made["id"], send=dict(described[one, "post"].example or {}))
    assert conforming(site, f"{path}.json") == []


@pytest.mark.parametrize("question", [q for q in QUESTIONS if "{id}" not in q.path], ids=lambda q: q.method + q.path)
def test_every_example_of_the_description_is_answered(site: Site, question: Question) -> None:
    if question.method == "post":
        conforming(site, question.path, send=dict(question.example or {}))
    else:
        response = site.get(question.path, params={key: str(value) for key, value in (question.example or {}).items()})
        assert response.status_code == 200
        schema[question.path]["GET"].validate_response(response)


def test_every_field_of_the_forms_is_described_and_no_other_is_taken(site: Site) -> None:
    operation = description()["paths"]["/-/stock.json"]["post"]
    body = operation["requestBody"]["content"]["application/json"]["schema"]
    assert set(body["properties"]) == set(STOCK_FORM)
    assert body["properties"]["grain"]["enum"] == ["unknown", "long", "short", "none"]
    refused = site.post("/-/stock.json", json={"material": "cloth", "size": "A4", "colour": "grey"})
    assert refused.status_code == 400
    assert "colour" in refused.json()["error"]


def test_the_page_for_programs_leads_to_the_description(site: Site) -> None:
    page = unescape(site.get("/-/functions").text)
    assert 'href="/-/matref.json"' in page
    for question in QUESTIONS:
        assert f"{question.method.upper()} {question.path}" in page
    assert "curl 'http://localhost/-/pile.json?size=A4&sheets=20&mass=98+g'" in page


def test_a_program_from_afar_is_refused_in_json(remote: Site) -> None:
    refused = remote.post("/-/stock.json", json={"material": "cloth", "size": "A4"})
    assert refused.status_code == 403
    assert refused.json()["ok"] is False
    schema["/-/stock.json"]["POST"].validate_response(refused)
