from __future__ import annotations

import csv
import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

import matref
from matref.catalogue.package import data_folder
from matref.web.queries import ready_queries
from matref.web.shown import caliper, give_or_take, length, size

if TYPE_CHECKING:
    from conftest import Site

from matref.estimator.estimate import Estimate

NAV = ("/-/pile", "/-/book", "/-/samples", "/-/stock", "/-/finished", "/shelf")


def rows(table: str) -> list[dict[str, str]]:
    with (data_folder() / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_first_page_counts_what_the_data_hold(site: Site) -> None:
    page = unescape(site.get("/").text)
    readings, classes, sources = (len(rows(table)) for table in ("reading", "material_class", "sources"))
    assert f"{readings:,} published readings of {classes} kinds" in page
    assert f"from {sources} sources" in page
    for query in ready_queries().values():
        assert query["title"] in page


@pytest.mark.parametrize("path", NAV)
def test_every_door_leads_somewhere_and_the_menu_says_where_one_is(site: Site, path: str) -> None:
    home = site.get("/").text
    assert home.count(f'href="{path}"') >= 2, "in the menu and on a door"
    page = site.get(path)
    assert page.status_code == 200
    assert re.findall(r'href="([^"]+)" aria-current="page"', page.text) == [path]


def test_the_last_five_samples_are_on_the_first_page(site: Site) -> None:
    assert "Enter the first one" in site.get("/").text
    with matref.open(site.place) as opened:
        for number in range(7):
            opened.samples.add(f"pile {number}", grammage=80 + number)
    page = site.get("/").text
    assert [f"pile {n}" in page for n in range(7)] == [False, False, True, True, True, True, True]
    assert "Enter the first one" not in page


def test_a_class_page_counts_its_readings_and_tells_their_range(site: Site) -> None:
    used = [r for r in rows("reading") if r["class_id"] == "newsprint" and r["used_in_fit"] == "1"]
    page = unescape(site.get("/-/class/newsprint").text)
    assert f"<dt>Readings in the fit</dt><dd>{len(used)}</dd>" in page
    grammages = [float(r["grammage_gsm"]) for r in used]
    assert f"{min(grammages):g} to {max(grammages):g} g/m²" in page
    bulks = [float(r["caliper_um"]) / float(r["grammage_gsm"]) for r in used]  # ISO 534
    assert f"{min(bulks):.2f} to {max(bulks):.2f} cm³/g" in page
    assert page.count('class="dot dot-0"') == len(used)


def test_leave_to_write_is_asked_for_only_where_it_is_missing(site: Site, remote: Site) -> None:
    assert "You may write here already" in site.get("/-/unlock").text
    assert 'type="password"' in remote.get("/-/unlock").text
    wrong = remote.post("/-/unlock", data={"csrftoken": remote.token("/-/unlock"), "secret": "seven bells and a half"})
    assert wrong.status_code == 403
    assert "not the secret" in wrong.text
    assert "seven bells and a half" not in wrong.text


@pytest.mark.parametrize(
    ("path", "status"),
    [("/-/nowhere", 404), ("/-/class/seaweed", 404), ("/-/samples/nobody", 404), ("/-/samples?start=x", 400)],
)
def test_trouble_is_one_sentence_on_a_page_or_in_json(site: Site, path: str, status: int) -> None:
    page = site.get(path)
    assert page.status_code == status
    assert page.headers["content-type"].startswith("text/html")
    assert page.text.count('role="alert"') == 1
    assert "Traceback" not in page.text
    where, _, query = path.partition("?")
    if where in ("/-/samples/nobody", "/-/samples"):
        twin = site.get(f"{where}.json?{query}")
        assert (twin.status_code, twin.json()["ok"]) == (status, False)
        assert "\n" not in twin.json()["error"]


def test_what_a_page_does_not_take_is_told_with_what_it_takes(site: Site) -> None:
    # RFC 9110, 15.5.6: an answer of 405 names the methods in Allow.
    for path, allowed in (("/-/pile", {"GET", "HEAD"}), ("/-/samples.json", {"GET", "HEAD", "POST"})):
        for method in ("put", "delete", "patch"):
            answer = site.loop.run_until_complete(getattr(site.client, method)(path))
            assert answer.status_code == 405
            assert set(answer.headers["allow"].split(", ")) == allowed
    assert site.post("/-/pile", data={"csrftoken": site.token()}).status_code == 405


def test_a_fault_of_the_program_is_no_bad_request_and_tells_nothing(
    site: Site, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    from matref.api import Workshop

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the secret of the compass locker")

    monkeypatch.setattr(Workshop, "find", broken)
    for path in ("/-/find?q=linen", "/-/find.json?q=linen"):
        answer = site.get(path)
        assert answer.status_code == 500
        assert "compass locker" not in answer.text
        assert str(site.place) not in answer.text
        assert "compass locker" in capfd.readouterr().err, "who started matref can see what it was"


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        (100.02147, 0.00035, "100.0215 ± 0.0003"),  # GUM 7.2.2: 100,021 47 g with 0,35 mg; one digit from 3.55 up
        (10.05762, 0.027, "10.058 ± 0.027"),  # GUM 7.2.6
        (1234.0, 56.0, "1230 ± 60"),
        (9.0, 0.0, "9"),
    ],
)
def test_values_with_their_uncertainty(value: float, u: float, shown: str) -> None:
    said = give_or_take(value, u)
    numbers, wanted = (tuple(map(float, text.split(" ± "))) for text in (said, shown))
    assert numbers == pytest.approx(wanted, abs=1.01e-4 if u < 0.001 else 0)


def test_lengths_in_inches_are_the_same_lengths() -> None:
    spine = Estimate(9.0, 8.2, 10.4)
    in_mm, in_inches = length(spine, "mm"), length(spine, "in")
    assert in_mm == "9.0 mm (8.2 to 10.4)"
    assert [float(n) * 25.4 for n in re.findall(r"[\d.]+", in_inches)] == pytest.approx([9.0, 8.2, 10.4], abs=0.15)
    assert caliper(Estimate(101.6, 99.06, 104.14), "in").startswith("4.00 thousandths")
    assert size(210, 297, "mm") == "210 × 297 mm"
    assert size(215.9, 355.6, "in") == "8 1/2 × 14 in"  # legal
