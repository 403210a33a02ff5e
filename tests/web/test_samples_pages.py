from __future__ import annotations

import csv
import io
import re
from html import unescape
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import matref

if TYPE_CHECKING:
    from conftest import Site

WEIGHED = {"label": "tide table", "class": "copier", "size": "A4", "sheets": "20", "mass": "98 g"}
TABLE = "label,size,sheets,mass,class\nloft pile,A4,20,98 g,copier\nledger leaves,A4,10,60 g,ledger\n"


def add(site: Site, **fields: str) -> str:
    answer = site.send("/-/samples/new", {**WEIGHED, **fields})
    assert answer.status_code == 302, answer.text
    return answer.headers["location"]


def table_in(page: str) -> str:
    found = re.search(r'name="table" value="([^"]+)"', page)
    assert found
    return found[1]


def test_a_measurement_becomes_a_sample_with_one_form(site: Site) -> None:
    pile = site.get("/-/pile?" + urlencode(WEIGHED)).text
    form = re.search(r'<form class="keep" action="([^"]+)" method="get">(.*?)</form>', pile, re.DOTALL)
    assert form
    brought = {n: unescape(v) for n, v in re.findall(r'name="([^"]+)" value="([^"]*)"', form[2])}
    page = site.get(form[1], params=brought).text
    for value in ("A4", "20", "98 g"):
        assert f'value="{value}"' in page
    location = add(site)
    assert "tide table" in site.get(location).text
    assert "tide table" in site.get("/-/samples").text
    assert "tide table" in site.get("/").text
    assert "tide table" in site.get("/shelf/sample").text


def test_correcting_keeps_the_id_and_the_former_version(site: Site) -> None:
    location = add(site)
    page = site.get(location).text
    assert 'value="98 g"' in page
    answer = site.send(location, {**WEIGHED, "action": "edit", "mass": "99,5 g", "label": "tide table, locker 3"})
    assert (answer.status_code, answer.headers["location"]) == (302, location)
    page = site.get(location).text
    assert 'value="99,5 g"' in page
    assert "Former versions" in page
    found = site.get(location + ".json").json()
    assert found["parsed"]["mass_g"] == 99.5
    assert found["label"] == "tide table, locker 3"


def test_emptied_fields_are_taken_out_but_not_everything(site: Site) -> None:
    location = add(site, grammage="80")
    site.send(location, {**WEIGHED, "grammage": "", "action": "edit"})
    assert "grammage" not in site.get(location + ".json").json()["as_typed"]
    page = site.send(
        location, {"label": "x", "class": "copier", "size": "", "sheets": "", "mass": "", "action": "edit"}
    )
    assert page.status_code == 200
    assert "something measured" in page.text
    assert site.get(location + ".json").json()["as_typed"]["mass"] == "98 g"


def test_withdrawing_and_restoring_change_the_answer_back_and_forth(site: Site) -> None:
    ask = "/-/pile.json?class=copier&grammage=80"
    before = site.get(ask).json()
    location = add(site, stack_sheets="100", stack="12.5 mm")
    with_sample = site.get(ask).json()
    assert with_sample["caliper_um"]["value"] > before["caliper_um"]["value"]
    assert site.send(location, {"action": "withdraw"}).status_code == 302
    assert site.get(ask).json() == before
    assert "no longer counts" in site.get(location).text
    assert "tide table" not in site.get("/-/samples").text
    assert "tide table" in site.get("/-/samples?withdrawn=1").text
    site.send(location, {"action": "restore"})
    assert site.get(ask).json() == with_sample
    assert site.send(location, {"action": "sink"}).status_code == 400


def test_bad_samples_come_back_with_all_that_was_typed(site: Site) -> None:
    page = site.send(
        "/-/samples/new", {**WEIGHED, "mass": "98 lions", "note": "from <the> loft", "measured_on": "never"}
    )
    assert page.status_code == 200
    assert "lions" in page.text
    assert "from &lt;the&gt; loft" in page.text
    page = site.send("/-/samples/new", {**WEIGHED, "measured_on": "never"})
    assert 'id="error-measured_on"' in page.text
    assert site.count() == 0


def test_json_twin_adds_corrects_lists_and_withdraws(site: Site) -> None:
    made = site.post("/-/samples.json", json={**WEIGHED, "sheets": 20}).json()
    with matref.open(site.place) as opened:
        kept = opened.samples.get(made["id"])
    assert kept.as_json() == made
    assert [s["id"] for s in site.get("/-/samples.json").json()] == [made["id"]]
    changed = site.post(f"/-/samples/{made['id']}.json", json={"mass": "99 g"}).json()
    assert changed["as_typed"]["mass"] == "99 g"
    assert changed["as_typed"]["size"] == "A4"
    gone = site.post(f"/-/samples/{made['id']}.json", json={"action": "withdraw"}).json()
    assert gone["withdrawn_at"]
    assert site.get("/-/samples.json").json() == []
    assert site.post("/-/samples.json", json={"label": "nothing measured"}).status_code == 400
    assert "grammage" in site.post("/-/samples.json", json={"gramage": 80}).json()["error"]
    assert site.get("/-/samples/nobody.json").status_code == 404


def test_preview_tells_of_every_row_and_writes_nothing(site: Site) -> None:
    preview = site.post(
        "/-/samples/import", data={"csrftoken": site.token()}, files={"file": ("a.csv", TABLE.encode())}
    )
    assert "2 would be added" in preview.text
    assert "loft pile" in preview.text
    assert "ledger leaves" in preview.text
    assert site.count() == 0
    answer = site.send("/-/samples/import", {"confirm": "yes", "table": table_in(preview.text)})
    assert answer.status_code == 302
    assert site.count() == 2
    assert "2 samples taken in" in site.get("/-/samples").text


def test_one_bad_row_keeps_the_table_out_and_is_named(site: Site) -> None:
    bad = TABLE + "spoilt,A4,20,98 lions,copier\n"
    preview = site.send("/-/samples/import", {"pasted": bad})
    assert "line 4" in preview.text
    assert "lions" in preview.text
    assert 'name="table"' not in preview.text
    import base64

    forced = site.send("/-/samples/import", {"confirm": "yes", "table": base64.b64encode(bad.encode()).decode()})
    assert "line 4" in forced.text
    assert site.count() == 0
    twin = site.post("/-/samples/import.json", json={"pasted": bad})
    assert twin.status_code == 400
    assert [row["outcome"] for row in twin.json()["rows"]] == ["added", "added", "refused"]


def test_export_goes_back_in_without_duplicates(site: Site) -> None:
    add(site, note='=HYPERLINK("x")')
    exported = site.get("/-/samples/export.csv?notes=1")
    assert exported.headers["content-disposition"].startswith("attachment")
    (row,) = csv.DictReader(io.StringIO(exported.text.lstrip("\ufeff")))
    assert not row["note"].startswith("=")
    again = site.send("/-/samples/import", {"pasted": exported.text})
    assert "1 are here already" in again.text
    assert site.count() == 1


def test_pages_of_many_samples(site: Site) -> None:
    table = "label,grammage\n" + "".join(f"pile {n:03},80\n" for n in range(120))
    preview = site.send("/-/samples/import", {"pasted": table})
    site.send("/-/samples/import", {"confirm": "yes", "table": table_in(preview.text)})
    first = site.get("/-/samples").text
    assert first.count('scope="row"') == 50
    assert "/-/samples?start=50" in first
    assert site.get("/-/samples?start=100").text.count('scope="row"') == 20
    assert site.get("/-/samples?start=-1").status_code == 400
