"""Pamphlet: one section in a folded cover, sewn through the fold by hand or machine."""

from __future__ import annotations

from matref.book.creep import single_section_cover_width_mm
from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.structures.parts import Block, Chain, Cover, Part, moved
from matref.errors import BadInput


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """The cover: 2·(X + o) + π·(s·t + c/2) wide, see `matref.book.creep.single_section_cover_width_mm`."""
    if block.sections != 1:
        raise BadInput(
            f"a pamphlet has one section, not {block.sections}",
            expected="sections = 1, or a structure for several sections such as long-stitch",
            example="sections = 1",
        )
    card, over, sheets = cover.need("card", "pamphlet"), number(practice.overhang), block.sheets_per_section

    def wrap(section: float) -> Chain:
        leaf_um = 1000 * section / (2 * sheets)
        width = single_section_cover_width_mm(block.page_width_mm, over, sheets, leaf_um, card.thickness_mm)
        side = block.page_width_mm + over
        return (
            ("page and overhang", side),
            ("round the fold", width - 2 * side),
            ("page and overhang", side),
        )

    high = (("overhang", over), ("page height", block.page_height_mm), ("overhang", over))
    text = f"overhang {over:.4g} mm at head, tail and fore-edge; round the fold {block.sure} to be enough"
    return (moved("cover", card, 1, wrap, high, text, block.section_mm, at_high=True),)
