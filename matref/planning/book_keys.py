"""The keys of [book] and [paper]: what is to be made, and what is known of the paper."""

from __future__ import annotations

from matref.book import structures
from matref.estimator.assumptions import HELD, INSTRUMENT
from matref.planning.keys import Key
from matref.planning.table import Table, length_key

STRUCTURES = tuple(structures.STRUCTURES)
GRAINS = ("long", "short", "none", "unknown")
PILE_GRAINS = ("long", "short", "unknown")
BOOK = Table(
    "book",
    "What is to be made.",
    (
        Key("structure", "choice", "the kind of book", '"soft-cover"', "must be given", choices=STRUCTURES),
        length_key("page_width", "width of the trimmed page", "100", "must be given", low=10, high=2000),
        length_key(
            "page_height", "height of the trimmed page, along the spine", "150", "must be given", low=10, high=2000
        ),
        Key(
            "sections",
            "count",
            "number of sections",
            "5",
            "this, pages or use must be given",
            noun="sections",
            high=1000,
        ),
        Key("pages", "count", "pages wanted, instead of sections", "80", noun="pages"),
        Key(
            "use", "choice", "take all the paper there is, instead of sections", '"whole pile"', choices=("whole pile",)
        ),
        Key(
            "sheets_per_section",
            "count",
            "sheets folded together in one section",
            "4",
            "chosen from the paper, the trade's counts and the machine",
            noun="sheets",
        ),
        Key("title", "text", "what the book is called, for the sheet of work", '"pocket logbook"', "the structure"),
        Key("trim_head_tail", "flag", "trim head and tail too, not only the fore-edge", "true", "false"),
        Key("pressed", "flag", "the folded sections are pressed hard before sewing", "false", "true"),
        Key(
            "rounding_deg",
            "number",
            "angle of the round of the back",
            "100",
            "the rule; only a rounded case has one",
            high=180,
        ),
        Key("level", "number", "chance that the truth lies in each range", "0.9", "0.9", low=0.5, high=0.999),
        length_key(
            "clean_cut", "what the fore-edge trim takes off to come out clean", "2", "the rule", zero=True, high=50
        ),
        length_key("head_tail_trim", "what is trimmed at head and at tail", "3", "the rule", zero=True, high=50),
    ),
)
PAPER = Table(
    "paper",
    "What is known of the paper: a sample of yours, a measured sheet, or any of the other evidence. With nothing here "
    "the paper is taken as any text paper of the usual grammage, and the ranges are wide.",
    (
        Key("name", "text", "what you call it", '"tide tables of 1987"', "the class and the grammage"),
        Key("sample", "text", "id or label of a sample of yours", '"tide tables"'),
        Key(
            "pile",
            "text",
            "id or label of a pile on the shelf (see the stock table): its sample, leaves, size and grain",
            '"loft pile"',
        ),
        Key(
            "class",
            "names",
            "class of paper, or a list of possible ones",
            '"bond_writing"',
            "all, as they turn up in salvage",
        ),
        Key("grammage", "grammage", "grammage on the label, or a basis weight", "70", bare=True),
        Key("size", "size", "size of the sheets weighed; also of the pile's leaves", '"A4"'),
        Key("sheets", "count", "number of sheets weighed together", "20", noun="sheets"),
        Key("mass", "mass", "what those sheets weigh", "98", bare=True),
        Key("scale_resolution", "mass", "smallest step of the scale", "1", "last digit of the mass", bare=True),
        Key(
            "ream_mass",
            "mass",
            "mass of a ream of sheets of that size, as printed on its wrapper",
            '"2.3 kg"',
            bare=True,
        ),
        Key("ream_sheets", "count", "sheets in that ream, as printed", "500", noun="sheets"),
        Key("stack_sheets", "count", "number of sheets whose thickness was measured", "100", noun="sheets"),
        Key("stack", "measure", "thickness of that stack", '"10.5 mm"', bare=True),
        Key(
            "with",
            "choice",
            "what the stack was measured with",
            '"vernier"',
            "ruler",
            choices=tuple(INSTRUMENT),
        ),
        Key(
            "held",
            "choice",
            "how the stack was held",
            '"clamped"',
            "hand; gauge with a micrometer",
            choices=tuple(HELD),
        ),
        Key("book_pages", "count", "pages of a bound book of this paper", "240", noun="pages"),
        Key("book_thickness", "measure", "thickness of its closed text block", '"14 mm"', bare=True),
        Key("book_mass", "mass", "what that book weighs", "310", bare=True),
        Key("cover", "choice", "whether that book was weighed with its cover", '"off"', "on", choices=("on", "off")),
        Key("caliper", "thickness", "measured thickness of one sheet, instead of the evidence above", "104", bare=True),
        Key("in_block", "flag", "that thickness was measured per leaf in a pressed block", "true", "false"),
        Key("leaves", "count", "number of salvaged leaves in the pile", "60", "not counted", noun="leaves"),
        Key("leaf_size", "size", "size of those leaves", '"A4"', "size"),
        Key(
            "grain",
            "choice",
            "the side of the leaf along which its grain runs",
            '"long"',
            "unknown",
            choices=PILE_GRAINS,
        ),
        length_key(
            "edge",
            "what is cut off every side of a leaf first: holes, stains, torn edges",
            "5",
            "0",
            zero=True,
            high=500,
        ),
        Key("price", "number", "price of one leaf", "0.02", "not known"),
    ),
)
