"""Cutting layouts as drawn: parts where they lie, cuts in their order, the waste hatched, what to keep named."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measuring import Rendered

from matref.bench import layouts_pdf, layouts_svg
from matref.bench.drawing import Dimension
from matref.bench.layout_view import cuts_in_words, laid_out, layout, room_for
from matref.bench.marks import Line, Polyline, Text
from matref.book.cutting import Part, Piece, lay_out

PARTS = [Part("board", 156, 104, 4, "length"), Part("spine piece", 156, 9, 2, "length"), Part("label", 60, 40, 3)]
STOCK = [Piece("greyboard", 420, 330, 2, "length"), Piece("strip", 500, 90, 1, "length")]


def listed(parts: list[Part], stock: list[Piece]) -> list[dict[str, object]]:
    done = lay_out(parts, stock, steps=20_000)
    return [{"piece": sheet.name, "copy": sheet.copy, **sheet.layout.as_json(done.part_names)} for sheet in done.sheets]


def test_parts_are_drawn_where_they_lie() -> None:
    for one in listed(PARTS, STOCK):
        drawing = layout(one, "piece", "mm")
        assert drawing.scale is not None
        white = [m.box for m in drawing.marks() if isinstance(m, Polyline) and m.fill == "white" and len(m.points) == 4]
        rects = [*one["parts"], *one["offcuts"]]  # type: ignore[misc]
        for rect, box in zip(rects, white, strict=True):
            found = (box.left, box.top, box.width, box.height)
            wanted = [rect[key] * drawing.scale for key in ("x_mm", "y_mm", "length_mm", "width_mm")]
            assert found == pytest.approx(wanted)
        sides = [d.value_mm for d in drawing.dimensions if isinstance(d, Dimension)]
        assert sides == [one["length_mm"], one["width_mm"]]


def test_every_cut_has_its_number_and_its_line() -> None:
    for one in listed(PARTS, STOCK):
        drawing = layout(one, "piece", "mm", room_for(one))
        cuts = one["cut_list"]
        words = [mark.text for mark in drawing.marks() if isinstance(mark, Text) and mark.bold]
        assert words == [str(cut["number"]) for cut in cuts]  # type: ignore[attr-defined]
        wide = [mark for mark in drawing.marks() if isinstance(mark, Line) and mark.style == "wide"]
        assert len(wide) == len(cuts)  # type: ignore[arg-type]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(20, 200), st.integers(20, 150), st.integers(1, 3)), min_size=1, max_size=4))
def test_numbers_hide_neither_each_other_nor_words_where_there_is_room(sizes: list[tuple[int, int, int]]) -> None:
    parts = [Part(f"part {n}", length, width, count) for n, (length, width, count) in enumerate(sizes)]
    for one in listed(parts, [Piece("sheet", 700, 500, 3, "either")]):
        drawing = layout(one, "piece", "mm")
        numbers = [mark.box for mark in drawing.marks() if isinstance(mark, Text) and mark.bold]
        assert not any(a.overlaps(b) for n, a in enumerate(numbers) for b in numbers[:n])


def test_cuts_in_words_say_what_comes_off() -> None:
    (one,) = listed([Part("board", 156, 104, 2, "length")], [Piece("greyboard", 330, 160, 1, "length")])
    said = cuts_in_words(one, "mm")
    assert said[0].startswith("The piece, 330 × 160 mm: measure 104 mm along its width, cut straight across")
    assert said[-1].endswith("near side: board; far side: board")
    assert "in" in cuts_in_words(one, "in")[0]


def test_pieces_cut_alike_are_drawn_once() -> None:
    """Three leaves, each cut to one endpaper: one drawing that says so."""
    found = laid_out(listed([Part("endpaper", 190, 200, 3)], [Piece("ledger leaf", 205, 210, 5, "either")]), "mm")
    assert [drawing.title for drawing, _ in found] == ["ledger leaf, 3 pieces alike"]


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_layouts_by_themselves_as_pdf(paper: str) -> None:
    stream = io.BytesIO()
    layouts_pdf(listed(PARTS, STOCK), stream, words=["2 cut into"], paper=paper)
    pdf = Rendered(stream.getvalue())
    words = [text for number in range(len(pdf.document)) for text, _ in pdf.texts(number)]
    assert {"Cutting layout", "2 cut into"} <= set(words)
    assert sum(word == "board" for word in words) == 4
    assert all(pdf.fonts().values())
    assert layouts_svg(listed(PARTS, STOCK)).count("<g id=") == len(laid_out(listed(PARTS, STOCK), "mm"))
