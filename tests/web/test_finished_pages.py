from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import pytest

import matref

if TYPE_CHECKING:
    from conftest import Site

MADE = {
    "label": "first tide log",
    "sheets_per_section": "4",
    "sections": "8",
    "thread": "30/3 linen",
    "caliper_um": "104",
    "fore_edge_mm": "6.4 mm",
    "spine_mm": "9.0 mm",
    "measured_with": "vernier",
}
PLANNED = {
    "book.structure": "long-stitch",
    "book.page_width_mm": "100",
    "book.page_height_mm": "150",
    "book.sections": "6",
    "book.title": "ledger of tides",
    "paper.size": "A4",
    "paper.sheets": "20",
    "paper.mass_g": "98 g",
    "sewing.thread": "30/3 linen",
    "cover.card_mm": "0.4",
}


def add(site: Site, **fields: str) -> str:
    answer = site.send("/-/finished/new", {**MADE, **fields})
    assert answer.status_code == 302, unescape(answer.text)
    location: str = answer.headers["location"]
    return location


def filled(page: str) -> dict[str, str]:
    """What the form of a page holds: inputs with a value, and chosen options."""
    found = dict(re.findall(r'<input[^>]*? name="([^"]+)" value="([^"]+)"', page))
    for name, inside in re.findall(r'<select[^>]*? name="([^"]+)".*?>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'value="([^"]+)" selected', inside)
        if chosen and name not in found:
            found[name] = chosen[1]
    return {name: unescape(text) for name, text in found.items() if name not in ("csrftoken", "units", "q")}


def spine(site: Site) -> dict[str, float]:
    with matref.open(site.place) as opened:
        return opened.spine(sheets_per_section=4, sections=8, thread="30/3 linen", caliper_um=104).spine_mm.as_json()


def test_a_book_is_kept_as_the_command_keeps_it(site: Site) -> None:
    location = add(site, note="damp when sewn")
    with matref.open(site.place) as opened:
        (kept,) = opened.finished.list()
    assert location == f"/-/finished/{kept.id}"
    assert (kept.label, kept.note, kept.measured_with, kept.sewing, kept.pressing) == (
        "first tide log",
        "damp when sewn",
        "vernier",
        "all-along",
        "pressed",
    )
    assert (kept.fore_edge_mm.measured, kept.spine_mm.measured) == (6.4, 9.0)
    page = unescape(site.get(location).text)
    assert "Kept; the next spine is reckoned with it." in page
    assert "6.40 ± 0.04 mm" in page
    # φ = S / (N·m·d), S the spine less the fore-edge: (9.0 - 6.4) / (8 · thread), as matref.finished documents it.
    assert f"{(9.0 - 6.4) / (8 * kept.thread_mm):.2f} of its thickness" in page
    listed = unescape(site.get("/-/finished").text)
    assert "first tide log" in listed
    assert "8 sections of 4" in listed
    assert "Learnt from 1 book" in listed


def test_withdrawing_takes_the_lesson_back_exactly(site: Site) -> None:
    before = spine(site)
    location = add(site)
    taught = spine(site)
    assert taught != before
    assert site.send(location, {"action": "withdraw"}).status_code == 302
    assert spine(site) == before
    assert "teaches nothing" in site.get(location).text
    assert "first tide log" not in site.get("/-/finished").text
    assert "first tide log" in site.get("/-/finished?withdrawn=1").text
    site.send(location, {"action": "restore"})
    assert spine(site) == taught
    for action in ("edit", "sink", ""):
        assert site.send(location, {"action": action}).status_code == 400


def test_a_record_begins_from_the_plan(site: Site) -> None:
    plan = unescape(site.get("/-/book?" + urlencode(PLANNED)).text)
    link = re.search(r'href="(/-/finished/new\?[^"]+)">It is made', plan)
    assert link
    form = site.get(link[1])
    brought = filled(form.text)
    settled = site.get("/-/book.json?" + urlencode(PLANNED)).json()["sections"]
    assert brought["sections"] == str(settled["count"]) == "6"
    assert brought["sheets_per_section"] == str(settled["sheets_per_section"])
    assert brought["thread"] == "30/3 linen"
    assert brought["label"] == "ledger of tides"
    weighed = {k: brought[k].upper() for k in ("size", "sheets", "mass")}
    assert weighed == {"size": "A4", "sheets": "20", "mass": "98 G"}
    expected = site.get("/-/book.json?" + urlencode(PLANNED)).json()["spine"]
    answer = site.send("/-/finished/new", {**brought, "fore_edge_mm": f"{expected['fore_edge_mm']['value']:.1f}"})
    assert answer.status_code == 302, unescape(answer.text)
    kept = site.get(answer.headers["location"] + ".json").json()
    assert kept["plan"]["book"]["structure"] == "long-stitch"
    assert {name: text.upper() for name, text in kept["paper"].items()} == weighed
    assert kept["plan"]["paper"]["mass_g"] == "98 g"
    assert kept["fore_edge_mm"]["inside"] is True


