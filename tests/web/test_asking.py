from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pint
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from matref import workshop
from matref.errors import BadInput
from matref.quantities import parse_length, parse_size
from matref.web.asking import Field, level, number
from matref.web.fields import EVIDENCE_FIELDS, FIELDS, LABEL, Filled, check, fill, in_words

LENGTH = Field("stack", "Thickness of the stack", kind="length")
SIZE = Field("size", "Sheet size", kind="size")
KINDS = {
    "count": ("20", "1.5"),
    "number": ("0,75", "seven"),
    "level": ("0.9", "2"),
    "length": ("7/16 in", "7/16 knots"),
    "size": ("A4", "A44"),
    "mass": ("3 1/2 oz", "98 lions"),
    "grammage": ("20 lb bond", "80 parrots"),
    "thickness": ("104", "thin"),
}
OFF = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_takes_its_own_spelling_and_tells_what_else_is_wrong(place: Path, kind: str) -> None:
    good, bad = KINDS[kind]
    field = Field("x", "What is asked", kind=kind)  # type: ignore[arg-type]
    with closing(workshop.connect(place)) as connection:
        field.check(good, "mm", connection)
        with pytest.raises(BadInput) as caught:
            field.check(bad, "mm", connection)
    assert str(caught.value).count("\n") == 0
    if kind not in ("count", "level"):
        assert "what is asked" in str(caught.value), "an error names the field by its label"


@OFF
@given(text=st.text(max_size=30) | st.from_regex(r"[0-9 .,/x×]{1,12}( ?(mm|in|cm))?", fullmatch=True))
def test_whatever_is_typed_is_read_or_refused(place: Path, text: str) -> None:
    with closing(workshop.connect(place)) as connection:
        for field in FIELDS.values():
            for units in ("mm", "in"):
                try:
                    field.check(text, units, connection)
                except BadInput:
                    continue


@pytest.mark.parametrize("text", ["7/16", "0.4375", "1 1/8", "½", "10", "0,5"])
def test_a_bare_length_is_in_the_visitors_unit(text: str) -> None:
    inch = pint.UnitRegistry()("1 inch").to("mm").magnitude
    in_mm = parse_length(LENGTH.with_unit(text, "mm")).value
    assert parse_length(LENGTH.with_unit(text, "in")).value == pytest.approx(in_mm * inch)


@pytest.mark.parametrize("text", ["7/16 in", "10.5 mm", '7/16"', "1 ft 6 in", "104 µm", "four"])
def test_a_length_with_its_own_unit_stays_as_typed(text: str) -> None:
    assert LENGTH.with_unit(text, "in") == text
    assert SIZE.with_unit(f"{text} x {text}", "in") == f"{text} x {text}"


@pytest.mark.parametrize("text", ["8 1/2 x 11", "8.5×11", "8,5 * 11"])
def test_a_bare_size_too(text: str) -> None:
    found = parse_size(SIZE.with_unit(text, "in"))
    assert (found.width_mm, found.height_mm) == pytest.approx((215.9, 279.4))  # ANSI/ASME Y14.1, size A
    for other in ("A4", "foolscap", "8 1/2 x 11 cm"):
        assert SIZE.with_unit(other, "in") == other


def test_other_kinds_know_nothing_of_inches() -> None:
    for kind in ("mass", "grammage", "thickness", "count", "text"):
        assert Field("x", "X", kind=kind).with_unit("80", "in") == "80"  # type: ignore[arg-type]
    assert Field("x", "X", kind="thickness").unit("in") == "µm"
    assert Field("x", "X", kind="number", of="°").unit("in") == "°"
    assert Field("x", "X").unit("in") == ""


@pytest.mark.parametrize(("text", "value"), [("0.75", 0.75), ("0,75", 0.75), ("3", 3.0), ("3/4", 0.75), (" 12 ", 12.0)])
def test_plain_numbers(text: str, value: float) -> None:
    assert number(text) == value


