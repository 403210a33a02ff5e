from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

import matref
from matref.stock import GRAINS, MATERIALS
from matref.web.stock import STOCK_FORM

if TYPE_CHECKING:
    from conftest import Site

OFFCUT = {"material": "cloth", "size": "600 x 450 mm", "count": "3", "grain": "long", "label": "sailcloth offcut"}


def add(site: Site, **fields: str) -> str:
    answer = site.send("/-/stock/new", {**OFFCUT, **fields})
    assert answer.status_code == 302, unescape(answer.text)
    location: str = answer.headers["location"]
    return location


def test_a_remnant_is_put_on_the_shelf_and_taken_off_piece_by_piece(site: Site) -> None:
    location = add(site, price="1,25", note="stiff with salt")
    page = unescape(site.get(location).text)
    for said in ("On the shelf", "600 × 450 mm", "along the long side", "1.25", "stiff with salt"):
        assert said in page
    assert site.send(location, {"action": "remove", "count": "2"}).headers["location"] == location
    assert "1 left of sailcloth offcut." in site.get(location).text
    gone = site.send(location, {"action": "remove", "count": ""})
    assert gone.headers["location"] == "/-/stock"
    assert "sailcloth offcut is off the shelf" in site.get("/-/stock").text
    assert site.get(location).status_code == 404
    with matref.open(site.place) as opened:
        assert opened.stock.list() == []


def test_plans_cut_from_what_was_put_there(site: Site) -> None:
    plan = {
        "book": {"structure": "soft-cover", "page_width_mm": 100, "page_height_mm": 150, "sections": 5},
        "paper": {"class": "bond_writing", "grammage_gsm": "80"},
        "cover": {"cloth_mm": "0.4", "card_mm": "0.3"},
    }

    def cloth() -> dict[str, object]:
        shopping = site.post("/-/book.json", json=plan).json()["shopping"]
        return next(line for line in shopping if line["role"] == "cloth")

    assert cloth()["from_shelf"] == []
    add(site, count="1")
    assert cloth()["from_shelf"] == ["sailcloth offcut"]
    left_out = site.post("/-/book.json", json={**plan, "stock": {"use_shelf": False}}).json()["shopping"]
    assert next(line for line in left_out if line["role"] == "cloth")["from_shelf"] == []


def test_a_pile_of_paper_leads_to_its_book(site: Site) -> None:
    with matref.open(site.place) as opened:
        sample = opened.samples.add("tide tables", paper_class="copier", size="A4", sheets=20, mass="98 g")
    location = add(site, material="paper", size="A4", count="120", label="loft pile", sample="tide tables")
    page = site.get(location).text
    assert f'href="/-/samples/{sample.id}"' in page
    link = re.search(r'href="(/-/book\?paper.pile=[^"]+)"', page)
    assert link
    assert "loft pile, 120 leaves" in site.get(link[1]).text
    assert "Plan a book" not in site.get(add(site)).text.split("<main")[1], (
        "no book is made of an offcut of cloth alone"
    )


def test_the_choices_are_those_of_the_shelf() -> None:
    assert [value for value, _ in STOCK_FORM["material"].choices] == list(MATERIALS)
    grains = {value or STOCK_FORM["grain"].usual for value, _ in STOCK_FORM["grain"].choices}
    assert grains == set(GRAINS)


@pytest.mark.parametrize(
    ("fields", "name", "words"),
    [
        ({"size": ""}, "size", "Size of a piece"),
        ({"material": ""}, "material", "What it is"),
        ({"size": "600"}, "size", "600"),
        ({"size": "1 x 1 mm"}, "size", "5 mm"),
        ({"material": "gold leaf"}, "material", "gold leaf"),
        ({"count": "a few"}, "count", "a few"),
        ({"count": "0"}, "count", "0"),
        ({"price": "cheap"}, "price", "cheap"),
        ({"price": "9999999"}, "price", "price"),
        ({"grain": "sideways"}, "grain", "sideways"),
        ({"sample": "nobody"}, "sample", "nobody"),
        ({"label": "x" * 90}, "label", "80 at most"),
    ],
)
def test_errors_stand_beside_their_field_and_nothing_is_kept(
    site: Site, fields: dict[str, str], name: str, words: str
) -> None:
    page = site.send("/-/stock/new", {**OFFCUT, **fields})
    assert page.status_code == 200
    beside = re.search(rf'id="error-{name}">([^<]*)<', page.text)
    assert beside, re.findall(r'role="alert">.*?</div>', page.text, re.DOTALL)
    assert words in unescape(beside[1])
    assert 'value="sailcloth offcut"' in page.text or name == "label"
    assert site.count() == 0