def test_what_the_planner_chose_comes_along_too(site: Site) -> None:
    bare = {k: v for k, v in PLANNED.items() if not k.startswith(("paper.", "sewing."))} | {
        "book.structure": "soft-cover",
        "cover.cloth_mm": "0.4",
    }
    brought = filled(site.get("/-/finished/new?" + urlencode(bare)).text)
    planned = site.get("/-/book.json?" + urlencode(bare)).json()
    assert brought["thread"] == planned["stitching"]["thread"]
    assert brought["sewing"] == "machine"
    assert "mass" not in brought
    refused = site.send("/-/finished/new", {**brought, "spine_mm": "9"})
    assert refused.status_code == 200
    assert 'role="alert"' in refused.text
    assert filled(refused.text)["plan"] == brought["plan"], "the plan is not lost on the way"


@pytest.mark.parametrize(
    ("paper", "wanted"),
    [
        ({"paper.caliper_um": "104"}, {"caliper_um": "104 um"}),
        ({"paper.caliper_um": "98", "paper.in_block": "yes"}, {}),
        ({"paper.class": "copier,newsprint", "paper.grammage_gsm": "80"}, {"class": "copier", "grammage": "80 g/m2"}),
        ({"paper.class": "ledger", "paper.leaf_size": "A4", "paper.leaves": "90"}, {"class": "ledger"}),
    ],
)
def test_each_way_of_telling_the_paper_is_taken_over(site: Site, paper: dict[str, str], wanted: dict[str, str]) -> None:
    asked = {k: v for k, v in PLANNED.items() if not k.startswith("paper.")} | paper
    brought = filled(site.get("/-/finished/new?" + urlencode(asked)).text)
    names = ("caliper_um", "class", "grammage", "size", "sample")
    assert {k: v for k, v in brought.items() if k in names} == wanted
    assert brought["sections"] == "6"


def test_a_pile_of_the_stock_brings_its_sample(site: Site) -> None:
    with matref.open(site.place) as opened:
        sample = opened.samples.add("tide tables", paper_class="copier", size="A4", sheets=20, mass="98 g")
        pile = opened.stock.add("paper", "A4", count=200, label="loft pile", sample=sample.id)
    asked = {k: v for k, v in PLANNED.items() if not k.startswith("paper.")} | {"paper.pile": pile.id}
    brought = filled(site.get("/-/finished/new?" + urlencode(asked)).text)
    assert brought["sample"] == sample.id
    answer = site.send("/-/finished/new", {**brought, "spine_mm": "9 mm", "fore_edge_mm": "7 mm"})
    assert answer.status_code == 302, unescape(answer.text)
    assert site.get(answer.headers["location"] + ".json").json()["paper"] == {"sample": sample.id}


def test_a_plan_that_cannot_be_made_leaves_the_form_empty(site: Site) -> None:
    for odd in ({"book.sections": "no"}, {"book.structure": "scroll"}, {"more": "[[["}):
        page = site.get("/-/finished/new?" + urlencode({**PLANNED, **odd}))
        assert page.status_code == 200
        assert "sections" not in filled(page.text)


