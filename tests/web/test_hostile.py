from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from matref.web.fields import SAMPLE_FORM
from matref.web.finished import FINISHED_FORM
from matref.web.stock import STOCK_FORM

if TYPE_CHECKING:
    from conftest import Site

    from matref.web.asking import Field

SCRIPT = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'><svg/onload=alert(3)>"
SQL = "'; DROP TABLE sample; --"
TEMPLATE = "{{ 7 * 7 }}{% raw %}"
WEIGHED = {"size": "A4", "sheets": "20", "mass": "98 g"}
OFFCUT = {"material": "cloth", "size": "600 x 450 mm", "count": "2"}
MADE = {
    "sheets_per_section": "4",
    "sections": "8",
    "thread": "0.5 mm",
    "caliper_um": "104",
    "fore_edge_mm": "6.4",
    "spine_mm": "9.0",
}
OFF = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def harmless(page: str) -> None:
    assert "<script" not in page
    assert "<img" not in page
    assert "onload=alert(3)>" not in page.replace("&lt;svg/onload=alert(3)&gt;", "")
    assert ">49" not in page


@pytest.mark.parametrize(
    "text", [SCRIPT, SQL, TEMPLATE, "\x00\x07", "\u202e\u2066", "a" * 5000, "%s%n%x", "../../etc/passwd"]
)
@pytest.mark.parametrize("name", SAMPLE_FORM)
def test_every_field_of_pile_and_sample(site: Site, name: str, text: str) -> None:
    for path in ("/-/pile?", "/-/pile.json?", "/-/samples/new?"):
        answer = site.get(path + urlencode({**WEIGHED, name: text}))
        assert answer.status_code in (200, 302, 400)
        if "json" not in path:
            harmless(answer.text)
    answer = site.send("/-/samples/new", {**WEIGHED, name: text})
    assert answer.status_code in (200, 302)
    harmless(answer.text)
    for page in ("/", "/-/samples", "/shelf/sample", *filter(None, [answer.headers.get("location")])):
        harmless(site.get(page).text)


@pytest.mark.parametrize("text", [SCRIPT, SQL, TEMPLATE, "\x00\x07", "\u202e\u2066", "a" * 5000, "%s%n%x"])
@pytest.mark.parametrize(
    ("path", "form", "good"), [("/-/stock", STOCK_FORM, OFFCUT), ("/-/finished", FINISHED_FORM, MADE)]
)
def test_every_field_of_stock_and_finished_books(
    site: Site, path: str, form: dict[str, Field], good: dict[str, str], text: str
) -> None:
    token = site.token()
    for name in form:
        fields = {**good, name: text}
        asked = site.get(f"{path}/new?" + urlencode(fields))
        assert asked.status_code in (200, 400, 414), name
        harmless(asked.text)
        sent = site.post(f"{path}/new", data={"csrftoken": token, **fields})
        assert sent.status_code in (200, 302), name
        harmless(sent.text)
        assert site.post(f"{path}.json", json=fields).status_code in (201, 400), name
        if "location" in sent.headers:
            harmless(site.get(sent.headers["location"]).text)
    harmless(site.get(path).text)


def test_scripts_in_every_cell_of_a_table(site: Site) -> None:
    columns = (
        "label",
        "note",
        "measured_on",
        "same_as",
        "class",
        "size",
        "sheets",
        "mass",
        "with",
        SCRIPT.replace('"', ""),
    )
    cell = '"' + SCRIPT.replace('"', '""') + '"'
    table = ",".join(columns[:-1]) + "\n" + ",".join([cell] * 9) + "\n" + f"{cell},{cell},,,copier,A4,20,98 g,\n"
    for pasted in (
        table,
        ",".join(columns) + "\nx\n",
        "\x00" * 50,
        "label\n" + "x," * 5000,
        '"' * 999,
        "=cmd|' /C'!A0,b\n1,2\n",
    ):
        answer = site.send("/-/samples/import", {"pasted": pasted})
        assert answer.status_code == 200
        harmless(answer.text)
    assert site.count() == 0


