"""What samples, stock and finished books have in common: every kind of record goes through the same pages."""

from __future__ import annotations

import asyncio
import re
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest

import matref
from matref.web.finished import FinishedPages
from matref.web.records import PAGE
from matref.web.samples import SamplePages
from matref.web.stock import StockPages

if TYPE_CHECKING:
    from conftest import Site

GOOD: dict[str, dict[str, str]] = {
    "/-/samples": {"label": "harbour", "size": "A4", "sheets": "20", "mass": "98 g", "class": "copier"},
    "/-/stock": {"label": "harbour", "material": "cloth", "size": "600 x 450 mm", "count": "9"},
    "/-/finished": {
        "label": "harbour",
        "sheets_per_section": "4",
        "sections": "8",
        "thread": "0.5 mm",
        "caliper_um": "104",
        "fore_edge_mm": "6.4",
        "spine_mm": "9.0",
    },
}
PATHS = tuple(GOOD)
GONE = {"/-/samples": "withdraw", "/-/stock": "remove", "/-/finished": "withdraw"}
PAGES = (SamplePages(), StockPages(), FinishedPages())


def same(record: dict[str, Any]) -> dict[str, Any]:
    """A record without what is another each time."""
    return {k: v for k, v in record.items() if k not in ("id", "added_at", "changed_at")}


@pytest.mark.parametrize("path", PATHS)
def test_a_form_and_json_keep_the_same_record(site: Site, path: str) -> None:
    by_form = site.send(f"{path}/new", GOOD[path]).headers["location"]
    by_json = site.post(f"{path}.json", json=GOOD[path]).json()
    kept = site.get(f"{by_form}.json").json()
    if path == "/-/finished":  # the second is predicted with what the first has taught
        for record in (kept, by_json):
            for name in ("fore_edge_mm", "spine_mm"):
                record[name] = {k: v for k, v in record[name].items() if k in ("measured", "u")}
    if path == "/-/samples":  # the second is told that the first has its label
        (said,) = by_json["warnings"]
        assert kept["id"] in said
        by_json["warnings"] = []
    assert same(kept) == same(by_json)


@pytest.mark.parametrize("path", PATHS)
def test_the_list_shows_what_was_added_last_first(site: Site, path: str) -> None:
    assert 'scope="row"' not in site.get(path).text
    names = [f"pile {number}" for number in range(3)]
    for name in names:
        assert site.post(f"{path}.json", json={**GOOD[path], "label": name}).status_code == 201
    page = unescape(site.get(path).text)
    places = [page.index(name) for name in names]
    assert places == sorted(places, reverse=True)
    assert [record["label"] for record in site.get(f"{path}.json").json()] == names[::-1]


@pytest.mark.parametrize("path", PATHS)
def test_following_the_links_passes_every_record_once(site: Site, path: str) -> None:
    with matref.open(site.place) as opened:
        for number in range(PAGE + 7):
            name = f"pile {number:03}"
            if path == "/-/samples":
                opened.samples.add(name, grammage=80)
            elif path == "/-/stock":
                opened.stock.add("card", "A4", label=name)
            else:
                opened.finished.add(
                    label=name, sheets_per_section=4, sections=8, thread="0.5 mm", caliper_um=104, spine_mm=9
                )
    seen, address = [], f"{path}.json"
    while address:
        answer = site.get(address)
        seen += [record["label"] for record in answer.json()]
        found = re.fullmatch(r'<([^>]+)>; rel="next"', answer.headers.get("link", ""))
        address = found[1] if found else ""
    assert seen == [f"pile {number:03}" for number in reversed(range(PAGE + 7))]
    first = site.get(path).text
    link = re.search(r'href="([^"]+)">Earlier ones', first)
    assert link
    assert site.get(unescape(link[1])).text.count('scope="row"') == 7


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("start", ["-1", "x", "1e3", "9" * 12, "½", " 1"])
def test_a_senseless_start_is_refused(site: Site, path: str, start: str) -> None:
    for end in ("", ".json"):
        assert site.get(path + end, params={"start": start}).status_code == 400


@pytest.mark.parametrize("path", PATHS)
def test_unknown_fields_are_named_with_the_nearest_known_one(site: Site, path: str) -> None:
    for sent in ({"lable": "x"}, {**GOOD[path], "lable": "x"}):
        refused = site.post(f"{path}.json", json=sent)
        assert refused.status_code == 400
        assert "lable" in refused.json()["error"]
        assert "for example: label" in refused.json()["error"]
    assert site.count() == 0


