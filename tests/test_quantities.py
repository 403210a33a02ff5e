"""Lengths, thicknesses, masses, counts and percentages: against pint, NIST's exact factors and the written forms."""

import math
import subprocess
import sys
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.errors import BadInput
from matref.quantities import (
    Quantity,
    parse_count,
    parse_grammage,
    parse_length,
    parse_mass,
    parse_percentage,
    parse_size,
    parse_thickness,
)

GRADES = {"bond": 3.759730, "text": 1.480146}
SIZES = {"A4": (210.0, 297.0), "Foolscap": (343.0, 432.0)}
PARSERS = {
    "length": parse_length,
    "thickness": parse_thickness,
    "mass": parse_mass,
    "count": parse_count,
    "percentage": parse_percentage,
    "grammage": lambda text: parse_grammage(text, GRADES),
    "size": lambda text: parse_size(text, SIZES),
}


@pytest.fixture(scope="module")
def ureg() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize(
    ("ours", "theirs"),  # pint's 'mil' is an angle and its 'point' 1/72 in, hence 'thou' for both of ours
    [
        ("mm", "millimeter"),
        ("cm", "centimeter"),
        ("m", "meter"),
        ("µm", "micrometer"),
        ("micron", "micrometer"),
        ("in", "inch"),
        ('"', "inch"),
        ("ft", "foot"),
        ("'", "foot"),
        ("yd", "yard"),
        ("mil", "thou"),
        ("thou", "thou"),
    ],
)
def test_length_units_agree_with_pint(ureg, ours, theirs):
    for number in (1, 2.5, 17.375):
        expected = ureg.Quantity(number, theirs).to("millimeter").magnitude
        assert parse_length(f"{number} {ours}").value == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(("ours", "theirs"), [("pt", "thou"), ("mil", "thou"), ("µm", "micrometer"), ("in", "inch")])
def test_thickness_units_agree_with_pint(ureg, ours, theirs):
    expected = ureg.Quantity(2.25, theirs).to("micrometer").magnitude
    assert parse_thickness(f"2.25 {ours}").value == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(
    ("ours", "theirs"), [("mg", "mg"), ("g", "g"), ("kg", "kg"), ("oz", "avoirdupois_ounce"), ("lb", "pound")]
)
def test_mass_units_agree_with_pint(ureg, ours, theirs):
    expected = ureg.Quantity(7.25, theirs).to("gram").magnitude
    assert parse_mass(f"7.25 {ours}").value == pytest.approx(expected, rel=1e-14)


def test_exact_definitions():
    # NIST SP 811 (2008) appendix B.8, factors in bold type (exact): yard, foot, inch, mil, pound avoirdupois.
    assert parse_length("1 yd").value == 914.4
    assert parse_length("1 ft").value == 304.8
    assert parse_length("1 in").value == 25.4
    assert parse_length("1 mil").value == 0.0254
    assert parse_mass("1 lb").value == 453.59237
    assert parse_mass("16 oz").value == 453.59237