def test_search_and_addresses(site: Site) -> None:
    for text in (SCRIPT, SQL, TEMPLATE, '"', "a OR b NEAR(", "*", "\x00", "x" * 3000):
        for path in (
            "/-/find?q=",
            "/-/find.json?q=",
            "/-/samples?class=",
            "/-/samples?start=",
            "/-/samples/",
            "/-/stock/",
            "/-/stock?material=",
            "/-/finished/",
            "/-/finished?withdrawn=",
            "/-/finished/new?book.structure=",
            "/-/class/",
            "/shelf/",
        ):
            answer = site.get(path + urlencode({"": text})[1:])
            assert answer.status_code < 500, (path, text)
            if "json" not in path:
                harmless(answer.text)


# Datasette leaves half-done work behind where a parameter makes it give up.
@pytest.mark.filterwarnings("ignore::RuntimeWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize(
    "name",
    [
        "_next",
        "_size",
        "_sort",
        "_sort_desc",
        "_facet",
        "_col",
        "_nocol",
        "_where",
        "_search",
        "_timelimit",
        "_shape",
        "_labels",
        "_facet_date",
        "_facet_array",
        "_through",
        "_fts_table",
        "_extra",
        "_trace",
        "_context",
    ],
)
@pytest.mark.parametrize("text", [SCRIPT, SQL, "-1", "99999999999999999999", "x", "\x00", "é", "[", '{"table": 1}'])
def test_parameters_of_datasette_itself(site: Site, name: str, text: str) -> None:
    for path in ("/shelf/readings", "/shelf/sample.json", "/shelf/reading"):
        answer = site.get(path + "?" + urlencode({name: text}))
        assert answer.status_code < 500, answer.text[:300]
        if "json" not in path:
            harmless(re.sub(r"<td[^>]*>49[^<]*</td>", "", answer.text))


WORDS = st.text(max_size=40) | st.sampled_from(
    ["A4", "20", "98 g", "copier", "1e9", "-1", "10 mm", "1/0 in", "nan", "inf", "½"]
)


@OFF
@given(fields=st.dictionaries(st.sampled_from([*SAMPLE_FORM, "level", "sample", "units", "odd"]), WORDS, max_size=6))
def test_anything_typed_gets_an_answer(site: Site, fields: dict[str, str]) -> None:
    for path in ("/-/pile", "/-/pile.json"):
        assert site.get(path, params=fields).status_code in (200, 302, 400)
    assert site.post("/-/pile.json", json=fields, headers={"cookie": ""}).status_code in (200, 400)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=8,
)


@OFF
@given(
    body=JSON
    | st.dictionaries(st.sampled_from([*SAMPLE_FORM, *FINISHED_FORM, *STOCK_FORM, "action"]), JSON, max_size=5)
)
def test_any_json_gets_an_answer(site: Site, body: object) -> None:
    import json

    content = json.dumps(body).encode()
    headers = {"content-type": "application/json", "cookie": ""}
    kinds = ("samples", "stock", "finished")
    twins = (*(f"/-/{kind}{one}.json" for kind in kinds for one in ("", "/nobody")), "/-/samples/import.json")
    for path in ("/-/pile.json", "/-/book.json", *twins):
        assert site.post(path, content=content, headers=headers).status_code in (200, 201, 400, 404)


KEYS = st.sampled_from(["sections", "pages", "sheets_per_section", "thread", "by", "class", "mass_g", "sample", "x"])
TABLES = st.dictionaries(st.sampled_from(["book", "paper", "sewing", "x"]), JSON | st.dictionaries(KEYS, JSON))


@OFF
@given(plan=TABLES, left_out=st.sets(st.sampled_from(sorted(MADE))))
def test_any_plan_of_a_finished_book_gets_an_answer(site: Site, plan: dict[str, object], left_out: set[str]) -> None:
    import json

    sent = {**{name: text for name, text in MADE.items() if name not in left_out}, "plan": plan}
    headers = {"content-type": "application/json"}
    answer = site.post("/-/finished.json", content=json.dumps(sent).encode(), headers=headers)
    assert answer.status_code in (201, 400)
