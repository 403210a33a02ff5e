"""Text set in lines and columns: paragraphs broken to a width, columns filled one after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from matref.bench.marks import Text
from matref.bench.typeface import wrapped

LEADING = 1.28
"""From line to line, as a share of the size."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A piece of text: its size, weight, what hangs before it, and the space above it, mm."""

    text: str
    size_mm: float = 2.8
    bold: bool = False
    head: str = ""
    indent_mm: float = 0.0
    above_mm: float = 0.8

    def lines(self, room_mm: float) -> list[str]:
        """Break the text to the room beside what hangs before it."""
        return wrapped(self.text, room_mm - self.indent_mm, self.size_mm, bold=self.bold)

    @property
    def leading_mm(self) -> float:
        """From line to line, mm."""
        return self.size_mm * LEADING


@dataclass(frozen=True, slots=True)
class SetLine:
    """One line of a paragraph as set: marks on its base line, space above, whether it may begin a column."""

    marks: tuple[Text, ...]
    height_mm: float
    above_mm: float
    opens: bool


def set_lines(paragraph: Paragraph, room_mm: float) -> Iterator[SetLine]:
    """Yield the lines of a paragraph in a column `room_mm` wide; no line stands alone at the foot or head of one."""
    lines = paragraph.lines(room_mm)
    for number, line in enumerate(lines):
        marks = [Text(paragraph.indent_mm, -0.5, line, paragraph.size_mm, "start", bold=paragraph.bold)]
        if number == 0 and paragraph.head:
            marks.insert(0, Text(0, -0.5, paragraph.head, paragraph.size_mm, "start", bold=True))
        opens = number == 0 or (2 <= number <= len(lines) - 2)
        yield SetLine(tuple(marks), paragraph.leading_mm, paragraph.above_mm if number == 0 else 0.0, opens)


def split(lines: Sequence[SetLine], most_mm: float, number: int) -> list[list[SetLine]]:
    """Fill columns one after the other, none higher than `most_mm`; a column begins where a line may begin one."""
    columns: list[list[SetLine]] = [[]]
    height = 0.0
    for line in lines:
        more = line.height_mm + (line.above_mm if columns[-1] else 0.0)
        if columns[-1] and height + more > most_mm + 1e-9:
            back: list[SetLine] = []
            while not line.opens and len(columns[-1]) > 1:
                back.insert(0, line)
                line = columns[-1].pop()
            columns.append([line, *back])
            height = sum(one.height_mm + one.above_mm for one in columns[-1])
        else:
            columns[-1].append(line)
            height += more
    return columns if len(columns) <= number else [*columns[:number]]


def taken(lines: Sequence[SetLine], most_mm: float, number: int) -> int:
    """Return how many of the lines find room in `number` columns of height `most_mm`."""
    return sum(len(column) for column in split(lines, most_mm, number))


def least_height(lines: Sequence[SetLine], most_mm: float, number: int) -> float:
    """Return the least height, mm, at most `most_mm`, at which `number` columns hold all the lines (by halving)."""
    low, high = 0.0, most_mm
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (low, middle) if taken(lines, middle, number) == len(lines) else (middle, high)
    return high
