"""Sheet sizes against the rule of ISO 216 and 269 and a library; cloth ounces and board numbers."""

# ruff: noqa: F401, F811 - fixtures are imported by name

from __future__ import annotations

import sqlite3

import papersize
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packaged_catalogue import catalogue, scratch

from matref.catalogue.conversion.sheet import fold_size
from matref.catalogue.convert import convert, readings
from matref.catalogue.grades import sheet_sizes
from matref.errors import BadInput
from matref.quantities import parse_size

IN = 25.4


def series(width: int, height: int) -> list[tuple[int, int]]:
    """Sizes 0 to 10 of an ISO series: the longer side halved, rounded down to the mm (ISO 216, 3.1)."""
    sizes = [(width, height)]
    for _ in range(10):
        width, height = height // 2, width
        sizes.append((width, height))
    return sizes


def test_no_phrase_is_said_twice(catalogue: sqlite3.Connection) -> None:
    """Every name of a sheet is read, and its name, system and period are told without saying a phrase again."""
    assert convert(catalogue, "medium")["meaning"] == "Medium, British traditional, before metric sizes"
    for name, system, period in catalogue.execute("SELECT name, system, period FROM sheet_size").fetchall():
        meanings = [reading.meaning for reading in readings(catalogue, name) if reading.unit == "mm"]
        said = [[phrase.strip().casefold() for phrase in meaning.split(",")] for meaning in meanings]
        assert all(len(set(phrases)) == len(phrases) for phrases in said), meanings
        assert not any(phrases[-2].endswith(f" {phrases[-1]}") for phrases in said if len(phrases) > 1), meanings
        assert any(text.startswith(name) and period.rpartition(", ")[2] in text for text in meanings), (name, system)


@pytest.mark.parametrize(("letter", "first"), [("a", (841, 1189)), ("b", (1000, 1414)), ("c", (917, 1297))])
def test_iso_216_and_269(catalogue: sqlite3.Connection, letter: str, first: tuple[int, int]) -> None:
    sizes = sheet_sizes(catalogue)
    for number, size in enumerate(series(*first)):
        assert sizes[f"{letter}{number}"] == size
        found = convert(catalogue, f"{letter.upper()}{number}")
        assert (found["value"], found["unit"], found["exact"]) == (list(size), "mm", True)
        assert (found["width_mm"], found["height_mm"]) == size
        assert all("slip" in other["note"] for other in found.get("also", []))


def test_a_printed_slip_is_kept_but_comes_last(catalogue: sqlite3.Connection) -> None:
    """One library has B4 as 250 x 352: ISO 216 halves B3, 353 x 500."""
    found = convert(catalogue, "B4")
    assert found["value"] == [250, 353]
    assert (found["also"][-1]["value"], found["also"][-1]["exact"]) == ([250, 352], False)


def test_against_a_library_of_paper_sizes(catalogue: sqlite3.Connection) -> None:
    """papersize 1.6.1 agrees but for known slips: its B4 is 250 x 352 where ISO 216 has 353; executive varies."""
    sizes = sheet_sizes(catalogue)
    compared = []
    for name in papersize.SIZES:
        if name in sizes and name not in ("b4", "executive"):
            theirs = sorted(float(side) for side in papersize.parse_papersize(name, "mm"))
            assert sorted(sizes[name]) == pytest.approx(theirs, abs=0.06), name
            compared.append(name)
    assert len(compared) >= 35
    assert sizes["b4"] == (250, 353)


@pytest.mark.parametrize(
    ("text", "inches"),
    [("letter", (8.5, 11)), ("US letter", (8.5, 11)), ("legal", (8.5, 14)), ("double crown", (20, 30))],
)
def test_sizes_in_inches(catalogue: sqlite3.Connection, text: str, inches: tuple[float, float]) -> None:
    """GNU units (letter, legal); Cockerell 1901, list of printing papers (double crown)."""
    assert convert(catalogue, text)["value"] == pytest.approx([side * IN for side in inches])


def test_medium_has_several_sizes(catalogue: sqlite3.Connection) -> None:
    """18 x 23 in by most lists, 19 x 24 in Cockerell 1901, 17 x 22 for drawing paper in Spon 1886."""
    found = convert(catalogue, "medium")
    sizes = [tuple(side / IN for side in r["value"]) for r in (found, *found["also"])]
    for size in [(18, 23), (19, 24), (17, 22)]:
        assert any(size == pytest.approx(listed) for listed in sizes)
    assert found["low"] == pytest.approx([17 * IN, 22 * IN])
    assert found["high"] == pytest.approx([19 * IN, 24 * IN])
    for reading in (found, *found["also"]):
        assert reading["period"]
        assert reading["source"]["title"]


