"""The typeface: measured as reportlab reads it, with every letter that a plan may need, and its licence beside it."""

from __future__ import annotations

from importlib.resources import files
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFont

from matref.bench.typeface import BOLD, REGULAR, font_bytes, shortened, text_width_mm, wrapped

FACES = {name: TTFont(f"{name} in a test", BytesIO(font_bytes(name))) for name in (REGULAR, BOLD)}
LETTERS = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x24F, exclude_categories=["Cc"]), max_size=40)


@given(LETTERS, st.booleans())
def test_widths_are_those_of_another_reader_of_the_font(text: str, bold: bool) -> None:
    face = FACES[BOLD if bold else REGULAR]
    missing = {letter for letter in text if ord(letter) not in face.face.charToGlyph}
    plain = "".join(letter for letter in text if letter not in missing)
    assert text_width_mm(plain, 2.5, bold=bold) == pytest.approx(face.stringWidth(plain, 2.5), abs=0.01)


@pytest.mark.parametrize("name", [REGULAR, BOLD])
def test_the_letters_of_measurement_and_of_europe_are_there(name: str) -> None:
    wanted = "µ×²³°–−≥≤½¼¾⅛⅜⅝⅞±π…“”’→ÀéßøœŁőțŽΑωЖяіґ€№"
    assert [letter for letter in wanted if ord(letter) not in FACES[name].face.charToGlyph] == []


def test_the_licence_lies_beside_the_fonts() -> None:
    text = (files("matref.bench") / "fonts" / "LICENSE").read_text(encoding="utf-8")
    assert "Permission is hereby granted, free of charge" in text
    assert "THE FONT SOFTWARE IS PROVIDED" in text


@given(st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), max_size=200), st.floats(5, 100))
def test_wrapped_lines_fit_and_lose_no_word_that_fits(text: str, room: float) -> None:
    lines = wrapped(text, room, 2.5)
    assert all(text_width_mm(line, 2.5) <= room + 1e-9 for line in lines)
    fitting = [word for word in text.split() if text_width_mm(word, 2.5) <= room]
    kept = " ".join(lines).split()
    assert [word for word in kept if word in fitting] == [word for word in fitting if word in kept]
    assert set(fitting) <= set(kept)


def test_shortened_keeps_what_fits_and_marks_what_it_cut() -> None:
    assert shortened("board", 50, 2.5) == "board"
    assert shortened("board", 0.1, 2.5) == ""
    short = shortened("page and overhang", 15, 2.5)
    assert short.endswith("…")
    assert "page and overhang".startswith(short[:-1])
