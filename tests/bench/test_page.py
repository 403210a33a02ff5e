"""Pages: the line at their foot, and the papers by their standards."""

from __future__ import annotations

import papersize
import pytest

from matref.bench.marks import Text
from matref.bench.page import MARGIN_MM, PAPERS, Page, footed, paper_size
from matref.bench.typeface import text_width_mm
from matref.errors import BadInput


def said(page: Page) -> list[str]:
    return [mark.text for _, _, marks in page.groups for mark in marks if isinstance(mark, Text)]


def test_the_foot_counts_the_pages() -> None:
    pages = [Page(210, 297), Page(297, 210)]
    footed(pages, "harbour log")
    assert [said(page) for page in pages] == [["harbour log", "page 1 of 2"], ["harbour log", "page 2 of 2"]]


def test_a_long_foot_is_one_line_clear_of_the_number() -> None:
    (page,) = pages = [Page(*PAPERS["letter"])]
    footed(pages, "tide tables of the old harbour office " * 8)
    words, number = page.groups
    assert len(said(page)) == 2
    (line,) = words[2]
    assert isinstance(line, Text)
    assert words[0] + text_width_mm(line.text, line.size_mm) < number[0]
    assert number[0] + text_width_mm("page 1 of 1", 2.4) == pytest.approx(page.width - MARGIN_MM)


def test_paper() -> None:
    assert paper_size(" Letter ") == (215.9, 279.4)
    with pytest.raises(BadInput, match="A4 or letter"):
        paper_size("foolscap")


@pytest.mark.parametrize("name", sorted(PAPERS))
def test_sizes_against_the_papersize_library(name: str) -> None:
    sides = [float(side) for side in papersize.parse_papersize(name, "mm")]
    assert PAPERS[name] == pytest.approx(sides, abs=0.05)
