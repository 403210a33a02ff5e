"""Thread and needle numbers against pint's definitions, GNU units, and published equivalences."""

# ruff: noqa: F401, F811 - fixtures are imported by name

from __future__ import annotations

import math
import sqlite3
from typing import Any

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packaged_catalogue import catalogue

from matref.catalogue.convert import convert, readings
from matref.catalogue.rows import fetch
from matref.errors import BadInput

UREG: Any = pint.UnitRegistry()


def tex_by_pint(length_per_mass: str, count: float, plies: int = 1) -> float:
    """Linear density by pint, from the length of one strand that weighs a unit of mass."""
    return float((plies / (count * UREG(length_per_mass))).to("g/km").magnitude)


@pytest.mark.parametrize(
    ("text", "definition", "count", "plies"),
    [
        ("Ne 40/2", "840 yard / pound", 40, 2),
        ("40s/2", "840 yard / pound", 40, 2),
        ("Ne40/2", "840 yard / pound", 40, 2),
        ("40/2 cotton", "840 yard / pound", 40, 2),
        ("cotton 40/2", "840 yard / pound", 40, 2),
        ("Ne 60", "840 yard / pound", 60, 1),
        ("18/3 linen", "300 yard / pound", 18, 3),
        ("linen 18/3", "300 yard / pound", 18, 3),
        ("linen thread 18/3", "300 yard / pound", 18, 3),
        ("18/3 linen lea", "300 yard / pound", 18, 3),
        ("NeL 25/3", "300 yard / pound", 25, 3),
        ("16 lea", "300 yard / pound", 16, 1),
        ("30 worsted count", "560 yard / pound", 30, 1),
        ("Nm 80/2", "1000 metre / kilogram", 80, 2),
        ("Nm 9.5", "1000 metre / kilogram", 9.5, 1),
    ],
)
def test_counts_that_rise_as_the_thread_gets_finer(
    catalogue: sqlite3.Connection, text: str, definition: str, count: float, plies: int
) -> None:
    found = convert(catalogue, text)
    assert found["value"] == pytest.approx(tex_by_pint(definition, count, plies), rel=1e-9)
    assert (found["unit"], found["exact"]) == ("tex", True)


@pytest.mark.parametrize(
    ("text", "tex"),
    [
        ("30 tex", 30.0),
        ("tex 30", 30.0),
        ("T-40", 40.0),
        ("T40", 40.0),
        ("dtex 300", 30.0),
        ("210 den", 210 / 9),
        ("210 denier", 210 / 9),
        ("210d/3 nylon", 210 / 3),
        ("den 90", 10.0),
    ],
)
def test_counts_that_rise_as_the_thread_gets_thicker(catalogue: sqlite3.Connection, text: str, tex: float) -> None:
    """By definition: tex g in 1000 m, denier g in 9000 m (ISO 1144; pint, GNU units)."""
    found = convert(catalogue, text)
    assert found["value"] == pytest.approx(tex, rel=1e-9)
    assert found["exact"]


@pytest.mark.parametrize(("factor", "text"), [(590.5412, "Ne 1"), (1653.5155, "1 lea"), (1000.0, "Nm 1")])
def test_factors_of_gnu_units(catalogue: sqlite3.Connection, factor: float, text: str) -> None:
    assert convert(catalogue, text)["value"] == pytest.approx(factor, rel=1e-7)


@pytest.mark.parametrize(("number", "yards_per_lb"), [(16, 4800), (50, 15_000)])
def test_linen_numbers_of_a_binders_dictionary(catalogue: sqlite3.Connection, number: int, yards_per_lb: int) -> None:
    """Roberts & Etherington 1982, 'sewing thread': yards in a pound of number 16 and number 50."""
    tex = convert(catalogue, f"{number} lea")["value"]
    assert tex == pytest.approx(tex_by_pint("yard / pound", yards_per_lb), rel=1e-9)


@pytest.mark.parametrize(
    ("text", "tex"), [("metric ticket 75", 40), ("metric ticket 120", 25), ("cotton ticket 60", 29.5)]
)
def test_ticket_numbers_of_the_trade(catalogue: sqlite3.Connection, text: str, tex: float) -> None:
    """onlineclothingstudy.com 2013 (tex 40 is ticket 75; Nm 80/2 is 120); garmentsmerchandising.com (Ne 40/2 is 60)."""
    assert convert(catalogue, text)["value"] == pytest.approx(tex, rel=2e-3)