@pytest.mark.parametrize(
    ("typed", "inches"),
    [
        ("1 1/8 in", "9/8"),
        ("1-1/8 in", "9/8"),
        ("1 1/8in.", "9/8"),
        ("1⅛ in", "9/8"),
        ("1 ⅛ inch", "9/8"),
        ('5 3/16"', "83/16"),
        ("5 3/16″", "83/16"),
        ("5 3⁄16 inches", "83/16"),
        ("5 3/16''", "83/16"),
        ("½ IN", "1/2"),
        ("¼in", "1/4"),
        ("⅟8 in", "1/8"),
        ("11/8 in", "11/8"),
        ("8.5 in", "17/2"),
        (".5 in", "1/2"),
        (",5 in", "1/2"),
        ("10. in.", "10"),
        ("1 ft 6 1/2 in", "37/2"),
        ("1' 6 1/2\"", "37/2"),
        ("1′6½″", "37/2"),
        ("1 yd 2 ft 3 in", "63"),
    ],
)
def test_inches_as_people_write_them(typed, inches):
    assert parse_length(typed).value == float(Fraction(inches) * Fraction("25.4"))


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("2.1 mm", 2.1),
        ("2.1mm", 2.1),
        ("  2,1   MM. ", 2.1),
        ("2,10 mm", 2.1),
        ("0,104 mm", 0.104),  # nothing is grouped in thousands after a 0
        ("1.000 mm", 1.0),
        ("1250,125 mm", 1250.125),
        ("104 µm", 0.104),
        ("104 μm", 0.104),  # Greek mu and micro sign are two characters
        ("104 ㎛", 0.104),
        ("104 microns", 0.104),
        ("1e-1 mm", 0.1),
        ("２．１ｍｍ", 2.1),
        ("٢١ mm", 21.0),  # decimal digits of any script
        ("2.1\u00a0mm", 2.1),
        ("2.1\u200b mm\ufeff", 2.1),
        ("20-mm", 20.0),
        ("1 m 20 cm", 1200.0),
        ("24.5", 24.5),
        (24.5, 24.5),
        (24, 24.0),
        (0.1, 0.1),
    ],
)
def test_metric_lengths_as_people_write_them(typed, mm):
    assert parse_length(typed).value == mm


@pytest.mark.parametrize(
    ("typed", "resolution_mm"),
    [
        ("2.1 mm", 0.1),
        ("2.10 mm", 0.01),
        ("10 mm", 1),
        ("10. mm", 1),
        ("10 cm", 10),
        ("12.5 cm", 1),
        ("1/8 in", 25.4 / 8),
        ("5 3/16 in", 25.4 / 16),
        ("5 2/16 in", 25.4 / 16),  # as written, not as reduced
        ("0.005 in", 0.0254),
        ("1 ft 6 in", 25.4),
        ("1 m 20.5 cm", 1),
        ("2e1 mm", 10),
        (10.0, 1),
        (10.5, 0.1),
    ],
)
def test_resolution_is_the_step_written(typed, resolution_mm):
    assert parse_length(typed).resolution == pytest.approx(resolution_mm, rel=1e-12)


def test_what_was_typed_is_kept():
    assert parse_length(" 2,1 mm ") == Quantity(2.1, "mm", "2,1 mm", 0.1)
    assert parse_thickness(" 10 PT ").as_typed == "10 PT"
    assert parse_length(2.1).as_typed == "2.1"


def test_default_unit_only_for_bare_numbers():
    assert parse_length("2", default_unit="in").value == 50.8
    assert parse_length("2 mm", default_unit="in").value == 2
    assert parse_thickness("0.1", default_unit="mm").value == 100
    assert parse_mass("2", default_unit="kg").value == 2000
    with pytest.raises(BadInput, match="'furlong' is not a unit known here"):
        parse_length("2", default_unit="furlong")


