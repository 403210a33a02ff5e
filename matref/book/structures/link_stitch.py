"""Link stitch: sections and two covered boards chained to each other over an open spine."""

from __future__ import annotations

from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.structures.parts import Block, Cover, Part, fixed, framed

HOLES = "holes from the spine edge"
"""The mark on a board that says how far in it is pierced, mm."""


def parts(block: Block, cover: Cover, practice: Practice) -> tuple[Part, ...]:
    """Two boards, their covering turned in on four sides, and the papers that line them. The spine moves nothing.

    Board W + q by H + 2·q, flush with the folds at the spine, its holes a rule's distance from that edge; covering
    board + 2·TI each way. Own derivation.
    """
    board, material = cover.need("board", "link-stitch book"), "paper" if cover.paper is not None else "cloth"
    sheet = cover.need(material, "link-stitch book")
    square, turn, short = number(practice.square), number(practice.turn_in), number(practice.endpaper_short)
    width = (("page", block.page_width_mm), ("square at the fore-edge", square))
    height = framed("square", square, ("page height", block.page_height_mm))
    lining = cover.endpaper or sheet
    return (
        fixed(
            "board",
            board,
            2,
            width,
            height,
            f"square {square:.4g} mm at head, tail and fore-edge",
            marks=((HOLES, number(practice.board_edge)),),
        ),
        fixed(
            "board covering",
            sheet,
            2,
            framed("turn-in", turn, *width),
            framed("turn-in", turn, *height),
            f"turn-in {turn:.4g} mm on all four sides",
        ),
        fixed(
            "board lining",
            lining,
            2,
            framed("margin", -short, *width),
            framed("margin", -short, *height),
            f"{short:.4g} mm inside the board all round",
        ),
    )
