"""How many sheets in a section and how many sections: from pages, from a number of sections, or from the pile."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from matref.book.check import count, leaf_mm
from matref.book.practice import Practice
from matref.book.rule_row import RuleRow, least, most, number
from matref.errors import BadInput


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the maker asked for: sections, pages, or the whole pile (one of the three), sheets per section or None.

    odd: the structure wants a section on its centre line. most_sheets: what the machine takes, None for hand sewing.
    single: all in one section (pamphlet).
    """

    sections: int | None = None
    pages: int | None = None
    pile_sheets: int | None = None
    sheets_per_section: int | None = None
    odd: bool = False
    most_sheets: int | None = None
    single: bool = False


@dataclass(frozen=True, slots=True)
class Sections:
    """The choice, with its reasons, what is left over, and what is to be said about it."""

    sheets_per_section: int
    sections: int
    left_over_sheets: int
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def sheets(self) -> int:
        """Sheets in the book."""
        return self.sheets_per_section * self.sections

    @property
    def pages(self) -> int:
        """Pages in the book: four to a sheet."""
        return 4 * self.sheets

    def as_json(self) -> dict[str, Any]:
        """Return plain values."""
        return {
            "count": self.sections,
            "sheets_per_section": self.sheets_per_section,
            "pages_per_section": 4 * self.sheets_per_section,
            "sheets": self.sheets,
            "pages": self.pages,
            "left_over_sheets": self.left_over_sheets,
            "reasons": list(self.reasons),
        }


def applies(applies_to: str, paper_class: str) -> bool:
    """Tell whether a rule's `applies_to`, words: class; class, names the paper class.

    >>> applies("office paper: copier; bond_writing", "bond_writing"), applies("printed sheets", "copier")
    (True, False)
    """
    return paper_class in [name.strip() for name in applies_to.partition(":")[2].split(";")]


def sheets_by_fold(leaf_um: float, low_mm: float, high_mm: float) -> tuple[int, int]:
    """Fewest and most sheets whose closed section, 2·s·t, lies between two thicknesses, mm; at least one sheet. Exact.

    >>> sheets_by_fold(100, 1, 2)
    (5, 10)
    >>> sheets_by_fold(700, 1, 2)
    (1, 1)
    """
    sheet = 2 * leaf_mm(leaf_um)
    fewest = max(1, math.ceil(low_mm / sheet - 1e-9))
    return fewest, max(1, math.floor(high_mm / sheet + 1e-9))


def machine_sheets(leaf_um: float, cover_mm: float, limit_mm: float) -> int:
    """Most sheets that pass under the needle with the cover: (limit - cover) / t, rounded down; 0 when none. Exact.

    >>> machine_sheets(100, 0.8, 2)
    12
    """
    return max(0, math.floor((limit_mm - cover_mm) / leaf_mm(leaf_um) + 1e-9))


def choose(
    wanted: Wanted,
    leaf_um: float,
    practice: Practice,
    surface: str = "mixed",
    sheets_rule: RuleRow | None = None,
) -> Sections:
    """Return the sections of a book from leaves `leaf_um` thick in the block.

    Sheets: the maker's own number; else the count the trade gives for this paper (`sheets_rule`, else the usual
    four), kept under the handbook's limit of a closed section and under what the machine takes. Paper so thin that
    the result is less than the thinnest section squeezed may get more sheets. From that range, the count that comes
    nearest to the pages, or that leaves fewest sheets of the pile over.
    """
    given = [x is not None for x in (wanted.sections, wanted.pages, wanted.pile_sheets)]
    if sum(given) != 1:
        raise BadInput(
            "say how big the book is in one way",
            expected="sections, pages or the whole pile",
            example="sections = 5",
        )
    reasons: list[str] = []
    if wanted.single and wanted.sections not in (None, 1):
        raise BadInput(
            f"a pamphlet has one section, not {wanted.sections}",
            expected="sections = 1, or a structure for several sections such as long-stitch",
        )
    if wanted.sheets_per_section is not None:
        options = [count(wanted.sheets_per_section, "sheets in a section", 4)]
        reasons.append(f"{options[0]} sheets a section as asked")
        if wanted.single:
            return _single_of(options[0], wanted, reasons)
    elif wanted.single:
        return _single(wanted, practice)
    else:
        options = _options(wanted, leaf_um, practice, surface, sheets_rule, reasons)
    if wanted.sections is not None:
        return _of_sections(wanted, options[0], reasons)
    if wanted.pages is not None:
        return _of_pages(wanted, options, wanted.pages, reasons)
    return _of_pile(wanted, options, wanted.pile_sheets or 0, reasons)