def test_board_points_are_for_thickness_only():
    assert parse_thickness("10 points").value == 254
    with pytest.raises(BadInput, match=r"0\.001 in of thickness but 1/72 in"):
        parse_length("10 pt")


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("", "nothing was typed"),
        ("   ", "nothing was typed"),
        ("\u200b", "nothing was typed"),
        ("mm", "does not start with a number"),
        ("nan", "does not start with a number"),
        ("inf mm", "does not start with a number"),
        (math.nan, "does not start with a number"),
        (math.inf, "does not start with a number"),
        (-math.inf, "cannot be negative"),
        (-2, "cannot be negative"),
        ("-2 mm", "cannot be negative"),
        ("−2 mm", "cannot be negative"),
        ("1e400", "out of all proportion"),
        ("1e-400", "out of all proportion"),
        ("9" * 60, "outside 0.0001 to 10000000 mm"),
        ("9" * 201, "more than 200 characters"),
        (10**400, "does not start with a number"),
        ("0 mm", "outside"),
        ("0/8 in", "outside"),
        ("1/0 in", "0 below the line"),
        ("1 9/8 in", "less than one"),
        ("1,000 mm", "may mean a decimal or thousands"),
        ("12,000", "may mean a decimal or thousands"),
        ("1,000,000", "may mean a decimal or thousands"),
        ("1.000.000", "thousands separators"),
        ("1.000,5", "thousands separators"),
        ("1 000 mm", "thousands separators"),
        ("1'000 mm", "thousands separators"),
        ("1_000 mm", "thousands separators"),
        ("2-3 mm", "ranges"),
        ("2 – 3 mm", "ranges"),
        ("2.1 ± 0.1 mm", "tolerances"),
        ("2..1", "not one number"),
        ("⅛3 in", "not one number"),
        ("1/⅛ in", "not a unit known here"),
        ("10³ mm", "not a unit known here"),
        ("10² mm", "not a unit known here"),
        ("2.1 furlongs", "'furlongs' is not a unit known here"),
        ("2.1 g", "'g' is a unit of mass"),
        ("10 mm thick", "'thick' does not start with a number"),
        ("5 in 3 in", "do not make one quantity"),
        ("6 in 1 ft", "do not make one quantity"),
        ("1 m 3 in", "do not make one quantity"),
        ("5' 3", "do not make one quantity"),
        ("1 ft 12 in", "less than one of the unit before"),
        ("1.5 ft 2 in", "only the last part may be a fraction"),
        (True, "does not start with a number"),
        (None, "does not start with a number"),
        (b"12", "does not start with a number"),
    ],
)
def test_refusals_name_what_was_typed_and_why(typed, reason):
    with pytest.raises(BadInput) as caught:
        parse_length(typed, what="stack height")
    message = str(caught.value)
    assert message.startswith("stack height '")
    assert reason in message
    assert "expected a length in mm" in message
    assert message.endswith("for example: 24.5 mm, or 1 1/8 in")
    assert "\n" not in message


def test_refusal_never_passes_control_characters_on():
    with pytest.raises(BadInput) as caught:
        parse_length("2 \x1b[31m\ud800 mm")
    assert str(caught.value).isprintable()


def test_zero_only_where_allowed():
    assert parse_length("0 mm", allow_zero=True).value == 0
    with pytest.raises(BadInput):
        parse_length("0 mm")


@pytest.mark.parametrize("typed", ["0.5", "0.0001 mm", "2 m", "0"])
def test_absurd_thickness(typed):
    with pytest.raises(BadInput, match="outside 1 to 100000 µm"):
        parse_thickness(typed)


def test_masses():
    # 2 lb 3 oz is 35 oz.
    assert parse_mass("2 lb 3 oz").value == float(35 * Fraction("453.59237") / 16)
    assert parse_mass("2lbs. 3oz.").value == float(35 * Fraction("453.59237") / 16)
    assert parse_mass("2 lb 3 oz").resolution == pytest.approx(453.59237 / 16)
    assert parse_mass("1 kg 250 g").value == 1250
    assert parse_mass("0,5 kilo").value == 500
    for typed in ("2 lb 16 oz", "3 mm", "-1 g", "0", "1e9 kg", "two pounds"):
        with pytest.raises(BadInput, match="expected a mass in g, kg"):
            parse_mass(typed)


def test_counts():
    assert parse_count("48") == Quantity(48.0, "sheets", "48", 0.0)
    assert parse_count(48).value == 48
    assert parse_count("1 sheet").value == 1
    assert parse_count("5 sections", noun="sections").unit == "sections"
    assert parse_count("32 leaf", noun="leaves").value == 32
    # ISO 4046-3:2016, 'ream': 500 identical sheets.
    ream = parse_count("1 ream")
    assert ream.value == 500
    assert "480" in ream.note
    assert parse_count("2 reams").value == 1000
    assert parse_count("½ ream").value == 250


@pytest.mark.parametrize("typed", ["0", "-3", "2.5", "1/3 ream", "1,000", "1 000", "12 pages", "1e8", "many", ""])
def test_counts_refused(typed):
    with pytest.raises(BadInput, match="expected a whole number of sheets"):
        parse_count(typed)