@pytest.mark.parametrize("text", ["", "-1", "3 EUR", "1e", "nan", "inf", "0x10", "1,000.5"])
def test_what_is_no_plain_number(text: str) -> None:
    with pytest.raises(BadInput):
        number(text)


@pytest.mark.parametrize(("text", "value"), [("0.9", 0.9), ("95 %", 0.95), ("99.9%", 0.999), ("0,5", 0.5)])
def test_levels(text: str, value: float) -> None:
    assert level(text) == pytest.approx(value)


@pytest.mark.parametrize("text", ["0.49", "1", "100 %", "sure", "-0.9"])
def test_what_is_no_level(text: str) -> None:
    with pytest.raises(BadInput):
        level(text)


def test_choices_are_spelled_as_listed_or_as_programs_call_the_usual_one(place: Path) -> None:
    with closing(workshop.connect(place)) as connection:
        for text in ("", "ruler", "vernier", "micrometer"):
            FIELDS["with"].check(text, "mm", connection)
        with pytest.raises(BadInput, match="micrometer or ruler or vernier"):
            FIELDS["with"].check("gauge", "mm", connection)


@pytest.mark.parametrize(("name", "longest"), [("label", 400), ("note", 10_000)])
def test_there_is_an_end_to_everything(place: Path, name: str, longest: int) -> None:
    field = Field(name, "Text", kind="note" if name == "note" else "text")
    with closing(workshop.connect(place)) as connection:
        field.check("x" * longest, "mm", connection)
        with pytest.raises(BadInput, match=f"at most {longest}"):
            field.check("x" * (longest + 1), "mm", connection)


def test_check_tells_every_field_at_once(place: Path) -> None:
    filled = fill({"mass": ["98 lions"], "size": ["A44"], "sheets": ["20"], "with": ["cubit"], "grammage": [""]}, "mm")
    with closing(workshop.connect(place)) as connection:
        check(filled, connection)
    assert set(filled.errors) == {"mass", "size", "with"}
    assert filled.used == ["mass", "size", "sheets", "with", "mass", "size", "with"]
    assert filled.wrong


def test_evidence_carries_units_and_leaves_out_what_is_none() -> None:
    known = {**EVIDENCE_FIELDS, "label": LABEL}
    filled = Filled({"stack": "7/16", "size": "8 1/2 x 11", "label": "loft", "mass": ""}, units="in", known=known)
    assert filled.evidence() == {"stack": "7/16 in", "size": "8 1/2 x 11 in"}
    assert filled.text("mass") == ""


def test_an_error_is_put_beside_the_field_that_is_missing() -> None:
    error = BadInput("a stack needs both", expected="--stack-sheets and --stack", example='--stack "10 mm"')
    half = Filled({"stack": "10 mm"})
    half.blame(error)
    assert list(half.errors) == ["stack_sheets"]
    whole = Filled({"stack": "10 mm", "stack_sheets": "9"})
    whole.blame(error)
    assert list(whole.errors) == ["stack_sheets"]


def test_an_error_that_names_no_field_is_told_at_the_top() -> None:
    filled = Filled({"stack": "10 mm"})
    filled.blame(BadInput("the measurements do not go with one another", expected="one of them measured anew"))
    assert filled.errors == {}
    assert "measured anew" in filled.general
    filled.blame(BadInput("no class called seaweed"))
    assert list(filled.errors) == ["class"]
    # "with" is a word of any sentence and names no field.
    other = Filled({})
    other.blame(BadInput("a cover with cloth and a held stack"))
    assert other.errors == {}


def test_words_of_an_error_keep_an_example_that_anybody_can_type() -> None:
    plain = BadInput("day 'never' cannot be used", expected="year-month-day", example="2024-02-29")
    assert in_words(plain) == "day 'never' cannot be used; expected year-month-day, for example 2024-02-29"
    command = BadInput("nothing was measured", expected="a weighing", example="matref caliper --size A4")
    assert in_words(command) == "nothing was measured; expected a weighing"