@pytest.mark.parametrize("path", PATHS)
def test_a_page_that_was_sent_wrongly_can_be_sent_again(site: Site, path: str) -> None:
    page = site.send(f"{path}/new", {**GOOD[path], "label": "har\x07bour", "note": "two\nlines <b>"})
    assert page.status_code == 200
    assert site.count() == 0
    again = dict(re.findall(r'<input[^>]*? name="([^"]+)" value="([^"]*)"', page.text))
    again |= {
        name: chosen[1]
        for name, inside in re.findall(r'<select[^>]*? name="([^"]+)".*?>(.*?)</select>', page.text, re.DOTALL)
        if (chosen := re.search(r'value="([^"]+)" selected', inside)) and not again.get(name)
    }
    note = re.search(r"<textarea[^>]*>\n?(.*?)</textarea>", page.text, re.DOTALL)
    assert note
    again = {name: unescape(text) for name, text in again.items() if name != "units"}
    sent = site.send(f"{path}/new", {**again, "label": "harbour", "note": unescape(note[1])})
    assert sent.status_code == 302, unescape(sent.text)
    assert site.get(sent.headers["location"] + ".json").json()["note"] == "two\nlines <b>"


@pytest.mark.parametrize("path", PATHS)
def test_a_record_goes_by_its_label_until_two_have_it(site: Site, path: str) -> None:
    first = site.post(f"{path}.json", json=GOOD[path]).json()
    assert site.get(f"{path}/harbour.json").json()["id"] == first["id"]
    site.post(f"{path}.json", json=GOOD[path])
    assert site.get(f"{path}/harbour.json").status_code == 400
    assert site.get(f"{path}/{first['id']}.json").status_code == 200
    assert site.get(f"{path}/nobody.json").json()["ok"] is False
    assert site.get(f"{path}/nobody").status_code == 404


@pytest.mark.parametrize("path", PATHS)
def test_what_is_gone_is_gone_once(site: Site, path: str) -> None:
    name = site.post(f"{path}.json", json=GOOD[path]).json()["id"]
    gone = {"action": GONE[path]}
    assert site.post(f"{path}/{name}.json", json=gone).status_code == 200
    assert site.post(f"{path}/{name}.json", json=gone).status_code in (400, 404)
    assert site.get(f"{path}.json").json() == []


@pytest.mark.parametrize("path", PATHS)
def test_many_at_once_are_all_kept(site: Site, path: str) -> None:
    async def crowd() -> list[int]:
        sent = [site.client.post(f"{path}.json", json={**GOOD[path], "label": f"pile {n}"}) for n in range(12)]
        return [answer.status_code for answer in await asyncio.gather(*sent)]

    assert site.loop.run_until_complete(crowd()) == [201] * 12
    records = site.get(f"{path}.json").json()
    assert sorted(record["label"] for record in records) == sorted(f"pile {n}" for n in range(12))
    assert len({record["id"] for record in records}) == 12


@pytest.mark.parametrize("pages", PAGES, ids=lambda pages: pages.path)
def test_what_is_private_is_hidden_by_its_name(pages: Any, site: Site, remote: Site) -> None:
    made = site.post(f"{pages.path}.json", json={**GOOD[pages.path], "note": "behind the locker"}).json()
    seen = remote.get(f"{pages.path}/{made['id']}.json").json()
    assert set(made) - set(seen) == set(pages.private)
    assert {k: made[k] for k in seen} == {**seen, **({"warnings": made["warnings"]} if "warnings" in seen else {})}


@pytest.mark.parametrize("path", PATHS)
def test_every_field_has_one_label_and_its_hint_and_error_are_tied_to_it(site: Site, path: str) -> None:
    for page in (site.get(f"{path}/new").text, site.send(f"{path}/new", {**GOOD[path], "label": "\x07"}).text):
        inputs = re.findall(r'<(?:input|select|textarea) id="(f-[^"]+)"', page)
        assert len(inputs) == len(set(inputs)) > 5
        for identity in inputs:
            assert page.count(f'for="{identity}"') == 1, identity
        for described in re.findall(r'aria-describedby="([^"]+)"', page):
            for identity in described.split():
                assert page.count(f'id="{identity}"') == 1, identity
        for invalid in re.findall(r'href="#(f-[^"]+)"', page):
            assert invalid in inputs
