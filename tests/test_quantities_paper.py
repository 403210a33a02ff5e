"""Grammages and sizes: against GNU units, pint, government paper specifications and ISO 216."""

import papersize
import pint
import pytest
from basic_sizes import GNU_UNITS
from hypothesis import given
from hypothesis import strategies as st

from matref.errors import BadInput
from matref.quantities import Size, basis_factor, parse_grammage, parse_size

FACTORS = {grade: basis_factor(w * 25.4, h * 25.4) for grade, (w, h, _) in GNU_UNITS.items()}


@pytest.mark.parametrize("grade", GNU_UNITS)
def test_basis_factors_agree_with_gnu_units(grade):
    assert FACTORS[grade] == pytest.approx(GNU_UNITS[grade][2], abs=6e-7)


def test_old_reams():
    # E. A. Dawe, Paper and Its Uses (1914): 480 sheets of demy, 17 1/2 x 22 1/2 in, at 38 lb, about 141.4 g/m2.
    assert 38 * basis_factor(17.5 * 25.4, 22.5 * 25.4, sheets=480) == pytest.approx(141.4, abs=0.05)
    with pytest.raises(BadInput, match="no area"):
        basis_factor(0, 558.8)


@pytest.mark.parametrize(
    ("typed", "printed_gsm"),
    # US Government Paper Specification Standards (JCP), volume 11, 1999: D10, G15, O-63, J10, V25 (bond size),
    # A175 (book size), K10, K30 (index size), Q50 (bristol size). Metric figures there are rounded.
    [
        ("16 lb bond", 60),
        ("20 lb bond", 75),
        ("10 lb bond", 38),
        ("12 lb bond", 45),
        ("15 lb bond", 55),
        ("18 lb bond", 68),
        ("24 lb bond", 90),
        ("28 lb bond", 105),
        ("32 lb bond", 120),
        ("17.5 lb bond", 66),
        ("38 lb book", 55),
        ("90 lb index", 165),
        ("110 lb index", 200),
        ("140 lb index", 255),
        ("170 lb index", 305),
        ("125 lb index", 225),
        ("100 lb bristol", 220),
    ],
)
def test_basis_weights_agree_with_government_specifications(typed, printed_gsm):
    assert parse_grammage(typed, FACTORS).value == pytest.approx(printed_gsm, rel=0.03)


@pytest.mark.parametrize(
    "typed",
    [
        "20 lb bond",
        "20 lb. Bond",
        "20-lb bond",
        "20lb bond",
        "20 lbs bond",
        "20# bond",
        "20 # BOND",
        "bond 20 lb",
        "Bond 20#",
        "20 pounds bond",
        "20 lb bond paper",
        "２０ lb bond",
    ],
)
def test_basis_weights_as_people_write_them(typed):
    result = parse_grammage(typed, FACTORS)
    assert result.value == pytest.approx(75.1946, abs=1e-4)
    assert result.resolution == pytest.approx(3.75973, abs=1e-5)
    assert "basis weight of bond" in result.note


@pytest.mark.parametrize(
    "typed",
    [
        "80",
        "80 g/m2",
        "80 g/m²",
        "80 g/m^2",
        "80gsm",
        "80 GSM",
        "80 g / m2",
        "80 g per m2",
        "80 g/sq m",
        "80 g",
        "80 g/㎡",
        "80 grams per square metre",
        "80 grammes per sq. meter",
        "80,0 g/sqm",
        "80 g m-2",
        "80 gm2",
        80,
        80.0,
    ],
)
def test_metric_grammages_as_people_write_them(typed):
    assert parse_grammage(typed).value == 80


def test_grams_alone_are_noted():
    assert "taken as g/m2" in parse_grammage("80 g").note
    assert parse_grammage("80 g/m2").note == ""


@pytest.mark.parametrize(
    ("typed", "unit_gsm"),
    # GNU units 3.15 and NIST SP 811, B.8: 1 oz/yd2 = 33.90575 g/m2, 1 lb/ft2 = 4.882428 kg/m2.
    [
        ("4 oz/yd2", 33.90575),
        ("4 oz/yd²", 33.90575),
        ("4 oz/sq yd", 33.90575),
        ("4 oz./sq. yd.", 33.90575),
        ("4oz per square yard", 33.90575),
        ("4 ounces per sq yd", 33.90575),
        ("4 lb/1000 ft2", 4.882428),
        ("4 lb/1,000 sq ft", 4.882428),
        ("4 lb per 1000 square feet", 4.882428),
        ("4 lbs per thousand sq. ft.", 4.882428),
        ("4 lb/MSF", 4.882428),
        ("4 lb/3000 ft2", 4.882428 / 3),
        ("0.004 lb/ft2", 4.882428),
        ("0.004 lb/sf", 4.882428),
    ],
)
def test_mass_per_area(typed, unit_gsm):
    assert parse_grammage(typed).value == pytest.approx(4 * unit_gsm, rel=2e-7)


