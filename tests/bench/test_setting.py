"""Text in columns: nothing lost, no column too high, no line alone; the least height against trying them all."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.bench.setting import Paragraph, SetLine, least_height, set_lines, split, taken
from matref.bench.typeface import text_width_mm

# Sizes as on the sheet; its columns are never lower than 12 mm, which three lines of one paragraph fit.
LINES = st.lists(
    st.tuples(st.floats(2, 3.6), st.floats(0, 1.4), st.integers(1, 6)).map(
        lambda sizes: [
            SetLine((), sizes[0], sizes[1] if n == 0 else 0.0, n == 0 or 2 <= n <= sizes[2] - 2)
            for n in range(sizes[2])
        ]
    ),
    min_size=1,
    max_size=8,
).map(lambda paragraphs: list(itertools.chain(*paragraphs)))


def height_mm(column: list[SetLine]) -> float:
    """Height as it is set: the space above the first line is left out."""
    return sum(line.height_mm + line.above_mm for line in column) - column[0].above_mm


@settings(max_examples=200, deadline=None)
@given(LINES, st.floats(15, 60), st.integers(1, 4))
def test_columns_keep_the_order_and_their_height(lines: list[SetLine], most_mm: float, number: int) -> None:
    columns = split(lines, most_mm, number)
    assert len(columns) <= number
    set_ = list(itertools.chain(*columns))
    assert all(a is b for a, b in zip(set_, lines, strict=False))
    assert len(set_) == taken(lines, most_mm, number)
    for column in columns:
        assert height_mm(column) <= most_mm + 1e-6
        assert column[0].opens or len(column) == 1 or column is columns[0]


@settings(max_examples=60, deadline=None)
@given(LINES, st.integers(1, 4))
def test_the_least_height_is_the_least_of_all(lines: list[SetLine], number: int) -> None:
    """By brute force: every height that a run of lines can have, lowest first, until all of them find room."""
    room = height_mm(lines) + 1
    heights = sorted({height_mm(lines[i:j]) for i in range(len(lines)) for j in range(i + 1, len(lines) + 1)})
    wanted = next(h for h in heights if taken(lines, h + 1e-9, number) == len(lines))
    found = least_height(lines, room, number)
    assert taken(lines, found, number) == len(lines)
    assert found <= wanted + 1e-3 * room or taken(lines, wanted - 1e-3, number) == len(lines)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.text("abcdefghij", min_size=1, max_size=9), min_size=1, max_size=40), st.floats(25, 120))
def test_a_paragraph_is_set_within_its_column(words: list[str], room_mm: float) -> None:
    paragraph = Paragraph(" ".join(words), 2.6, head="Spine", indent_mm=12, above_mm=1.4)
    lines = list(set_lines(paragraph, room_mm))
    assert lines[0].marks[0].text == "Spine"
    assert [line.above_mm for line in lines] == [1.4, *[0.0] * (len(lines) - 1)]
    said = [line.marks[-1] for line in lines]
    assert " ".join(mark.text for mark in said).split() == words
    for mark in said:
        assert mark.x + text_width_mm(mark.text, mark.size_mm) <= room_mm + 1e-6
    assert lines[0].height_mm == pytest.approx(1.28 * 2.6)
    # No line of a paragraph stands alone at the foot or at the head of a column.
    assert lines[0].opens
    assert not any(lines[n].opens for n in {1, len(lines) - 1} - {0} if n < len(lines))
