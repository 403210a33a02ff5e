from __future__ import annotations

import csv
import math
from typing import TYPE_CHECKING, Any

import pytest

from matref.catalogue.package import data_folder
from matref.web.queries import ready_queries

if TYPE_CHECKING:
    from conftest import Site


def rows(site: Site, query: str, **parameters: str) -> list[dict[str, Any]]:
    answer = site.get(f"/shelf/{query}.json", params={"_shape": "array", **parameters})
    assert answer.status_code == 200, answer.text
    found: list[dict[str, Any]] = answer.json()
    return found


def table(name: str) -> list[dict[str, str]]:
    with (data_folder() / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("query", ready_queries())
def test_runs_with_nothing_typed_and_shows_its_question(site: Site, query: str) -> None:
    assert rows(site, query)
    page = site.get(f"/shelf/{query}").text
    assert ready_queries()[query]["title"] in page
    assert "<label" in page


def test_thickness_keeps_class_and_grammage(site: Site) -> None:
    found = rows(site, "thickness", grammage_from_gsm="75", grammage_to_gsm="80,5", **{"class": "copier"})
    wanted = [r for r in table("reading.csv") if r["class_id"] == "copier" and 75 <= float(r["grammage_gsm"]) <= 80.5]
    shown = sorted((row["grammage (g/m²)"], row["caliper (µm)"]) for row in found if row["class"] == "Copier paper")
    assert shown == sorted((float(r["grammage_gsm"]), float(r["caliper_um"])) for r in wanted)
    assert all(row["estimate for the class (µm)"] > 0 for row in found)


def test_boards_touch_the_range(site: Site) -> None:
    found = {row["name"] for row in rows(site, "boards_by_thickness", thinnest_mm="2", thickest_mm="2.5")}

    def touches(row: dict[str, str]) -> bool:
        ends = [float(row[c]) for c in ("thickness_low_mm", "thickness_mm", "thickness_high_mm") if row[c]]
        exact = float(row["thickness_mm"]) if row["thickness_mm"] else None
        low, high = (exact, exact) if exact else (min(ends, default=99), max(ends, default=-1))
        return high >= 2 and low <= 2.5

    assert found == {row["name"] for row in table("board.csv") if touches(row)}


def test_thread_diameters_follow_from_tex_and_density(site: Site) -> None:
    # d = sqrt(4 tex / (pi rho)): Peirce's cotton, 1.1 cm3/g, gives d = 0.0374 sqrt(tex) mm (Peirce 1937).
    assert math.sqrt(4 * 100 / (math.pi * 1000 / 1.1)) == pytest.approx(0.0374 * 10, rel=2e-3)
    densities = {row["id"]: float(row["yarn_density_g_cm3"]) for row in table("fibre.csv")}
    threads = {row["name"]: row for row in table("thread.csv") if row["tex"] and not row["diameter_mm"]}
    checked = 0
    for row in rows(site, "threads_by_diameter"):
        stored = threads.get(row["name"])
        if stored and stored["fibre_id"] and not stored["diameter_low_mm"]:
            wanted = math.sqrt(4 * float(stored["tex"]) / (math.pi * densities[stored["fibre_id"]] * 1000))
            assert row["diameter (mm)"] == pytest.approx(wanted, abs=6e-4)
            checked += 1
    assert checked > 20


def test_looks_sheets_needles_and_rules(site: Site) -> None:
    assert any(row["class"] == "Newsprint" for row in rows(site, "what_a_class_looks_like", words="GREY"))
    # ISO 216: A4 is 210 x 297 mm.
    assert (210.0, 297.0) in {(r["width (mm)"], r["height (mm)"]) for r in rows(site, "sheet_sizes_by_name", name="A4")}
    # A machine needle's metric number is its blade in hundredths of a millimetre: 90/14 is 0.9 mm.
    needles = rows(site, "needles_by_thickness", thinnest_mm="0,89", thickest_mm="0.91", suits="machine needle")
    assert {row["number"] for row in needles if row["blade to (mm)"] is None} == {"90/14"}
    assert {row["topic"] for row in rows(site, "rules_by_topic", topic="turn-in")} == {"turn-in"}


def test_sql_in_a_parameter_stays_a_value(site: Site) -> None:
    for query in ready_queries():
        for name in site.get(f"/shelf/{query}").text.split('name="')[1:]:
            answer = site.get(f"/shelf/{query}.json", params={name.split('"')[0]: "'; drop table sample; --"})
            assert answer.status_code == 200
    assert site.count() == 0