def _options(
    wanted: Wanted,
    leaf_um: float,
    practice: Practice,
    surface: str,
    sheets_rule: RuleRow | None,
    reasons: list[str],
) -> list[int]:
    """Possible sheets per section, best first."""
    row = practice.sheets_usual if sheets_rule is None else sheets_rule
    low, high = round(least(row)), round(most(row))
    squeezed, limit = practice.section_squeezed, practice.section_limit_mm(surface)
    fewest, _ = sheets_by_fold(leaf_um, least(squeezed), most(squeezed))
    _, top = sheets_by_fold(leaf_um, least(squeezed), limit)
    best, range_words = high, f"{low}" if low == high else f"{low} to {high}"
    reasons.append(f"{range_words} sheets a section are usual for this paper ({row.rule_id})")
    if best < fewest <= top:
        best = fewest
        reasons.append(f"up to {best}, so that a closed section is {least(squeezed):g} mm thick or more")
    if best > top:
        best = top
        reasons.append(f"no more than {top}, so that a closed section stays below {limit:.2f} mm")
    if wanted.most_sheets is not None and best > wanted.most_sheets:
        if wanted.most_sheets < 1:
            raise BadInput(
                "the cover alone is more than the machine's limit under the needle",
                expected="a thinner cover, or sewing by hand",
                example='by = "hand"',
            )
        best = wanted.most_sheets
        reasons.append(f"no more than {best} go through the machine with the cover")
    return sorted(range(min(low, best), best + 1), reverse=True)


def _single_of(sheets: int, wanted: Wanted, reasons: list[str]) -> Sections:
    if wanted.pile_sheets is not None and wanted.pile_sheets < sheets:
        raise BadInput(
            f"the pile gives {wanted.pile_sheets} sheets, less than the {sheets} asked", expected="fewer sheets"
        )
    left = 0 if wanted.pile_sheets is None else wanted.pile_sheets - sheets
    differs = wanted.pages is not None and wanted.pages != 4 * sheets
    said = (f"{wanted.pages} pages asked, but {sheets} sheets in one section give {4 * sheets}",) if differs else ()
    return Sections(sheets, 1, left, tuple(reasons), said)


def _single(wanted: Wanted, practice: Practice) -> Sections:
    row = practice.pamphlet_sheets_hand if wanted.most_sheets is None else practice.pamphlet_sheets_machine
    most_sheets = round(number(row)) if wanted.most_sheets is None else min(round(number(row)), wanted.most_sheets)
    if wanted.pages is not None:
        sheets, left = math.ceil(count(wanted.pages, "pages", 32) / 4), 0
    elif wanted.pile_sheets is not None:
        sheets = min(count(wanted.pile_sheets, "sheets in the pile", 8), most_sheets)
        left = wanted.pile_sheets - sheets
    else:
        sheets, left = min(round(number(practice.sheets_usual)), most_sheets), 0
    said = []
    if wanted.pages is not None and 4 * sheets != wanted.pages:
        said.append(f"{wanted.pages} pages are not a multiple of 4: {sheets} sheets give {4 * sheets}")
    if sheets > number(row):
        said.append(
            f"{sheets} sheets in one section are more than the {number(row):g} that makers stop at: "
            "take several sections, for example a long-stitch book"
        )
    return Sections(sheets, 1, left, (f"one section of {sheets} sheets ({row.rule_id})",), tuple(said))


def _of_sections(wanted: Wanted, sheets: int, reasons: list[str]) -> Sections:
    number_of = count(wanted.sections or 0, "sections", 5)
    said = []
    if wanted.odd and number_of % 2 == 0:
        said.append(
            f"{number_of} sections leave no line on the centre of the spine: "
            f"{number_of - 1 if number_of > 2 else 3} or {number_of + 1} would"
        )
    return Sections(sheets, number_of, 0, tuple(reasons), tuple(said))


def _of_pages(wanted: Wanted, options: list[int], pages: int, reasons: list[str]) -> Sections:
    count(pages, "pages", 80)

    def whole(sheets: int) -> int:
        number_of = math.ceil(pages / (4 * sheets))
        return number_of + 1 if wanted.odd and number_of % 2 == 0 else number_of

    best = min(options, key=lambda sheets: sheets * whole(sheets))  # the first, best sheets wins a tie
    number_of = whole(best)
    if len(options) > 1:
        reasons.append(f"of {options[-1]} to {options[0]} sheets, {best} comes nearest to {pages} pages")
    if wanted.odd:
        reasons.append(f"{number_of} sections, an odd number, so that one lies on the centre of the spine")
    total = 4 * best * number_of
    plural = "section" if number_of == 1 else "sections"
    said = () if total == pages else (f"{pages} pages asked, {total} given: {number_of} {plural} of {4 * best} pages",)
    return Sections(best, number_of, 0, tuple(reasons), said)


def _of_pile(wanted: Wanted, options: list[int], pile: int, reasons: list[str]) -> Sections:
    if count(pile, "sheets in the pile", 40) < min(options):
        raise BadInput(
            f"the pile gives {pile} sheets, less than one section of {min(options)}",
            expected="more leaves, a smaller page or fewer sheets in a section",
        )

    def whole(sheets: int) -> int:
        number_of = pile // sheets
        return number_of - 1 if wanted.odd and number_of % 2 == 0 else number_of

    able = [sheets for sheets in options if whole(sheets) > 0]
    best = min(able, key=lambda sheets: pile - sheets * whole(sheets))  # the first, best sheets wins a tie
    number_of, left = whole(best), pile - best * whole(best)
    if len(options) > 1:
        reasons.append(f"of {options[-1]} to {options[0]} sheets, {best} leaves fewest over")
    said = []
    if left:
        said.append(f"{left} of the pile's {pile} sheets are left over: endpapers, a pamphlet, or spares for a slip")
    return Sections(best, number_of, left, tuple(reasons), tuple(said))
