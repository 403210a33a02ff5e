"""Keys of a plan file, one kind after another: what is read, in which unit, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.errors import BadInput
from matref.planning.keys import Key, Length

SIZES = {"a4": (210.0, 297.0)}
LENGTH = Key("overhang", "length", "what a cover stands out", "1", zero=True, high=100)
CALIPER = Key("caliper", "thickness", "thickness of a sheet", "104", bare=True)
MASS = Key("mass", "mass", "what the sheets weigh", "98", bare=True)
LABEL = Key("grammage", "grammage", "the label", "80", bare=True)
STACK = Key("stack", "measure", "thickness of a stack", '"10 mm"', bare=True)
COUNT = Key("leaves", "count", "leaves in the pile", "60", noun="leaves")
NUMBER = Key("price", "number", "price of one", "0.5", high=100)
CHOICE = Key("by", "choice", "how", '"hand"', choices=("machine", "hand"))
FLAG = Key("two_on", "flag", "two on one thread", "true")
TEXT = Key("name", "text", "what it is called", '"log"')
NAMES = Key("class", "names", "classes", '"copier"')
SIZE = Key("size", "size", "two sides", '"A4"')


def test_names() -> None:
    assert LENGTH.names == ("overhang_mm", "overhang_in")
    assert CALIPER.names == ("caliper_um", "caliper_mm", "caliper_in", "caliper")
    assert MASS.names == ("mass_g", "mass")
    assert COUNT.names == ("leaves",)
    assert Key("gap", "length", "", "8", also=("joint",)).names == ("gap_mm", "gap_in", "joint_mm", "joint_in")


@pytest.mark.parametrize(
    ("key", "name", "typed", "value"),
    [
        (LENGTH, "overhang_mm", 3, Length(3.0, 1.0)),
        (LENGTH, "overhang_mm", "3.0", Length(3.0, 0.1)),
        (LENGTH, "overhang_in", 0.5, Length(12.7, 2.54)),
        (LENGTH, "overhang_in", "1/8", Length(3.175, 3.175)),
        (LENGTH, "overhang_mm", 0, Length(0.0, 1.0)),
        (CALIPER, "caliper_um", 104, "104 um"),
        (CALIPER, "caliper", 104, "104 um"),
        (CALIPER, "caliper_mm", 0.104, "0.104 mm"),
        (CALIPER, "caliper_um", "10 pt", "10 pt"),
        (MASS, "mass_g", 98.5, "98.5 g"),
        (MASS, "mass", "3 1/2 oz", "3 1/2 oz"),
        (LABEL, "grammage_gsm", 80, "80 g/m2"),
        (LABEL, "grammage", "20 lb bond", "20 lb bond"),
        (STACK, "stack", 10.5, "10.5 mm"),
        (STACK, "stack_in", "1/4", "1/4 in"),
        (COUNT, "leaves", 60, 60),
        (COUNT, "leaves", "60 leaves", 60),
        (NUMBER, "price", "2.5", 2.5),
        (NUMBER, "price", 0, 0.0),
        (CHOICE, "by", "Hand", "hand"),
        (FLAG, "two_on", True, True),
        (FLAG, "two_on", "no", False),
        (TEXT, "name", " tide log ", "tide log"),
        (NAMES, "class", "copier", "copier"),
        (NAMES, "class", ["copier", " ledger"], "copier,ledger"),
    ],
)
def test_values(key: Key, name: str, typed: Any, value: Any) -> None:
    assert key.read(name, typed, "table", SIZES) == value


def test_sizes() -> None:
    for typed in ("A4", "210 x 297 mm", "21 x 29.7 cm"):
        size = SIZE.read("size", typed, "paper", SIZES)
        assert (size.width_mm, size.height_mm) == pytest.approx((210, 297))


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        (LENGTH, "3 g", "mass"),
        (LENGTH, 101, "0 to 100 mm"),
        (LENGTH, None, "a length"),
        (CALIPER, "thin", "thin"),
        (CALIPER, {}, "a thickness"),
        (MASS, "3 mm", "length"),
        (COUNT, "60 sheets", "not leaves"),
        (COUNT, 2.5, "whole"),
        (NUMBER, 101, "out of range"),
        (NUMBER, "3 EUR", "after the number"),
        (CHOICE, "foot", "machine or hand"),
        (FLAG, 1, "true or false"),
        (FLAG, "maybe", "true or false"),
        (TEXT, "a\tb", "printable"),
        (TEXT, "x" * 201, "200"),
        (TEXT, 5, "quotes"),
        (NAMES, [], "quotes"),
        (NAMES, ["copier", ""], "quotes"),
        (SIZE, "A9", "A9"),
        (SIZE, "2 x 3 mm", "proportion"),
        (SIZE, "30 x 30 m", "proportion"),
    ],
)
def test_refusals_name_the_key_and_give_a_line_that_works(key: Key, typed: Any, words: str) -> None:
    name = key.names[0]
    with pytest.raises(BadInput) as caught:
        key.read(name, typed, "table", SIZES)
    line = str(caught.value)
    assert line.startswith(f"table.{name}: ")
    assert words in line
    assert f"{key.name} = {key.example}" in line


@given(
    st.sampled_from([LENGTH, CALIPER, MASS, COUNT, NUMBER, CHOICE, FLAG, TEXT, NAMES, SIZE, STACK]),
    st.text(max_size=30),
)
def test_any_text_is_read_or_refused(key: Key, typed: str) -> None:
    try:
        key.read(key.names[0], typed, "table", SIZES)
    except BadInput as error:
        _one_line(error)


def _one_line(error: BadInput) -> None:
    assert "\n" not in str(error)
