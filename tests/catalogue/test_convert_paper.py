"""Basis weights, mass per area, thickness and lengths, against published factors and general unit libraries.

GNU units 3.15 prints the factors of the basic sizes (also in its definitions.units: `poundcoverpaper` and so
on); pint is an independent registry of units.
"""

# ruff: noqa: F401, F811 - fixtures are imported by name

from __future__ import annotations

import sqlite3
from typing import Any

import pint
import pytest
from basic_sizes import GNU_UNITS
from packaged_catalogue import catalogue

from matref.catalogue.convert import convert, readings
from matref.catalogue.grades import basis_factors
from matref.catalogue.rows import fetch
from matref.errors import BadInput
from matref.quantities import parse_grammage


@pytest.fixture(scope="module")
def ureg() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("grade", "width", "height", "factor"), [(g, *v) for g, v in GNU_UNITS.items()])
def test_basis_factors_are_those_of_gnu_units_and_pint(
    catalogue: sqlite3.Connection, ureg: Any, grade: str, width: float, height: float, factor: float
) -> None:
    ours = basis_factors(catalogue)[grade]
    assert ours == pytest.approx(factor, abs=6e-7)
    area = (width * ureg.inch) * (height * ureg.inch) * 500
    assert ours == pytest.approx((ureg.pound / area).to("g/m^2").magnitude, rel=1e-6)


def test_every_basis_factor_follows_from_its_own_sheet_and_ream(catalogue: sqlite3.Connection, ureg: Any) -> None:
    rows = [row for row in fetch(catalogue, "SELECT * FROM basis_size") if "width_in" in row]
    assert len(rows) > 15
    for row in rows:
        area = (row["width_in"] * ureg.inch) * (row["height_in"] * ureg.inch) * row["sheets"]
        assert row["gsm_per_lb"] == pytest.approx((ureg.pound / area).to("g/m^2").magnitude, rel=1e-6), row["id"]


@pytest.mark.parametrize(
    ("text", "gsm"),
    [
        ("20 lb bond", 75.19460),
        ("20# bond paper", 75.19460),
        ("bond 20 lb", 75.19460),
        ("20lb copy", 75.19460),
        ("80# text", 118.41168),
        ("50 lb text", 74.0073),
        ("65lb cover", 175.76741),
        ("80 lb cover stock", 216.32912),
        ("100 lb cover", 270.4114),
        ("110 lb index", 198.87538),
        ("90 lb offset", 133.21314),
        ("30 lb newsprint", 48.82428),
        ("100 lbs bristol", 219.2810),
    ],
)
def test_pounds_of_a_grade(catalogue: sqlite3.Connection, text: str, gsm: float) -> None:
    found = convert(catalogue, text)
    assert found["value"] == pytest.approx(gsm, rel=1e-6)
    assert (found["unit"], found["exact"], found["input"]) == ("g/m2", True, text)
    assert "low" not in found
    assert found["source"]["title"].startswith("GNU units")


@pytest.mark.parametrize(
    ("text", "printed"), [("100 lb cover", 270.42), ("90 lb offset", 133.218), ("50 lb cover", 135), ("50 lb text", 74)]
)
def test_worked_examples_of_paper_merchants(catalogue: sqlite3.Connection, text: str, printed: float) -> None:
    """Xerox paper guide, tables A-1 and A-2 (first two); timesprinters.com conversion factors (last two)."""
    assert convert(catalogue, text)["value"] == pytest.approx(printed, rel=0.002)


def test_tag_has_two_basic_sizes_a_third_apart(catalogue: sqlite3.Connection) -> None:
    """Xerox paper guide: 24 x 36 and 22 1/2 x 28 1/2 in are both in use for tag."""
    found = convert(catalogue, "100 lb tag")
    assert found["value"] == pytest.approx(162.7476, rel=1e-6)
    assert (found["low"], found["high"]) == (pytest.approx(162.7476, rel=1e-6), pytest.approx(219.2810, rel=1e-6))
    assert [other["source"]["id"] for other in found["also"]] != [found["source"]["id"]]


@pytest.mark.parametrize(
    ("text", "gsm"),
    [("38 lb demy", 141.4), ("7 lb foolscap", 44.7), ("11 lb large post", 46.5), ("24 lb account-book demy", 113.4)],
)
def test_british_reams_of_480(catalogue: sqlite3.Connection, text: str, gsm: float) -> None:
    """Weights of blotting, bank and account-book papers in Dawe, Paper and Its Uses (1914), in g/m² by arithmetic."""
    assert convert(catalogue, text)["value"] == pytest.approx(gsm, abs=0.06)


def test_a_ream_of_demy_may_hold_480_500_or_516(catalogue: sqlite3.Connection) -> None:
    found = readings(catalogue, "38 lb demy")
    assert [round(float(str(reading.value)), 1) for reading in found] == [141.4, 135.7, 131.5]


