"""Pages in millimetres: their paper, the marks on them, the line at their foot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from matref.bench.marks import Mark, Text
from matref.bench.typeface import text_width_mm, wrapped
from matref.errors import BadInput

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height, mm: ISO 216 A4, ANSI/ASME Y14.1 A."""
MARGIN_MM = 10.0
FOOT_MM = 5.0
"""Kept free above the lower margin for the line at the foot."""


@dataclass(slots=True)
class Page:
    """One page: its size, mm, and groups of marks, each with the place of its origin."""

    width: float
    height: float
    groups: list[tuple[float, float, tuple[Mark, ...]]] = field(default_factory=list)

    def add(self, x: float, y: float, marks: Iterable[Mark]) -> None:
        """Put marks on the page with their origin at (x, y)."""
        self.groups.append((x, y, tuple(marks)))


def paper_size(name: str) -> tuple[float, float]:
    """Return width and height of a paper, mm; BadInput for one that is not known.

    >>> paper_size("A4")
    (210.0, 297.0)
    """
    if name.strip().lower() not in PAPERS:
        raise BadInput(f'"{name[:30]}" as size of the page', expected="A4 or letter", example="A4")
    return PAPERS[name.strip().lower()]


def footed(pages: Sequence[Page], words: str) -> None:
    """Write a line at the foot of every page, the page's number to the right."""
    for number, page in enumerate(pages, 1):
        count = f"page {number} of {len(pages)}"
        y = page.height - MARGIN_MM
        right = page.width - MARGIN_MM - text_width_mm(count, 2.4)
        page.add(MARGIN_MM, y, [Text(0, 0, line, 2.4, "start") for line in wrapped(words, right - 20, 2.4)[:1]])
        page.add(right, y, [Text(0, 0, count, 2.4, "start")])