def test_foolscap_is_a_sheet_and_a_cut_office_size(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "foolscap")
    assert found["value"] == pytest.approx([13.5 * IN, 17 * IN])
    assert found["low"][0] < 8.1 * IN
    assert found["width_mm"] == pytest.approx(13.5 * IN)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("crown octavo", (5, 7.5)),
        ("crown 8vo", (5, 7.5)),
        ("8vo crown", (5, 7.5)),
        ("demy octavo", (5.625, 8.75)),
        ("royal octavo", (6.25, 10)),
        ("crown quarto", (7.5, 10)),
        ("royal quarto", (10, 12.5)),
        ("crown folio", (10, 15)),
        ("crown 16mo", (3.75, 5)),
    ],
)
def test_folds_of_a_sheet(catalogue: sqlite3.Connection, text: str, inches: tuple[float, float]) -> None:
    """Untrimmed page sizes of the British trade: crown octavo 7 1/2 x 5 in, demy 8 3/4 x 5 5/8, royal 10 x 6 1/4."""
    found = convert(catalogue, text)
    assert found["value"] == pytest.approx([side * IN for side in inches])
    assert "worked out" in found["note"]


def test_a_printed_folded_size_comes_before_the_worked_out_one(catalogue: sqlite3.Connection) -> None:
    """The office 'foolscap folio' of 8 x 13 in is not the half sheet of 8 1/2 x 13 1/2."""
    found = readings(catalogue, "foolscap folio")
    assert found[0].value == pytest.approx((8 * IN, 13 * IN))
    assert any(r.value == pytest.approx((8.5 * IN, 13.5 * IN)) and "worked out" in r.note for r in found)
    assert not any("folio of Foolscap folio" in r.meaning for r in found)


@given(st.floats(10, 2000), st.floats(10, 2000), st.integers(0, 6))
def test_folding_halves_the_area_and_keeps_the_page_upright(width: float, height: float, folds: int) -> None:
    short, long = fold_size(width, height, folds)
    assert short <= long
    assert short * long * 2**folds == pytest.approx(width * height)


def test_sheet_sizes_serve_the_parser_of_sizes(catalogue: sqlite3.Connection) -> None:
    sizes = sheet_sizes(catalogue)
    assert all(name == name.lower() and width > 0 < height for name, (width, height) in sizes.items())
    size = parse_size("A5", sizes)
    assert (size.width_mm, size.height_mm) == (148, 210)
    assert parse_size("Foolscap", sizes).width_mm == pytest.approx(13.5 * IN)
    assert parse_size("US Letter", sizes).height_mm == pytest.approx(11 * IN)


@pytest.mark.parametrize(("number", "ounces"), [(1, 18), (6, 13), (8, 11), (10, 9), (12, 7)])
def test_numbered_duck(catalogue: sqlite3.Connection, number: int, ounces: int) -> None:
    """sizes.com: the number is 19 less the ounces of a piece 36 x 22 in; 1/0 weighs 19 oz and so on."""
    gsm = ounces * 28.349523125 / (36 * 22 * 0.0254**2)
    for text in (f"No. {number} duck", f"duck {number}", f"#{number} duck"):
        found = convert(catalogue, text)
        assert (found["value"], found["unit"]) == (pytest.approx(gsm, rel=1e-3), "g/m2")
    assert convert(catalogue, "2/0 duck")["value"] == pytest.approx(20 / ounces * gsm, rel=1e-3)


def test_a_shop_states_duck_by_the_square_yard(catalogue: sqlite3.Connection) -> None:
    found = convert(catalogue, "No. 12 duck")
    assert (found["low"], found["high"]) == (pytest.approx(388.4, abs=0.1), pytest.approx(389.9, abs=0.1))


def test_denim_ounces_may_be_by_the_running_yard(scratch: sqlite3.Connection) -> None:
    """thefabricindex.com: 14 oz is about 475 g/m², and by tradition a yard of cloth 28 to 36 in wide."""
    with scratch:
        scratch.execute("UPDATE rule SET low = 711.2, high = 914.4, unit = 'mm' WHERE id = 'cloth.denim.basis_linear'")
    found = convert(scratch, "14 oz denim")
    assert found["value"] == pytest.approx(475, abs=1)
    assert found["exact"]
    running = next(other for other in found["also"] if "running yard" in other["meaning"])
    ounces_g = 14 * 28.349523125
    assert running["low"] == pytest.approx(ounces_g / (0.9144 * 36 * 0.0254))
    assert running["high"] == pytest.approx(ounces_g / (0.9144 * 28 * 0.0254))
    assert found["high"] == running["high"]
    assert not running["exact"]
    assert "running yard" in convert(scratch, "14 oz per running yard denim")["meaning"]