def test_mass_per_area_agrees_with_pint():
    ureg = pint.UnitRegistry()
    for ours, theirs in (("oz/yd2", "avoirdupois_ounce/yard**2"), ("kg/m2", "kg/m**2"), ("g/cm2", "g/cm**2")):
        expected = ureg.Quantity(0.5, theirs).to("g/m**2").magnitude
        assert parse_grammage(f"0.5 {ours}").value == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("20 lb", r"pounds of what grade\? \(known: blotting, bond, book, bristol, cover, index, tag\)"),
        ("20 lb bnd", r"'bnd' is not a known grade \(known: blotting, bond"),
        ("4 oz", "'oz' of mass, but on what area"),
        ("1 kg", "'kg' of mass, but on what area"),
        ("80 mm", "'mm' is a unit of length"),
        ("80 mm/m2", "'mm' is a unit of length"),
        ("80 g/lb2", "'lb' is a unit of mass"),
        ("80 g/pt2", "a point is"),
        ("0.5", "outside 1 to 10000 g/m2"),
        ("20000 gsm", "outside 1 to 10000 g/m2"),
        ("-80", "negative"),
        ("1,000 gsm", "may mean a decimal or thousands"),
        ("80 gsm-90 gsm", "not a unit known"),
        ("bond", "does not start with a number"),
        ("", "nothing was typed"),
    ],
)
def test_refused_grammages(typed, reason):
    with pytest.raises(BadInput, match=reason) as caught:
        parse_grammage(typed, FACTORS)
    assert "for example: 80 g/m2" in str(caught.value)


def test_without_grades_the_error_asks_for_metric():
    with pytest.raises(BadInput, match=r"no basis weights are known here; expected g/m2"):
        parse_grammage("20 lb bond")


ISO = {name.upper(): tuple(map(float, papersize.parse_papersize(name, "mm"))) for name in ("a3", "a4", "a5", "a6")}
NAMED = {**ISO, "Large Post": (419.1, 533.4), "½ Sheet": (100.0, 50.0)}  # the last two: invented for the tests


def test_named_sizes_agree_with_iso_216():
    # ISO 216:2007 table 1, via the papersize package.
    for name, sides in {"A3": (297, 420), "A4": (210, 297), "A5": (148, 210), "A6": (105, 148)}.items():
        size = parse_size(f" {name.lower()} ", NAMED)
        assert (size.width_mm, size.height_mm) == pytest.approx(sides, abs=1e-6)
        assert (size.name, size.resolution_mm) == (name, 0)


def test_names_in_any_capitals_and_spacing():
    assert parse_size("LARGE  post", NAMED).width_mm == 419.1
    assert parse_size("1/2 sheet", NAMED).name == "½ Sheet"


@pytest.mark.parametrize(
    ("typed", "width", "height", "resolution"),
    [
        ("210 x 297 mm", 210, 297, 1),
        ("210×297", 210, 297, 1),
        ("210 X 297", 210, 297, 1),
        ("210*297", 210, 297, 1),
        ("210mm x 297mm", 210, 297, 1),
        ("210 mm x 297", 210, 297, 1),
        ("210 by 297 mm", 210, 297, 1),
        ("21 x 29.7 cm", 210, 297, 1),
        ("21,0 x 29,7 cm", 210, 297, 1),
        ("8 1/2 x 11 in", 215.9, 279.4, 12.7),
        ("8½ x 11 in", 215.9, 279.4, 12.7),
        ("8-1/2 x 11 in.", 215.9, 279.4, 12.7),
        ('8.5x11"', 215.9, 279.4, 2.54),
        ('8.5" × 11"', 215.9, 279.4, 2.54),
        ("1 ft 6 in x 2 ft", 457.2, 609.6, 25.4),
        ("1 m x 30 cm", 1000, 300, 10),
        ("297 x 210", 297, 210, 1),
    ],
)
def test_measured_sizes(typed, width, height, resolution):
    size = parse_size(typed, NAMED)
    assert (size.width_mm, size.height_mm) == (width, height)
    assert size.resolution_mm == pytest.approx(resolution)
    assert (size.as_typed, size.name) == (typed, "")


def test_default_unit_of_sizes():
    assert parse_size("8.5 x 11", default_unit="in").width_mm == 215.9
    with pytest.raises(BadInput, match="no unit, and very small in mm"):
        parse_size("8.5 x 11")
    assert parse_size("8.5 x 11 mm").width_mm == 8.5


def test_area():
    # Sixteen A4 sheets make a square metre (ISO 216), within the rounding of the sides to 1 mm.
    assert parse_size("A4", NAMED).area_m2 == pytest.approx(1 / 16, rel=3e-3)
    assert parse_size("1 x 1 m").area_m2 == 1


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("", "nothing was typed"),
        ("210", "not a width and a height"),
        ("210 x", "not a width and a height"),
        ("210 x 297 x 3", "not a width and a height"),
        ("large pst", "no such size name; nearest: Large Post"),
        ("quux", "no such size name"),
        ("210 x 0", "outside 1 to 1000000 mm"),
        ("-210 x 297", "negative"),
        ("210 x 297 g", "'g' is a unit of mass"),
        ("1,000 x 700 mm", "may mean a decimal or thousands"),
        ("5' 3 x 2 ft", "do not make one quantity"),
        (210, "not a width and a height"),
    ],
)
def test_refused_sizes(typed, reason):
    with pytest.raises(BadInput, match=reason) as caught:
        parse_size(typed, NAMED)
    assert "for example: 210 x 297 mm" in str(caught.value)


@given(width=st.integers(50, 5000), height=st.integers(50, 5000), cross=st.sampled_from([" x ", "x", "×", " by "]))
def test_both_sides_keep_their_places(width, height, cross):
    size = parse_size(f"{width}{cross}{height} mm")
    assert size == Size(width, height, size.as_typed, 1.0)
