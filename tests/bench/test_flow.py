"""The flow of a page: no word lost, none outside the margins, columns balanced, drawings whole."""

from __future__ import annotations

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from matref.bench.drawing import Drawing
from matref.bench.flow import Flow
from matref.bench.marks import Box, Text, rectangle
from matref.bench.page import MARGIN_MM, PAPERS, Page
from matref.bench.setting import Paragraph

WORDS = st.text("abcdefghij", min_size=1, max_size=12)
TEXTS = st.lists(st.lists(WORDS, min_size=1, max_size=60).map(" ".join), min_size=1, max_size=25)


def placed(page: Page) -> list[tuple[Text, Box]]:
    found = []
    for x, y, marks in page.groups:
        for mark in marks:
            if isinstance(mark, Text):
                box = mark.box
                found.append((mark, Box(box.left + x, box.top + y, box.right + x, box.bottom + y)))
    return found


def inside(page: Page) -> None:
    for x, y, marks in page.groups:
        for mark in marks:
            assert x + mark.box.left >= MARGIN_MM - 0.3
            assert x + mark.box.right <= page.width - MARGIN_MM + 0.3
            assert y + mark.box.top >= MARGIN_MM - 0.3
            assert y + mark.box.bottom <= page.height - MARGIN_MM


@settings(max_examples=60, deadline=None)
@given(TEXTS, st.integers(1, 3), st.sampled_from(sorted(PAPERS)), st.floats(0, 240))
def test_columns_keep_every_word_in_order_and_stay_on_the_page(
    texts: list[str], columns: int, paper: str, start: float
) -> None:
    flow = Flow(PAPERS[paper])
    flow.gap(start)
    flow.columns([Paragraph(text, 2.4, head="1", indent_mm=5) for text in texts], columns)
    words: list[str] = []
    for page in flow.pages:
        inside(page)
        lines = placed(page)
        words += [word for mark, _ in lines if not mark.bold for word in mark.text.split()]
        boxes = [box for _, box in lines]
        assert not any(a.overlaps(b, 0.05) for a, b in itertools.combinations(boxes, 2))
    assert words == " ".join(texts).split()


def test_columns_are_of_nearly_equal_height() -> None:
    flow = Flow(PAPERS["a4"])
    flow.columns([Paragraph("a line of words", 2.4) for _ in range(30)], 3)
    lefts: dict[float, list[float]] = {}
    for _, box in placed(flow.pages[0]):
        lefts.setdefault(round(box.left), []).append(box.bottom)
    ends = [max(bottoms) for bottoms in lefts.values()]
    assert len(ends) == 3
    assert max(ends) - min(ends) < 6


def drawn(name: str, width: float, height: float) -> Drawing:
    return Drawing(name, name, 1.0, (rectangle(Box(0, 0, width, height)),))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(5, 180), st.floats(5, 200)), min_size=1, max_size=8), st.floats(0, 200))
def test_drawings_are_all_there_whole_and_apart(sizes: list[tuple[float, float]], start: float) -> None:
    flow = Flow(PAPERS["letter"])
    flow.gap(start)
    flow.drawings([drawn(f"number {n}", *size) for n, size in enumerate(sizes)])
    names = []
    for page in flow.pages:
        inside(page)
        names += [mark.text for mark, _ in placed(page)]
        boxes = []
        for x, y, marks in page.groups:
            boxes += [
                Box(m.box.left + x, m.box.top + y, m.box.right + x, m.box.bottom + y)
                for m in marks
                if not isinstance(m, Text)
            ]
        assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes, 2))
    assert sorted(names) == sorted(f"number {n}, scale 1:1" for n in range(len(sizes)))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(20, 180), st.floats(10, 120), st.integers(0, 30)), min_size=1, max_size=6))
def test_drawings_with_their_texts(items: list[tuple[float, float, int]]) -> None:
    flow = Flow(PAPERS["a4"])
    flow.with_text(
        [
            (drawn(f"number {n}", width, height), [Paragraph(f"cut of {n}", 2.4) for _ in range(cuts)])
            for n, (width, height, cuts) in enumerate(items)
        ]
    )
    words = [mark.text for page in flow.pages for mark, _ in placed(page)]
    for page in flow.pages:
        inside(page)
    for number, (_, _, cuts) in enumerate(items):
        assert words.count(f"cut of {number}") == cuts


def test_a_table_goes_on_over_pages_with_its_rows_whole() -> None:
    flow = Flow(PAPERS["a4"])
    rows = [(f"part {n}", "a long description " * 6) for n in range(80)]
    flow.table(("Part", "Made of"), rows, (1, 3))
    assert len(flow.pages) > 1
    for page in flow.pages:
        inside(page)
    words = [mark.text for page in flow.pages for mark, _ in placed(page)]
    assert [word for word in words if word.startswith("part ")] == [name for name, _ in rows]