@pytest.mark.parametrize("count", ["4", "0", "-1", "all", "1.5"])
def test_more_than_there_is_cannot_be_taken_off(site: Site, count: str) -> None:
    location = add(site)
    assert site.send(location, {"action": "remove", "count": count}).status_code == 400
    assert site.post(f"{location}.json", json={"action": "remove", "count": count}).status_code == 400
    assert site.get(f"{location}.json").json()["count"] == 3
    for action in ("edit", "withdraw"):
        assert site.send(location, {"action": action}).status_code == 400


def test_json_twin_adds_lists_and_takes_off(site: Site) -> None:
    made = site.post("/-/stock.json", json={"material": "board", "size": "A3", "count": 12, "price": 0.75})
    assert made.status_code == 201
    with matref.open(site.place) as opened:
        assert opened.stock.list()[0].as_json() == made.json()
    name = made.json()["id"]
    assert (made.json()["width_mm"], made.json()["height_mm"]) == (297.0, 420.0)  # ISO 216
    add(site)
    assert [pile["material"] for pile in site.get("/-/stock.json").json()] == ["cloth", "board"]
    assert [pile["id"] for pile in site.get("/-/stock.json?material=board").json()] == [name]
    assert site.get("/-/stock.json?material=gold").status_code == 400
    left = site.post(f"/-/stock/{name}.json", json={"action": "remove", "count": 5}).json()
    assert left["count"] == 7
    assert site.post(f"/-/stock/{name}.json", json={"action": "remove"}).json()["count"] == 0
    assert site.get(f"/-/stock/{name}.json").status_code == 404


def test_inches_apply_to_bare_sizes(site: Site) -> None:
    location = add(site, size="24 x 18", units="in")
    found = site.get(f"{location}.json").json()
    assert (found["width_mm"], found["height_mm"]) == pytest.approx((609.6, 457.2))
    assert "24 × 18 in" in site.get(f"{location}?units=in").text
    assert "24 × 18 in" in site.get("/-/stock?units=in").text


def test_prices_and_notes_stay_here(site: Site, remote: Site) -> None:
    location = add(site, price="12.75", note="found behind the compass locker")
    for path in ("/-/stock", "/-/stock.json", location, f"{location}.json"):
        seen = remote.get(path)
        assert "sailcloth offcut" in seen.text
        assert "12.75" not in seen.text
        assert "compass" not in seen.text
        assert "12.75" in site.get(path).text


def test_pages_of_a_full_shelf(site: Site) -> None:
    with matref.open(site.place) as opened:
        for number in range(60):
            opened.stock.add("card", "A4", label=f"card {number:02}")
    first = site.get("/-/stock")
    assert first.text.count('scope="row"') == 50
    assert "card 59" in first.text
    assert 'href="/-/stock?start=50"' in first.text
    assert site.get("/-/stock?start=50").text.count('scope="row"') == 10
    twin = site.get("/-/stock.json?material=card")
    assert len(twin.json()) == 50
    # RFC 8288: the next page stands in a Link header.
    assert twin.headers["link"] == '</-/stock.json?material=card&start=50>; rel="next"'
    rest = site.get("/-/stock.json?material=card&start=50")
    assert "link" not in rest.headers
    labels = [pile["label"] for pile in (*twin.json(), *rest.json())]
    assert labels == [f"card {number:02}" for number in reversed(range(60))]