def test_suiting_ounces(catalogue: sqlite3.Connection) -> None:
    """thelondonlounge.net: suiting ounces are for a piece 36 x 58 in."""
    running = next(r for r in readings(catalogue, "16 oz suiting") if "running yard" in r.meaning)
    assert running.value == pytest.approx(16 * 28.349523125 / (36 * 58 * 0.0254**2))


def test_sailcloth_and_duck_have_ounces_of_their_own(catalogue: sqlite3.Connection) -> None:
    """GNU units: the sailmaker's ounce is of a piece 28 1/2 x 36 in."""
    sail = convert(catalogue, "8 oz sailcloth")
    assert sail["value"] == pytest.approx(8 * 28.349523125 / (28.5 * 36 * 0.0254**2))
    assert sail["also"][0]["value"] == pytest.approx(8 * 33.90575, rel=1e-6)
    duck = convert(catalogue, "10 oz duck")
    assert (duck["low"], duck["high"]) == (pytest.approx(339.06, abs=0.01), pytest.approx(554.82, abs=0.01))


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("No. 20 board", 50 / 20 * 453.59237 / (20 * 30 * 0.0254**2), "g/m2"),  # Bailey 1916: 20 boards to 50 lb
        ("board 12", 50 / 12 * 453.59237 / (20 * 30 * 0.0254**2), "g/m2"),
        ("8 oz strawboard", 0.5 * 453.59237 / (30 * 25 * 0.0254**2), "g/m2"),  # Dawe 1914: 30 x 25 in
        ("8x millboard", 56 / 60 * 453.59237 / (17.25 * 14.25 * 0.0254**2), "g/m2"),  # Zaehnsdorf 1890, pott
        ("greyboard 2.0 mm", 2000.0, "um"),
    ],
)
def test_board_numbers(catalogue: sqlite3.Connection, text: str, value: float, unit: str) -> None:
    found = convert(catalogue, text)
    assert (found["value"], found["unit"]) == (pytest.approx(value, rel=1e-3), unit)


def test_cover_card_by_the_point_has_a_tolerance(catalogue: sqlite3.Connection) -> None:
    """US government specifications JCP L70: 0.010 in within 0.0008 in."""
    found = convert(catalogue, "10 pt cover")
    assert (found["value"], found["exact"]) == (254.0, True)
    assert (found["low"], found["high"]) == (234.0, 274.0)


@pytest.mark.parametrize("text", ["board", "duck", "14 oz", "20 parrots", "octavo of nothing"])
def test_no_list_knows_these(catalogue: sqlite3.Connection, text: str) -> None:
    if text == "14 oz":
        assert convert(catalogue, text)["unit"] == "g"
        return
    with pytest.raises(BadInput):
        convert(catalogue, text)


@settings(deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_answered_or_refused(catalogue: sqlite3.Connection, text: str) -> None:
    try:
        found = convert(catalogue, text)
    except BadInput:
        return
    assert {"input", "meaning", "value", "unit", "exact", "source"} <= set(found)


NUMBERS = st.sampled_from(["0", "1", "2/0", "18/3", "0.5", "1e9", "1e30", "9" * 150, "½", "20", "90/14", "-1", "1,5"])
WORDS = st.sampled_from(
    [
        "lb",
        "#",
        "bond",
        "oz",
        "denim",
        "linen",
        "Ne",
        "tex",
        "pt",
        "mm",
        "needle",
        "duck",
        "board",
        "octavo",
        "x",
        "per",
    ]
)


@settings(deadline=None)
@given(st.lists(NUMBERS | WORDS, max_size=5).map(" ".join))
def test_any_mixture_of_known_words_and_numbers(catalogue: sqlite3.Connection, text: str) -> None:
    try:
        found = convert(catalogue, text)
    except BadInput:
        return
    assert found["source"]["id"]
    for reading in (found, *found.get("also", [])):
        values = reading["value"] if isinstance(reading["value"], list) else [reading["value"]]
        assert all(value > 0 for value in values)
