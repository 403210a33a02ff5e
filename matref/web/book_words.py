"""The words in which the form of a plan asks: labels, examples, hints and choices, as a bookbinder says them."""

from __future__ import annotations

from collections.abc import Mapping

from matref.planning.schema import ROLES
from matref.web.asking import Choices

WORDS: Mapping[str, tuple[str, str, str]] = {
    "book.structure": ("Kind of book", "", ""),
    "book.page_width_mm": ("Page width", "100", "Of the finished page, trimmed."),
    "book.page_height_mm": ("Page height", "150", "Along the spine."),
    "book.sections": ("How many sections", "5", "This, or the pages below."),
    "book.pages": ("Or how many pages", "80", ""),
    "book.use": ("Make of them", "", ""),
    "book.sheets_per_section": ("Sheets in a section", "4", "Left empty, matref chooses what suits the paper."),
    "book.title": ("What you call the book", "Pocket logbook", ""),
    "book.pressed": ("Folded sections", "", ""),
    "book.trim_head_tail": ("Head and tail", "", ""),
    "book.clean_cut": ("Trimmed off the fore-edge", "", "To come out clean, beyond the creep."),
    "book.head_tail_trim": ("Trimmed off head and off tail", "", ""),
    "book.rounding_deg": ("Round of the back", "100", "The angle of its arc; only for a rounded back."),
    "book.level": ("How sure the ranges should be", "0.9", "0.9 means: true nine times in ten."),
    "paper.sample": ("One of my samples", "", ""),
    "paper.pile": ("A pile of my stock", "", "Brings its leaves, size and grain along."),
    "paper.caliper": ("Thickness of one sheet", "104", "Under a gauge, if you have measured it."),
    "paper.in_block": ("That thickness was measured", "", ""),
    "paper.name": ("What you call the paper", "tide tables of 1987", ""),
    "paper.leaves": ("Leaves you have", "60", ""),
    "paper.leaf_size": ("Size of a leaf", "A4", "A4, foolscap, 210 × 297 mm."),
    "paper.grain": ("Its grain runs", "", "A leaf bends more easily along its grain."),
    "paper.edge": ("Cut off every side first", "5", "Holes, stains, torn edges."),
    "paper.price": ("Price of a leaf", "0.02", ""),
    "cover.square": ("Square", "", "What boards stand out beyond the page."),
    "cover.turn_in": ("Turn-in", "", "Cloth or paper turned over the edge."),
    "cover.overhang": ("Overhang of a soft cover", "", "What it stands out beyond the page."),
    "cover.gap": ("Joint", "", "Cloth between board and spine piece."),
    "cover.quarter_show": ("Cloth seen on each board", "", "Of a quarter case."),
    "cover.side_paper_overlap": ("Side paper over that cloth", "", ""),
    "cover.lining_side": ("Mull on each board", "", ""),
    "cover.lining_short": ("Mull and lining short of head and tail", "", ""),
    "cover.endpaper_short": ("Pasted endpaper short of the page", "", "On three sides; or a lining of its board."),
    "cover.interfacing_clearance": ("Interfacing and card inside the edge", "", ""),
    "cover.long_stitch_extra": ("Long-stitch cover larger than the block", "", "Both sides together."),
    "cover.mitre_over_board": ("Mitre: corner cut off the board", "", "In thicknesses of the board."),
    "cover.shoulder_over_board": ("Shoulders of a backed book", "", "In thicknesses of the board."),
    "cover.endpaper_leaves": ("Leaves of endpaper", "4", "Both ends together, 4 or 8."),
    "sewing.by": ("Sewn", "", ""),
    "sewing.thread": ("Thread", "30/3 linen", "A count with its fibre, one of the list, or how thick it is: 0.5 mm."),
    "sewing.needle": ("Needle", "90/14", "Left empty, matref chooses one."),
    "sewing.machine_limit": ("Your machine sews through", "", "The thickest it manages."),
    "sewing.longest_stitch": ("Its longest stitch", "4", ""),
    "sewing.stitch": ("Length of a stitch", "", "By machine."),
    "sewing.pitch": ("Between the sewing lines", "", "Through a soft cover."),
    "sewing.end": ("From head and tail to the nearest hole", "", ""),
    "sewing.stations": ("Stations", "5", "Holes along the fold; for a case, tapes."),
    "sewing.two_on": ("Two-on", "", "Two sections on one thread, for cases."),
    "sewing.singly": ("Still sewn all along at the ends", "2", "Sections of a two-on book."),
    "sewing.endpapers": ("Endpapers of a case", "", ""),
    "sewing.coated": ("Coated cloth or paper", "", "It tears along the holes."),
    "sewing.paper_left_least": ("Paper left between holes", "", "The least share: 0.6 is 60 %."),
    "sewing.thread_tail": ("Thread to spare at each end", "", ""),
    "sewing.tape_width": ("Width of a tape", "", ""),
    "sewing.tape_side": ("Tape on each board", "", ""),
    "sewing.board_edge": ("Holes in boards from their spine edge", "", "Of a link stitch."),
    "stock.use_shelf": ("Pieces of my stock", "", "Cloth, board and card that you keep under My stock."),
    "stock.keep": ("An offcut is worth keeping from", "30", "Its shorter side."),
    "stock.blade": ("Every cut loses", "0", ""),
    "stock.currency": ("Money that prices are in", "EUR", ""),
}
"""Name or stem of a key to label, example and hint."""
MATERIALS: Mapping[str, str] = {
    "cloth": "Cloth",
    "interfacing": "Interfacing",
    "card": "Card",
    "board": "Boards",
    "paper": "Paper for the sides",
    "endpaper": "Endpapers",
    "mull": "Mull",
    "lining": "Lining of the back",
}
"""Role of a material to what it is called."""
HINTS: Mapping[str, str] = {
    "cloth": "From the list, or what you call it with its thickness beside.",
    "endpaper": "Write text for endpapers of the book's own paper.",
}
"""Role of a material to what helps to name it."""
CHOICES: Mapping[str, Choices] = {
    "book.structure": (
        ("pamphlet", "pamphlet: one section, sewn through its fold"),
        ("soft-cover", "soft cover: sections sewn through it"),
        ("long-stitch", "long stitch: stitches show on the spine"),
        ("link-stitch", "link stitch: separate boards, open spine"),
        ("flat-back-case", "case with a flat back"),
        ("quarter-case", "quarter case: cloth back, paper sides"),
        ("rounded-case", "case with a rounded back"),
    ),
    "book.use": (("", "a book as long as said above"), ("whole pile", "a book that uses them all up")),
    "book.pressed": (("", "are pressed hard before sewing"), ("no", "are not pressed")),
    "book.trim_head_tail": (("", "stay as they are"), ("yes", "are trimmed too")),
    "paper.in_block": (("", "on a single sheet"), ("yes", "per leaf in a pressed block")),
    "paper.grain": (("", "not known"), ("long", "along its long side"), ("short", "along its short side")),
    "sewing.by": (("", "as such a book usually is"), ("machine", "by machine"), ("hand", "by hand")),
    "sewing.two_on": (("", "no, all along"), ("yes", "yes, two-on")),
    "sewing.endpapers": (("", "are sewn on as sections of their own"), ("tipped", "are tipped on with paste")),
    "sewing.coated": (("", "no"), ("yes", "yes")),
    "stock.use_shelf": (("", "cut from them first"), ("no", "leave them out")),
}
USUAL: Mapping[str, str] = {
    "book.pressed": "yes",
    "book.trim_head_tail": "no",
    "paper.in_block": "no",
    "paper.grain": "unknown",
    "sewing.two_on": "no",
    "sewing.endpapers": "sewn",
    "sewing.coated": "no",
    "stock.use_shelf": "yes",
}
OF: Mapping[str, str] = {"book.rounding_deg": "°"}
OFFERS: Mapping[str, str] = {
    "paper.sample": "samples",
    "paper.pile": "piles",
    "sewing.thread": "threads",
    "sewing.needle": "needles",
    **{f"cover.{role}": "cloths" if role in ("cloth", "interfacing", "mull") else "boards" for role in ROLES},
}