def test_a_ticket_may_be_metric_or_cotton(catalogue: sqlite3.Connection) -> None:
    """3 x Nm against 3 x Ne: the same figure, two sizes of thread."""
    for text in ("Tkt 40", "ticket 40", "tkt40", "40 Tkt"):
        found = convert(catalogue, text)
        assert found["value"] == pytest.approx(75.0)
        assert found["also"][0]["value"] == pytest.approx(3 * 590.5412 / 40, rel=1e-7)
        assert (found["low"], found["high"]) == (found["also"][0]["value"], found["value"])
    (only,) = readings(catalogue, "40 Tkt cotton")
    assert only.value == pytest.approx(44.2906, rel=1e-5)


def test_embroidery_weight_has_two_meanings(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "40 wt")
    values = {found["value"], *(other["value"] for other in found["also"])}
    assert {round(value, 1) for value in values} == {25.0, 29.5}


def test_linen_may_be_lea_or_metric(catalogue: sqlite3.Connection) -> None:
    """J. Peachey 2019: the English lea and the metric number of linen look alike."""
    found = convert(catalogue, "18/3 linen")
    (metric,) = (other for other in found["also"] if other["entry"] == "count_system:nm")
    assert metric["value"] == pytest.approx(tex_by_pint("1000 metre / kilogram", 18, 3))
    assert found["value"] / metric["value"] == pytest.approx(1.6535, abs=1e-4)
    assert (found["low"], found["high"]) == (metric["value"], found["value"])
    assert found["source"]["id"] != metric["source"]["id"]


def test_naming_the_system_leaves_one_reading(catalogue: sqlite3.Connection) -> None:
    assert len(readings(catalogue, "18/3 lea")) == 1
    assert len(readings(catalogue, "Nm 18/3 linen")) == 1


def test_makers_differ_on_the_cotton_count(catalogue: sqlite3.Connection) -> None:
    """mlthread.com 2018: 583.1 for cotton, 588 for blends, where the definition gives 590.5."""
    found = convert(catalogue, "Ne 40")
    assert found["low"] == pytest.approx(583.1 / 40)
    assert found["high"] == pytest.approx(590.5412 / 40, rel=1e-6)
    assert {other["exact"] for other in found["also"]} == {False}


def test_a_bare_count_is_read_by_what_is_listed_under_it(catalogue: sqlite3.Connection) -> None:
    assert convert(catalogue, "18/3")["entry"] == "count_system:lea"
    assert convert(catalogue, "40/2")["entry"] == "count_system:ne"
    assert len(convert(catalogue, "18/3")["also"]) >= 2


@pytest.mark.parametrize("text", ["18/3 linen", "25/3 linen", "60/3 linen", "Ne 40/2", "Nm 80/2", "210 den nylon"])
def test_diameter_is_that_of_a_round_thread(catalogue: sqlite3.Connection, text: str) -> None:
    """Mass of a metre = density x area, worked here in SI from the fibre's own row."""
    found = convert(catalogue, text)
    diameter = found["diameter_mm"]
    (reference,) = diameter["rests_on"]
    (fibre,) = fetch(catalogue, "SELECT * FROM fibre WHERE id = ?", (reference.removeprefix("fibre:"),))
    for end, density in [("value", ""), ("low", "_high"), ("high", "_low")]:
        area_m2 = math.pi * (diameter[end] / 1000) ** 2 / 4
        kg_m3 = 1000 * fibre[f"yarn_density{density}_g_cm3"]
        assert area_m2 * kg_m3 == pytest.approx(found["value"] * 1e-6, rel=1e-9)
    assert diameter["low"] < diameter["value"] < diameter["high"]


def test_diameters_agree_with_published_ones(catalogue: sqlite3.Connection) -> None:
    """Linen 100/3 at 0.012 in (98905.com) and lace 80/2 at 30 turns a cm (textileschool.com) within the range;

    cotton by Peirce, d = 1/(28 sqrt(Ne)) in.
    """
    for text, mm in [("100/3 linen", 0.305), ("80/2 linen", 10 / 30), ("35/2 linen", 0.5)]:
        diameter = convert(catalogue, text)["diameter_mm"]
        assert diameter["low"] <= mm <= diameter["high"] * 1.01
    for count in (15, 40, 60):
        diameter = convert(catalogue, f"Ne {count}")["diameter_mm"]
        assert diameter["value"] == pytest.approx(25.4 / (28 * math.sqrt(count)), rel=0.01)


