"""The flow that fills pages: text in columns, drawings in rows, drawings beside their text, a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from matref.bench.drawing import Drawing
from matref.bench.marks import Line, Mark, Text
from matref.bench.page import FOOT_MM, MARGIN_MM, Page
from matref.bench.setting import LEADING, Paragraph, SetLine, least_height, set_lines, split, taken
from matref.bench.typeface import wrapped


class Flow:
    """Fills pages from the top; what finds no room goes on to a new page."""

    def __init__(self, paper: tuple[float, float]) -> None:
        self.paper = paper
        self.pages: list[Page] = []
        self.y = 0.0
        self.new_page()

    @property
    def width(self) -> float:
        """Width between the margins, mm."""
        return self.paper[0] - 2 * MARGIN_MM

    @property
    def left_over(self) -> float:
        """Height that is left on the page, mm."""
        return self.paper[1] - MARGIN_MM - FOOT_MM - self.y

    def new_page(self) -> None:
        """Begin a page."""
        self.pages.append(Page(*self.paper))
        self.y = MARGIN_MM

    def gap(self, mm: float) -> None:
        """Leave some room."""
        self.y += mm

    def text(self, paragraphs: Sequence[Paragraph]) -> None:
        """Set paragraphs over the whole width."""
        self.columns(paragraphs, 1)

    def columns(self, paragraphs: Sequence[Paragraph], number: int, between_mm: float = 5.0) -> None:
        """Set paragraphs in columns of equal height, on this page and the next ones."""
        room = (self.width - (number - 1) * between_mm) / number
        rest: list[SetLine] = []
        for paragraph in paragraphs:
            lines = list(set_lines(paragraph, room))
            if rest and rest[-1].marks[-1].bold:  # a heading stays with what it heads
                lines[0] = replace(lines[0], opens=False)
            rest += lines
        while rest:
            if self.left_over < 12:
                self.new_page()
            most = self.left_over
            count = taken(rest, most, number)
            if count == len(rest):
                most = least_height(rest, most, number)
            elif count == 0:
                self.new_page()
                continue
            deepest = 0.0
            for column, lines in enumerate(split(rest[:count], most, number)):
                x, y = MARGIN_MM + column * (room + between_mm), self.y
                for line in lines:
                    y += line.above_mm if line is not lines[0] else 0.0
                    self.pages[-1].add(x, y + line.height_mm, line.marks)
                    y += line.height_mm
                deepest = max(deepest, y - self.y)
            rest = rest[count:]
            self.y += deepest + 1.0
            if rest:
                self.new_page()

    def drawings(self, drawings: Sequence[Drawing], between_mm: float = 8.0) -> None:
        """Set drawings with their captions, side by side where they fit; a row that fits fills the page first."""
        rows: list[list[Drawing]] = []
        for drawing in drawings:
            wide = sum(_room(d) + between_mm for d in rows[-1]) if rows else 0.0
            if rows and wide + _room(drawing) <= self.width:
                rows[-1].append(drawing)
            else:
                rows.append([drawing])
        while rows:
            fitting = next((row for row in rows if self._height(row) <= self.left_over), None)
            if fitting is None:
                self.new_page()
                fitting = rows[0]
            rows.remove(fitting)
            self._row(fitting, between_mm)

    def with_text(self, items: Sequence[tuple[Drawing, Sequence[Paragraph]]], between_mm: float = 4.0) -> None:
        """Set drawings with a text each: two narrow ones side by side with their texts under them, else one by one."""
        half = (self.width - between_mm) / 2
        waiting = list(items)
        while waiting:
            drawing, text = waiting.pop(0)
            narrow = drawing.box.width <= half
            mate = next((i for i in waiting if i[0].box.width <= half), None) if narrow else None
            if mate is None:
                self._beside(drawing, text)
                continue
            waiting.remove(mate)
            cells = [_cell(drawing, text, half), _cell(*mate, half)]
            if max(height for _, height in cells) > self.left_over:
                self.new_page()
            for column, (groups, _) in enumerate(cells):
                for x, y, marks in groups:
                    self.pages[-1].add(MARGIN_MM + column * (half + between_mm) + x, self.y + y, marks)
            self.y += max(height for _, height in cells) + 4

    def _beside(self, drawing: Drawing, paragraphs: Sequence[Paragraph], between_mm: float = 8.0) -> None:
        """Set a drawing with text to its right, or under it where it is wide or the text is long."""
        room = self.width - _room(drawing) - between_mm
        lines = [line for paragraph in paragraphs for line in set_lines(paragraph, max(room, 1.0))]
        deep = sum(line.height_mm + line.above_mm for line in lines)
        if room < 45 or deep > self._height([drawing]):
            self._row([drawing], between_mm)
            self.columns(paragraphs, 2)
            return
        if self._height([drawing]) > self.left_over:
            self.new_page()
        y = self.y + 6
        for line in lines:
            y += line.above_mm + line.height_mm
            self.pages[-1].add(MARGIN_MM + _room(drawing) + between_mm, y, line.marks)
        self._row([drawing], between_mm)

    def _height(self, row: Sequence[Drawing]) -> float:
        return (
            max(len(_heads(row, self.width, n)) for n in range(len(row))) * 3.4 + 1.5 + max(d.box.height for d in row)
        )

    def _row(self, row: Sequence[Drawing], between_mm: float) -> None:
        heads = [_heads(row, self.width, n) for n in range(len(row))]
        deep = max(len(head) for head in heads) * 3.4
        height = self._height(row)
        if height > self.left_over:
            self.new_page()
        x = MARGIN_MM
        for drawing, head in zip(row, heads, strict=True):
            for number, line in enumerate(head):
                self.pages[-1].add(x, self.y + 2.6 + number * 3.4, [line])
            self.pages[-1].add(x - drawing.box.left, self.y + deep + 1.5 - drawing.box.top, drawing.marks())
            x += _room(drawing) + between_mm
        self.y += height + 3.5

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float]) -> None:
        """Set a table: heads in bold, a narrow line under each row; `shares` divides the width."""
        widths = [share / sum(shares) * self.width for share in shares]
        self._table_row(heads, widths, bold=True)
        for row in rows:
            self._table_row(row, widths, bold=False)

    def _table_row(self, cells: Sequence[str], widths: Sequence[float], *, bold: bool) -> None:
        size = 2.5
        lines = [wrapped(cell, width - 2, size, bold=bold) for cell, width in zip(cells, widths, strict=True)]
        height = max(len(cell) for cell in lines) * size * LEADING + 0.8
        if height > self.left_over:
            self.new_page()
        x = MARGIN_MM
        for cell, width in zip(lines, widths, strict=True):
            marks = [Text(0, n * size * LEADING, line, size, "start", bold=bold) for n, line in enumerate(cell)]
            self.pages[-1].add(x, self.y + size, marks)
            x += width
        self.y += height
        self.pages[-1].add(MARGIN_MM, self.y, [Line(0, 0, self.width, 0, "narrow")])
        self.y += 0.8


def _cell(
    drawing: Drawing, paragraphs: Sequence[Paragraph], room_mm: float
) -> tuple[list[tuple[float, float, tuple[Mark, ...]]], float]:
    """Return caption, drawing and text one under the other as groups of marks, and their height."""
    groups: list[tuple[float, float, tuple[Mark, ...]]] = []
    y = 0.0
    for line in _caption(drawing, room_mm):
        groups.append((0.0, y + 2.6, (line,)))
        y += 3.4
    groups.append((-drawing.box.left, y + 1.5 - drawing.box.top, tuple(drawing.marks())))
    y += 1.5 + drawing.box.height + 2
    for paragraph in paragraphs:
        for text in set_lines(paragraph, room_mm):
            y += text.above_mm + text.height_mm
            groups.append((0.0, y, text.marks))
    return groups, y


def _room(drawing: Drawing) -> float:
    return max(drawing.box.width, 56.0)


def _heads(row: Sequence[Drawing], width_mm: float, place: int) -> list[Text]:
    """The caption of one drawing of a row; alone, it may run over the whole width."""
    return _caption(row[place], width_mm if len(row) == 1 else _room(row[place]))


def _caption(drawing: Drawing, room_mm: float) -> list[Text]:
    found = [Text(0, 0, line, 2.8, "start", bold=True) for line in wrapped(drawing.caption, room_mm, 2.8, bold=True)]
    return [*found, *(Text(0, 0, line, 2.4, "start") for line in wrapped(drawing.note, room_mm, 2.4))]
