"""Creep: how far nested sheets push out at the fore-edge, what the trim takes, and what to cut to start with.

Cross-section of s equal sheets of thickness t nested on one fold, counted from the inside, k = 1 ... s. The
middle of sheet k lies r_k = (k - 1/2)·t from the centre plane. Sheets do not stretch at mid-thickness. The
"page width" is that of the outermost sheet from its own fold. All formulas are own derivations; the tests
lay the sheets out point by point and measure.
"""

from __future__ import annotations

import math

from matref.book.check import count, leaf_mm, left_over, not_negative, positive
from matref.errors import BadInput

FULL_CONTACT = math.pi / 2
"""Stagger per nested sheet, in leaf thicknesses, when sheets touch all round a smooth fold."""
CRUSHED = 1.0
"""The same when the folds are pressed into one plane and add no thickness at the spine."""
SQUARE = 2.0
"""The same for a square fold with two mitred corners."""


def _gaps(sheets_per_section: int) -> int:
    return count(sheets_per_section, "sheets in a section", 4) - 1


def stagger_mm(sheets_per_section: int, leaf_um: float, per_sheet: float = FULL_CONTACT) -> float:
    """How far the innermost sheet stands out beyond the outermost before trimming, mm.

    s sheets; t leaf thickness, given in µm; κ stagger per sheet in leaf thicknesses. Formula C = κ·(s - 1)·t.
    Exact with κ = π/2 for sheets in contact: parallel curves through a quarter turn differ in length by
    (π/2)·t whatever the shape of the smooth fold. Model for other κ.

    >>> round(stagger_mm(4, 100), 3)
    0.471
    """
    return positive(per_sheet, "stagger per sheet, leaf thicknesses", 1.57) * page_loss_mm(sheets_per_section, leaf_um)


def stagger_limits_mm(sheets_per_section: int, leaf_um: float) -> tuple[float, float]:
    """Least and most stagger to expect, mm: (s - 1)·t with crushed folds, 2·(s - 1)·t with square ones.

    Exact for those two shapes; real folds lie between unless they are creased to a sharp V.

    >>> [round(x, 2) for x in stagger_limits_mm(4, 100)]
    [0.3, 0.6]
    """
    return (
        stagger_mm(sheets_per_section, leaf_um, CRUSHED),
        stagger_mm(sheets_per_section, leaf_um, SQUARE),
    )


def crease_stagger(half_angle_deg: float) -> float:
    """Stagger per sheet, in leaf thicknesses, of a V-shaped crease whose sides bend round to the flat leaves.

    a angle between one side of the V and the leaves, above 0 to 90 degrees. Formula κ = a + cot a (a in
    radians): the mitred point adds cot a, the turn into the leaf adds a. Exact for sheets in contact.

    >>> round(crease_stagger(45), 3)
    1.785
    """
    angle = positive(half_angle_deg, "half angle of the crease, degrees", 45)
    if angle > 90:
        raise BadInput(f"half angle of the crease is {angle:g} degrees", expected="90 or less", example="45")
    radians = math.radians(angle)
    return radians + 1 / math.tan(radians)


def fold_offsets_mm(sheets_per_section: int, leaf_um: float) -> tuple[float, ...]:
    """Distance of each sheet's fold from the outermost fold, mm, outermost first: 0, t, 2·t ...

    Exact for sheets in contact.

    >>> [round(x, 2) for x in fold_offsets_mm(4, 100)]
    [0.0, 0.1, 0.2, 0.3]
    """
    thickness = leaf_mm(leaf_um)
    return tuple(k * thickness for k in range(_gaps(sheets_per_section) + 1))


def page_loss_mm(sheets_per_section: int, leaf_um: float) -> float:
    """How much narrower the innermost page is than the outermost after one flush cut, mm: (s - 1)·t.

    Exact wherever the cut is made: every page ends at the same line but starts at its own fold.

    >>> round(page_loss_mm(8, 100), 2)
    0.7
    """
    return _gaps(sheets_per_section) * leaf_mm(leaf_um)


def page_widths_mm(page_width_mm: float, sheets_per_section: int, leaf_um: float) -> tuple[float, ...]:
    """Width of each sheet's pages from its own fold after a flush cut, mm, outermost first: P - k·t.

    P page width of the outermost sheet. Exact for sheets in contact.

    >>> [round(x, 1) for x in page_widths_mm(100, 3, 200)]
    [100.0, 99.8, 99.6]
    """
    outer = positive(page_width_mm, "page width, mm", 100)
    widths = tuple(outer - offset for offset in fold_offsets_mm(sheets_per_section, leaf_um))
    left_over(widths[-1], "the innermost page", "the section is thicker than the page is wide")
    return widths


def least_trim_mm(
    sheets_per_section: int, leaf_um: float, clean_cut_mm: float = 0.0, per_sheet: float = FULL_CONTACT
) -> float:
    """What a flush cut takes off the innermost (longest) leaf, mm: C + a.

    C stagger; a what is cut off the outermost leaf as well, for a clean edge. Exact given κ.

    >>> round(least_trim_mm(16, 100), 2)
    2.36
    """
    return stagger_mm(sheets_per_section, leaf_um, per_sheet) + not_negative(clean_cut_mm, "clean cut, mm", 1)


def sheet_width_before_trim_mm(
    page_width_mm: float, sheets_per_section: int, leaf_um: float, clean_cut_mm: float = 0.0
) -> float:
    """Flat width of the sheets to cut so that the outermost page ends at the wanted width, mm.

    P page width of the outermost sheet from its fold; s, t as above; a clean cut, mm.
    Formula 2·(P + (π/2 - 1)·(s - 1/2)·t + a). Exact for round folds in contact: the quarter turn of the
    outermost sheet uses (π/2)·r and gives back r.

    >>> round(sheet_width_before_trim_mm(100, 4, 100, clean_cut_mm=2), 3)
    204.4
    """
    page = positive(page_width_mm, "page width, mm", 100)
    outer_radius = (_gaps(sheets_per_section) + 0.5) * leaf_mm(leaf_um)
    return 2 * (page + (math.pi / 2 - 1) * outer_radius + not_negative(clean_cut_mm, "clean cut, mm", 1))


def single_section_cover_width_mm(
    page_width_mm: float, overhang_mm: float, sheets_per_section: int, leaf_um: float, cover_mm: float
) -> float:
    """Flat width of the one-piece cover folded round a single section, mm.

    P page width of the outermost sheet from its fold; o overhang at the fore-edge; s, t as above; c cover
    thickness. The fore-edge lies X = P - (s - 1/2)·t from the centre of the fold.
    Formula 2·(X + o) + π·(s·t + c/2). Exact for a round fold: the cover's middle has radius s·t + c/2.

    >>> round(single_section_cover_width_mm(100, 0, 4, 100, 0.3), 3)
    201.028
    """
    page, overhang = positive(page_width_mm, "page width, mm", 100), not_negative(overhang_mm, "overhang, mm")
    nest = (_gaps(sheets_per_section) + 1) * leaf_mm(leaf_um)
    half_flat = left_over(
        page - nest + leaf_mm(leaf_um) / 2,
        "the flat of the page",
        "the section is thicker than the page is wide",
    )
    return 2 * (half_flat + overhang) + math.pi * (nest + positive(cover_mm, "cover thickness, mm", 0.3) / 2)