def test_tex_alone_names_no_fibre(catalogue: sqlite3.Connection) -> None:
    """Tex is for every fibre (ISO 1144), so the diameter spans them all."""
    anyone = convert(catalogue, "30 tex")["diameter_mm"]
    silk = convert(catalogue, "30 tex silk")["diameter_mm"]
    assert anyone["low"] < silk["low"] < silk["high"] < anyone["high"]
    assert len(anyone["rests_on"]) > len(silk["rests_on"]) == 1


def test_the_other_counts_of_the_same_thread(catalogue: sqlite3.Connection) -> None:
    counts = convert(catalogue, "30 tex")["other_counts"]
    assert counts["denier"] == pytest.approx(270)
    assert counts["English cotton count"] == pytest.approx(590.5412 / 30, rel=1e-7)
    assert counts["metric ticket"] == pytest.approx(100)


def test_a_size_name_of_bonded_thread(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "bonded thread size 69")
    assert found["value"] == pytest.approx(convert(catalogue, "V-69")["value"], rel=1e-4)
    assert not found["exact"]


@settings(deadline=None)
@given(count=st.floats(2, 999).map(lambda x: round(x, 2)), plies=st.integers(1, 12))
def test_plies_multiply(catalogue: sqlite3.Connection, count: float, plies: int) -> None:
    one, many = (readings(catalogue, f"Nm {count}/{n}") for n in (1, plies))
    assert float(str(many[0].value)) == pytest.approx(plies * float(str(one[0].value)))


@pytest.mark.parametrize("text", ["18/0 linen", "18/99 linen", "0/3 linen", "18/3 moonbeam", "1/2", "tex"])
def test_no_thread(catalogue: sqlite3.Connection, text: str) -> None:
    with pytest.raises(BadInput):
        convert(catalogue, text)


PAIRS = {60: 8, 65: 9, 70: 10, 75: 11, 80: 12, 85: 13, 90: 14, 95: 15, 100: 16, 105: 17, 110: 18, 120: 19, 130: 21}


@pytest.mark.parametrize(("metric", "us"), PAIRS.items())
def test_needles_both_ways(catalogue: sqlite3.Connection, metric: int, us: int) -> None:
    """The metric number is the blade in 1/100 mm; pairs as in needle makers' tables."""
    spoken = [f"needle {metric}", f"needle {metric}/{us}", f"needle {us}/{metric}", f"US {us} needle", f"needle {us}"]
    for text in (*spoken, f"{metric}/{us}", f"{metric}", f"machine needle Nm {metric}", f"needle size {us}"):
        found = convert(catalogue, text)
        assert (found["value"], found["unit"]) == (metric / 100, "mm"), text
        assert (found["metric_number"], found["us_number"]) == (metric, us)
        assert found["exact"]


def test_the_rule_for_needles_below_us_19(catalogue: sqlite3.Connection) -> None:
    """shoemaking.wiki prints the rule: metric = 60 + 5 (US - 8), for US numbers below 19."""
    for us in range(8, 19):
        found = convert(catalogue, f"needle US {us}")
        assert found["metric_number"] == 60 + 5 * (us - 8)


def test_tables_differ_on_us_17(catalogue: sqlite3.Connection) -> None:
    """Some tables pair 110 with US 17; the rule gives 105."""
    found = convert(catalogue, "needle 17")
    assert (found["value"], found["low"], found["high"]) == (1.05, 1.05, 1.1)
    assert found["also"][0]["note"]


def test_needles_out_of_the_list(catalogue: sqlite3.Connection) -> None:
    assert convert(catalogue, "needle 92")["value"] == 0.92
    assert convert(catalogue, "chenille needle 18")["value"] == 1.24  # an encyclopaedia's chart of hand needles
    for text in ("needle", "needle 7000", "needle 14 for elephants", "needle 3"):
        with pytest.raises(BadInput):
            convert(catalogue, text)