def test_pounds_without_a_grade_are_every_current_grade(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "20 lb")
    assert found["value"] == pytest.approx(75.1946, rel=1e-6)
    meanings = " | ".join(other["meaning"] for other in found["also"])
    assert all(grade in meanings for grade in ("book", "cover", "index", "tag", "pound"))
    assert found["low"] < 30


def test_grammage_to_pounds_of_each_grade(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "75 gsm")
    assert (found["unit"], found["exact"]) == ("lb bond", True)
    assert found["value"] == pytest.approx(75 / 3.759730, rel=1e-6)
    pounds = {other["unit"]: other["value"] for other in found["also"]}
    assert pounds["lb book"] == pytest.approx(75 / 1.480146, rel=1e-6)
    assert pounds["lb cover"] == pytest.approx(75 / 2.704114, rel=1e-6)
    assert pounds["oz/yd2"] == pytest.approx(75 / 33.90575, rel=1e-6)
    assert "low" not in found  # other units, no disagreement


@pytest.mark.parametrize("text", ["75 gsm", "75 g/m2", "75 g/m²", "75g/m^2", "75 g"])
def test_spellings_of_grammage(catalogue: sqlite3.Connection, text: str) -> None:
    assert convert(catalogue, text)["value"] == convert(catalogue, "75 gsm")["value"]


@pytest.mark.parametrize("gsm", [45.0, 80.0, 216.33])
@pytest.mark.parametrize("grade", sorted(GNU_UNITS))
def test_there_and_back(catalogue: sqlite3.Connection, grade: str, gsm: float) -> None:
    pounds = next(r.value for r in readings(catalogue, f"{gsm} gsm") if r.unit == f"lb {grade}")
    assert convert(catalogue, f"{pounds!r} lb {grade}")["value"] == pytest.approx(gsm, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("4 oz/yd2", "ounce / yard^2"),
        ("4 oz per square yard", "ounce / yard^2"),
        ("4 ounces per sq yd", "ounce / yard^2"),
        ("4 lb/1000 ft2", "pound / (1000 foot^2)"),
        ("4 lb/msf", "pound / (1000 foot^2)"),
        ("4 lb/3000 ft2", "pound / (3000 foot^2)"),
    ],
)
def test_mass_per_area(catalogue: sqlite3.Connection, ureg: Any, text: str, unit: str) -> None:
    found = convert(catalogue, text)
    assert found["value"] == pytest.approx((4 * ureg(unit)).to("g/m^2").magnitude, rel=1e-9)
    assert (found["unit"], found["exact"]) == ("g/m2", True)


@pytest.mark.parametrize(
    ("text", "um"),
    [
        ("10 pt", 254.0),
        ("10 points", 254.0),
        ("10 mil", 254.0),
        ("10 thou", 254.0),
        ("4.0 mil", 101.6),
        ("24 pt chipboard", 609.6),
        ("3 irons", 1587.5),
        ("4 oz leather", 1587.5),
        ("leather 4 oz", 1587.5),
    ],
)
def test_thickness(catalogue: sqlite3.Connection, text: str, um: float) -> None:
    """GNU units: pointthickness and mil 0.001 in, shoeiron 1/48 in, shoeounce 1/64 in. Neither type nor angle."""
    found = convert(catalogue, text)
    assert found["value"] == pytest.approx(um, rel=1e-9)
    assert (found["unit"], found["exact"]) == ("um", True)
    assert found["thickness_mm"] == pytest.approx(um / 1000)
    assert found["thickness_in"] == pytest.approx(um / 25_400)


def test_a_board_point_is_not_the_printers(catalogue: sqlite3.Connection, ureg: Any) -> None:
    """pint's point is the printer's 1/72 in and its mil an angle: the trap this test is about."""
    assert convert(catalogue, "10 pt")["thickness_mm"] != pytest.approx((10 * ureg.point).to("mm").magnitude, rel=0.1)
    assert convert(catalogue, "10 pt")["thickness_mm"] == pytest.approx((10 * ureg.thou).to("mm").magnitude)
    type_points = convert(catalogue, "10 typographic points")
    assert type_points["value"] == pytest.approx((10 * ureg.point).to("mm").magnitude, rel=1e-6)


def test_leather_sellers_round_the_ounce(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "4 oz leather")
    assert found["high"] == 1600.0
    rounded = next(other for other in found["also"] if other["value"] == 1600.0)
    assert not rounded["exact"]


def test_a_bare_ounce_brings_the_trades_ounces(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "4 oz")
    assert (found["value"], found["unit"]) == (pytest.approx(113.3980925), "g")
    others = {other["entry"]: other["value"] for other in found["also"]}
    assert others["unit:oz-per-yd2"] == pytest.approx(135.623, abs=0.001)
    assert others["unit:leather-ounce"] == pytest.approx(1587.5)
    assert "low" not in found