@pytest.mark.parametrize(
    ("fields", "name", "words"),
    [
        ({"fore_edge_mm": "six"}, "fore_edge_mm", "six"),
        ({"sections": "1.5"}, "sections", "whole number"),
        ({"thread": "moonlight"}, "thread", "moonlight"),
        ({"caliper_um": "thin"}, "caliper_um", "thin"),
        ({"measured_on": "tomorrow"}, "measured_on", "tomorrow"),
        ({"measured_with": "cubit"}, "measured_with", "cubit"),
        ({"sheets_per_section": ""}, "sheets_per_section", "sheets per section"),
        ({"thread": ""}, "thread", "thread"),
        ({"spine_mm": "5 mm"}, "fore_edge_mm", "thinner"),
        ({"label": "x\x07y"}, "label", "control character"),
        ({"caliper_um": "", "sample": "nobody"}, "sample", "nobody"),
    ],
)
def test_errors_stand_beside_the_field_and_nothing_is_lost(
    site: Site, fields: dict[str, str], name: str, words: str
) -> None:
    page = site.send("/-/finished/new", {**MADE, **fields})
    assert page.status_code == 200
    beside = re.search(rf'id="error-{name}">([^<]*)<', page.text)
    assert beside, re.findall(r'role="alert">.*?</div>', page.text, re.DOTALL)
    assert words in unescape(beside[1])
    for kept in ("label", "spine_mm", "sections"):
        if kept not in fields:
            assert f'value="{MADE[kept]}"' in page.text
    assert site.count() == 0


def test_nothing_measured_is_told_at_the_top(site: Site) -> None:
    page = unescape(site.send("/-/finished/new", {**MADE, "fore_edge_mm": "", "spine_mm": ""}).text)
    assert "nothing of the finished book was measured" in page
    assert site.count() == 0


def test_what_is_far_from_any_such_book_is_refused(site: Site) -> None:
    page = unescape(site.send("/-/finished/new", {**MADE, "spine_mm": "90 mm"}).text)
    assert "was to be expected" in page
    warned = site.get(add(site, fore_edge_mm="", spine_mm="13 mm")).text
    assert "was to be expected" in unescape(warned)


def test_inches_apply_to_bare_thicknesses_and_are_shown(site: Site) -> None:
    location = add(site, fore_edge_mm="1/4", spine_mm="0.35", units="in")
    found = site.get(location + ".json").json()
    assert found["fore_edge_mm"]["measured"] == pytest.approx(6.35)
    assert found["spine_mm"]["measured"] == pytest.approx(8.89)
    assert " in" in unescape(site.get(location + "?units=in").text).split("Bare block")[1]


def test_json_twin_adds_lists_and_withdraws(site: Site) -> None:
    sent = {**MADE, "sections": 8, "sheets_per_section": 4, "plan": {"book": {"structure": "soft-cover"}}}
    made = site.post("/-/finished.json", json=sent)
    assert made.status_code == 201
    with matref.open(site.place) as opened:
        assert opened.finished.list()[0].as_json() == made.json()
    assert made.json()["plan"] == {"book": {"structure": "soft-cover"}}
    name = made.json()["id"]
    assert [book["id"] for book in site.get("/-/finished.json").json()] == [name]
    assert site.get("/-/finished/first tide log.json").json()["id"] == name
    gone = site.post(f"/-/finished/{name}.json", json={"action": "withdraw"}).json()
    assert gone["withdrawn_at"]
    assert site.get("/-/finished.json").json() == []
    assert len(site.get("/-/finished.json?withdrawn=1").json()) == 1


@pytest.mark.parametrize("plan", ["soon", 3, [1], "[1, 2]", '{"book": 3}', "[" * 9000])
def test_a_plan_that_is_none_is_refused(site: Site, plan: Any) -> None:
    answer = site.post("/-/finished.json", json={**MADE, "plan": plan})
    assert answer.status_code == 400
    assert site.count() == 0


def test_from_afar_notes_and_plans_stay_here(site: Site, remote: Site) -> None:
    secret = "found behind the compass locker"
    plan = {"book": {"structure": "soft-cover", "title": "kept at home"}}
    name = site.post("/-/finished.json", json={**MADE, "note": secret, "plan": plan}).json()["id"]
    for path in ("/-/finished", "/-/finished.json", f"/-/finished/{name}", f"/-/finished/{name}.json"):
        seen = remote.get(path)
        assert seen.status_code == 200
        assert "first tide log" in seen.text
        assert secret not in seen.text
        assert "kept at home" not in seen.text
    assert secret in site.get(f"/-/finished/{name}").text


def test_the_secret_gives_leave_from_afar(remote: Site, visit: Callable[..., Site]) -> None:
    headers = {"authorization": "Bearer eight bells and all well"}
    made = remote.post("/-/finished.json", json=MADE, headers=headers)
    assert made.status_code == 201
    assert visit().get(f"/-/finished/{made.json()['id']}").status_code == 200