def test_ream_counts_sheets_only():
    with pytest.raises(BadInput, match="not leaves"):
        parse_count("1 ream", noun="leaves")


def test_percentages():
    assert parse_percentage("8 %").value == 0.08
    assert parse_percentage("8,5%").value == 0.085
    assert parse_percentage("8.5 per cent").resolution == pytest.approx(0.001)
    assert parse_percentage(8).value == 0.08
    assert parse_percentage("0").value == 0
    assert parse_percentage("90%", default_unit="1").value == 0.9
    assert parse_percentage(0.9, default_unit="1").value == 0.9
    for typed, unit in (("101", "%"), ("90", "1"), ("-1 %", "%"), ("5 mm", "%"), ("", "%")):
        with pytest.raises(BadInput, match="expected a share from 0 to 100 %"):
            parse_percentage(typed, default_unit=unit)


PIECES = st.sampled_from(
    [
        *"0123456789.,/-'\"#%x×½⅛µ²³−±e٣\u00a0\u200b\x00",
        *("bond", "per", "1000", "ream", "sheets", "nan", "inf", "A4", "by", " "),
        *("mm", "in", "ft", "lb", "oz", "g", "g/m2", "sq yd"),
    ]
)
ANYTHING = st.text(max_size=250) | st.lists(PIECES, max_size=12).map("".join)


def outcome(kind, typed):
    try:
        return PARSERS[kind](typed)
    except BadInput as error:
        return error


@pytest.mark.parametrize("kind", PARSERS)
@settings(deadline=None, max_examples=300)
@given(typed=ANYTHING | st.floats() | st.integers())
def test_anything_typed_gives_a_sound_result_or_bad_input(kind, typed):
    result = outcome(kind, typed)
    if isinstance(result, BadInput):
        assert str(result).isprintable()
        return
    numbers = (
        (result.value, result.resolution)
        if isinstance(result, Quantity)
        else (result.width_mm, result.height_mm, result.resolution_mm)
    )
    assert all(math.isfinite(number) and number >= 0 for number in numbers)
    assert len(result.as_typed) <= 200


@pytest.mark.parametrize("kind", PARSERS)
@pytest.mark.parametrize("piece", ["1", "1 ", "1/", "1 1/8 ", "a", "1a", " ", ".", "x", "1x", "lb ", "½", "1,", "- "])
def test_long_repetitions_are_settled(kind, piece):
    for length in (199, 200, 100_000):
        assert isinstance(outcome(kind, (piece * length)[: length - 1] + "!"), BadInput)


@settings(deadline=None)
@given(top=st.integers(1, 10**6), places=st.integers(0, 6), unit=st.sampled_from(["mm", "cm", "in", "yd"]))
def test_decimals_are_converted_to_the_nearest_float(top, places, unit):
    # Against exact rational arithmetic: the value is the float nearest to the true one.
    text = f"{top // 10**places}.{top % 10**places:0{places}d}" if places else str(top)
    factor = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction("25.4"), "yd": Fraction("914.4")}[unit]
    exact = Fraction(top, 10**places) * factor
    if not 1e-4 <= exact <= 1e7:
        return
    result = parse_length(f"{text} {unit}")
    assert result.value == float(exact)
    assert result.resolution == float(Fraction(1, 10**places) * factor)
    assert parse_length(text.replace(".", ",") + unit if places not in (0, 3) else f"{text}{unit}") == Quantity(
        result.value, "mm", (text.replace(".", ",") if places not in (0, 3) else text) + unit, result.resolution
    )


def test_import_is_light():
    script = (
        "import sys; before = set(sys.modules); import matref.quantities; "
        "print(*sorted({'decimal', 'fractions', 'difflib', 'numpy', 'scipy', 'pandas', 'pint', 'sqlite3'} "
        "& (set(sys.modules) - before)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