@pytest.mark.parametrize(
    ("text", "um"), [("500 ppi", 101.6), ("500 pages per inch", 101.6), ("250 sheets per inch", 101.6)]
)
def test_pages_per_inch(catalogue: sqlite3.Connection, text: str, um: float) -> None:
    """Wausau Paper, Shoptalk: 4.0 mil paper is 250 sheets, 500 pages, to the inch."""
    found = convert(catalogue, text)
    assert (found["value"], found["unit"], found["exact"]) == (pytest.approx(um), "um", True)


@pytest.mark.parametrize(("reading", "ppi"), [(0.0055, 1454), (0.008, 1000), (0.016, 500), (0.025, 320), (0.04, 200)])
def test_pages_per_inch_of_a_bulk_table(catalogue: sqlite3.Connection, reading: float, ppi: int) -> None:
    """Gould Paper, Bulk Determination Table: inches over four sheets against pages per inch."""
    assert convert(catalogue, f"{ppi} ppi")["thickness_in"] * 4 == pytest.approx(reading, rel=0.002)


def test_volume_figure(catalogue: sqlite3.Connection) -> None:
    """media54.com dictionary of printing: volume 18 is 180 µm at 100 g/m², so 1.8 cm³/g."""
    found = convert(catalogue, "volume 18")
    assert (found["value"], found["unit"]) == (1.8, "cm3/g")


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("8 1/2 in", 215.9, "mm"),
        ('8½"', 215.9, "mm"),
        ("1 ft 6 in", 457.2, "mm"),
        ("1/8 in", 3.175, "mm"),
        ("210 mm", 8.267716535, "in"),
        ("21 cm", 8.267716535, "in"),
        ("0,9 mm", 0.035433071, "in"),
    ],
)
def test_lengths_both_ways(catalogue: sqlite3.Connection, text: str, value: float, unit: str) -> None:
    found = convert(catalogue, text)
    assert (found["value"], found["unit"], found["exact"]) == (pytest.approx(value, rel=1e-8), unit, True)


def test_thin_lengths_are_also_points(catalogue: sqlite3.Connection) -> None:
    also = convert(catalogue, "0.254 mm")["also"]
    assert [(other["value"], other["unit"]) for other in also] == [(pytest.approx(10.0), "pt")]


@pytest.mark.parametrize(
    ("text", "value", "unit"), [("8.5 x 11 in", [215.9, 279.4], "mm"), ("210 × 297 mm", [8.2677, 11.6929], "in")]
)
def test_sizes_both_ways(catalogue: sqlite3.Connection, text: str, value: list[float], unit: str) -> None:
    found = convert(catalogue, text)
    assert found["value"] == pytest.approx(value, abs=1e-4)
    assert found["unit"] == unit


def test_counts_of_sheets(catalogue: sqlite3.Connection) -> None:
    """GNU units: quire 25, ream 500, shortream 480, perfectream 516 sheets."""
    for text, sheets in [("quire", 25), ("2 reams", 1000), ("short ream", 480), ("perfect ream", 516)]:
        assert (convert(catalogue, text)["value"], convert(catalogue, text)["unit"]) == (sheets, "sheets")


def test_basis_factors_serve_the_parser_of_grammages(catalogue: sqlite3.Connection) -> None:
    factors = basis_factors(catalogue)
    assert all(name == name.lower() for name in factors)
    for text in ("20 lb bond", "80# text", "cover 65 lb", "110 lb index", "20 lb copier"):
        assert parse_grammage(text, factors).value == pytest.approx(convert(catalogue, text)["value"], rel=1e-12)
    assert factors["tag"] == pytest.approx(1.627476, abs=6e-7)  # the more usual of two sizes
    assert factors["demy"] == pytest.approx(3.719945, abs=1e-5)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "nothing was typed"),
        ("1,000 mm", "comma"),
        ("-5 mm", "negative"),
        ("-5 lb bond", "negative"),
        ("0 lb bond", "outside"),
        ("5-6 mm", "one number"),
        ("20 lb widget", "grade such as bond, book, cover"),
        ("kettle of fish", "no measure"),
        ("x" * 300, "200 characters"),
    ],
)
def test_refusals_name_the_reason_and_an_example(catalogue: sqlite3.Connection, text: str, reason: str) -> None:
    with pytest.raises(BadInput, match=reason) as caught:
        convert(catalogue, text)
    assert "for example: 20 lb bond" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_misspelt_name_is_met_with_near_ones(catalogue: sqlite3.Connection) -> None:
    with pytest.raises(BadInput, match=r"near: .*[Ff]oolscap"):
        convert(catalogue, "foolscup")
