"""Remnants too small for a cover: whatever is advised is followed here, and then the remnant gives the cover."""

from __future__ import annotations

import re
from typing import Any

import pytest

from matref.api import Workshop
from matref.planning import PlannedBook

BOOK = {"page_width_mm": 130, "page_height_mm": 190, "sections": 8, "sheets_per_section": 4}
COVERS: dict[str, dict[str, Any]] = {
    "soft-cover": {"cloth": "canvas_duck", "cloth_mm": 0.4, "card_mm": 0.3, "interfacing": "none"},
    "long-stitch": {"cloth": "canvas_duck", "cloth_mm": 0.4},
    "link-stitch": {"cloth": "canvas_duck", "cloth_mm": 0.4, "paper": "none"},
}
STRUCTURES = ("soft-cover", "long-stitch", "flat-back-case", "rounded-case", "quarter-case", "link-stitch")
CURE = re.compile(r"a page of (\d+) x (\d+) mm|a turn-in of (\d+) mm|(\d+) mm of cloth on each board")


def planned(
    workshop: Workshop, structure: str, remnant: str, book: dict[str, Any], cover: dict[str, Any]
) -> PlannedBook:
    """Invented books; the warp of the remnant lies along its second side, which is along the spine."""
    wide, high = (float(side) for side in remnant.split(" x "))
    piece = {"material": "cloth", "size": f"{remnant} mm", "grain": "long" if high >= wide else "short", "name": "sail"}
    tables = {"paper": {"caliper_um": 104}, "stock": {"pieces": [piece]}}
    return workshop.plan(
        {"book": {**BOOK, "structure": structure, **book}, "cover": {**COVERS.get(structure, {}), **cover}, **tables}
    )


def told(book: PlannedBook) -> list[str]:
    return [line for line in book.warnings if "remnant" in line or "on the shelf: not enough" in line]


@pytest.mark.parametrize("structure", STRUCTURES)
@pytest.mark.parametrize("lack", [(0, 3), (2, 0), (4, 5), (9, 40), (60, 0), (0, 150), (150, 170)], ids=str)
def test_what_is_advised_works(workshop: Workshop, structure: str, lack: tuple[int, int]) -> None:
    whole = planned(workshop, structure, "2000 x 2000", {}, {})
    assert not told(whole)
    need = whole.need("cloth")
    assert need is not None
    wide, high = (
        max(10.0, size - less)
        for size, less in zip((need.parts[0].width_mm, need.parts[0].length_mm), lack, strict=True)
    )
    remnant = f"{wide:g} x {high:g}"
    lines = told(planned(workshop, structure, remnant, {}, {}))
    assert len(lines) == 1
    cures = CURE.findall(lines[0])
    assert bool(cures) == ("needs" in lines[0] and "fits turned" not in lines[0])
    for width, height, turn_in, shown in cures:
        book: dict[str, Any] = {}
        cover: dict[str, Any] = {}
        if width:
            book = {"page_width_mm": int(width), "page_height_mm": int(height)}
            assert min(book.values()) >= 30
        elif turn_in:
            cover = {"turn_in_mm": int(turn_in)}
            assert structure not in ("long-stitch", "link-stitch")
        else:
            cover = {"quarter_show_mm": int(shown)}
            assert structure == "quarter-case"
        assert not told(planned(workshop, structure, remnant, book, cover)), (lines[0], book, cover)


def test_a_cloth_back_is_made_narrower_by_what_shows_on_the_boards(workshop: Workshop) -> None:
    """A quarter case's cloth back is as wide for a small page as for a large one; its height goes with the page."""
    need = planned(workshop, "quarter-case", "2000 x 2000", {}, {}).need("cloth")
    assert need is not None
    (back,) = need.parts
    (narrow,) = told(planned(workshop, "quarter-case", f"{back.width_mm - 4:g} x {back.length_mm:g}", {}, {}))
    assert "a page of" not in narrow
    assert ": 23 mm of cloth on each board would do" in narrow  # 25 mm by the rule, less half of 4 on each side
    (short,) = told(planned(workshop, "quarter-case", f"{back.width_mm:g} x {back.length_mm - 3:g}", {}, {}))
    assert "a page of 130 x 187 mm or a turn-in of 15 mm would do" in short  # 17 mm by the rule, less half of 3
