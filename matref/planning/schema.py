"""Every table and key of a plan file. The starter file and the reference text are made from this, and nothing else.

An allowance names the fields of `matref.book.practice.Practice` that it takes the place of.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from matref.planning.keys import Key

STRUCTURES = (
    "pamphlet",
    "soft-cover",
    "long-stitch",
    "link-stitch",
    "flat-back-case",
    "quarter-case",
    "rounded-case",
)
ROLES: Mapping[str, str] = {
    "cloth": "outermost cloth of a full or quarter cover",
    "interfacing": "fusible interfacing behind the cloth",
    "card": "card: lining of a soft cover, a limp cover, or the stiffener in a case's spine",
    "board": "boards",
    "paper": "paper for the sides, or to cover separate boards",
    "endpaper": "endpapers, or the lining of separate boards",
    "mull": "open cloth glued to the back",
    "lining": "paper lining of the back",
}
"""The materials of a cover: what each is for."""

GRAINS = ("long", "short", "none", "unknown")
PILE_GRAINS = ("long", "short", "unknown")


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the file: its path, what it is for, its keys."""

    path: str
    meaning: str
    keys: tuple[Key, ...]
    many: bool = False

    @property
    def heading(self) -> str:
        """The heading as TOML writes it."""
        return f"[[{self.path}]]" if self.many else f"[{self.path}]"

    def find(self, name: str) -> Key | None:
        """Return the key that goes by this name."""
        return next((key for key in self.keys if name in key.names), None)

    @property
    def names(self) -> tuple[str, ...]:
        """Every name understood in this table."""
        return tuple(name for key in self.keys for name in key.names)


def _length(stem: str, meaning: str, example: str, default: str, **more: object) -> Key:
    return Key(stem, "length", meaning, example, default, **more)  # type: ignore[arg-type]


BOOK = Table(
    "book",
    "What is to be made.",
    (
        Key("structure", "choice", "the kind of book", '"soft-cover"', "must be given", choices=STRUCTURES),
        _length("page_width", "width of the trimmed page", "100", "must be given", low=10, high=2000),
        _length(
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
        Key("trim_head_tail", "flag", "trim head and tail after sewing, not only the fore-edge", "true", "false"),
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
        _length(
            "clean_cut", "what the fore-edge trim takes off to come out clean", "2", "the rule", zero=True, high=50
        ),
        _length("head_tail_trim", "what is trimmed at head and at tail", "3", "the rule", zero=True, high=50),
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
            choices=("ruler", "vernier", "micrometer"),
        ),
        Key(
            "held",
            "choice",
            "how the stack was held",
            '"clamped"',
            "hand; gauge with a micrometer",
            choices=("hand", "clamped", "gauge"),
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
        _length(
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
ALLOWANCES: Mapping[str, tuple[str, ...]] = {
    "square": ("square",),
    "overhang": ("overhang",),
    "long_stitch_extra": ("long_stitch_extra",),
    "turn_in": ("turn_in", "turn_in_soft"),
    "gap": ("gap",),
    "quarter_show": ("quarter_show",),
    "side_paper_overlap": ("side_paper_overlap",),
    "lining_side": ("lining_side",),
    "lining_short": ("lining_short",),
    "endpaper_short": ("endpaper_short",),
    "interfacing_clearance": ("interfacing_clearance",),
    "mitre_over_board": ("mitre_over_board",),
    "shoulder_over_board": ("shoulder_over_board",),
    "endpaper_leaves": ("endpaper_leaves",),
    "clean_cut": ("clean_cut",),
    "head_tail_trim": ("head_tail_trim",),
    "machine_limit": ("under_needle_limit",),
    "paper_left_least": ("paper_left_least",),
    "thread_tail": ("thread_tail",),
    "tape_width": ("tape_width",),
}
"""Keys that take the place of a rule: the fields of Practice that each fills."""

_EXAMPLES = {
    "cloth": "canvas_duck",
    "interfacing": "none",
    "card": "cover_uncoated",
    "board": "greyboard.2.0mm",
    "paper": "map_chart",
    "endpaper": "drawing_cartridge",
    "mull": "gauze_mull",
    "lining": "kraft",
}


def _material(role: str, meaning: str) -> Key:
    words = f"{meaning}: an id, a name beside a thickness, or none"
    return Key(role, "text", words, f'"{_EXAMPLES[role]}"', "what the structure needs")


COVER = Table(
    "cover",
    "Materials by the id of a catalogue entry or of a class, or by measured thickness; then the allowances, each in "
    "place of a rule.",
    (
        *(_material(role, meaning) for role, meaning in ROLES.items()),
        *(
            _length(
                role,
                f"measured thickness of the {role}",
                "2.5" if role == "board" else "0.3",
                "from the entry or its class",
                low=0.005,
                high=20,
            )
            for role in ROLES
        ),
        *(
            Key(
                role,
                "grammage",
                f"mass per area of the {role}, or a basis weight, or oz/yd2",
                "250",
                "from the entry or its class",
            )
            for role in ROLES
        ),
        _length("square", "what boards stand out beyond the page", "3", "the rule", zero=True, high=100),
        _length("turn_in", "cloth or paper turned over the edge", "17", "the rule", zero=True, high=200),
        _length("overhang", "what a limp cover stands out beyond the page", "1", "the rule", zero=True, high=100),
        _length(
            "gap", "joint: cloth between board and spine piece", "8", "the rule", zero=True, high=100, also=("joint",)
        ),
        _length("quarter_show", "cloth on each board of a quarter case", "25", "the rule", zero=True, high=300),
        _length("side_paper_overlap", "side paper over the edge of that cloth", "3", "the rule", zero=True, high=50),
        _length("lining_side", "mull on each board", "32", "the rule", zero=True, high=200),
        _length("lining_short", "mull and lining short of head and tail", "3", "the rule", zero=True, high=100),
        _length("endpaper_short", "pasted endpaper inside the board's edge", "2.5", "the rule", zero=True, high=50),
        _length(
            "interfacing_clearance",
            "interfacing and card inside the finished edge",
            "2",
            "the rule",
            zero=True,
            high=50,
        ),
        _length(
            "long_stitch_extra",
            "what a long-stitch cover is larger than the block, both sides together",
            "6",
            "the rule",
            zero=True,
            high=100,
        ),
        Key(
            "mitre_over_board",
            "number",
            "corner cut that far from the board, in board thicknesses",
            "1.25",
            "the rule",
            high=5,
        ),
        Key(
            "shoulder_over_board",
            "number",
            "shoulders of a backed book, in board thicknesses",
            "1.1",
            "the rule",
            high=5,
        ),
        Key(
            "endpaper_leaves",
            "count",
            "leaves of endpaper, both ends together",
            "4",
            "the rule",
            noun="leaves",
            high=40,
        ),
    ),
)
SEWING = Table(
    "sewing",
    "How it is sewn, and with what.",
    (
        Key("by", "choice", "machine or hand", '"machine"', "as the structure usually is", choices=("machine", "hand")),
        Key(
            "thread",
            "text",
            "a count with its fibre, a thread of the catalogue, or a diameter",
            '"30/3 linen"',
            "linen 25/3 by hand, metric ticket 75 by machine",
        ),
        Key("needle", "text", "a needle number or an id of the catalogue", '"90/14"', "chosen for what is under it"),
        _length("machine_limit", "what the machine sews through", "2", "the rule, or your setting", low=0.1, high=50),
        _length("longest_stitch", "the machine's longest stitch", "4", "not limited", low=0.5, high=30),
        _length("pitch", "distance of the sewing lines through a soft cover", "2", "the rule", low=0.1, high=50),
        _length("stitch", "length of a machine stitch", "4", "the rule", low=0.5, high=30),
        _length("end", "from head and tail to the first and last hole", "10", "the rule", zero=True, high=500),
        Key(
            "stations", "count", "number of stations; of tapes, for a case", "5", "the rule", noun="stations", high=100
        ),
        Key("two_on", "flag", "two sections on one thread (cases)", "true", "false"),
        Key(
            "singly",
            "count",
            "sections at the ends of a two-on book still sewn all along",
            "4",
            "none",
            noun="sections",
        ),
        Key("coated", "flag", "coated cloth or paper, which tears along the holes", "true", "false"),
        Key("paper_left_least", "number", "least share of paper left between machine holes", "0.6", "the rule", high=1),
        _length("thread_tail", "thread to spare at each end", "100", "the rule", zero=True, high=2000),
        _length("tape_width", "width of a tape", "12", "the rule", low=1, high=100),
    ),
)
PIECES = Table(
    "stock.pieces",
    "A piece on your shelf: a remnant, a board, an offcut.",
    (
        Key("material", "choice", "what it is for", '"cloth"', "must be given", choices=tuple(ROLES)),
        Key("size", "size", "its two sides", '"600 x 450 mm"', "must be given"),
        Key("name", "text", "what you call it", '"sailcloth offcut"', "the material and a number"),
        Key("count", "count", "how many of them", "1", "1", noun="pieces", high=500),
        Key("grain", "choice", "the side along which the grain or the warp runs", '"long"', "unknown", choices=GRAINS),
        Key("price", "number", "price of one", "0.5", "not known"),
    ),
    many=True,
)
SHOP = Table(
    "stock.shop",
    "Something that can be bought: a sheet of a size, cloth off a bolt of a width, thread on a spool.",
    (
        Key("material", "choice", "what it is for", '"board"', "must be given", choices=(*ROLES, "thread")),
        Key("name", "text", "what the shop calls it", '"greyboard 2 mm"', "the material"),
        Key("size", "size", "size of one sheet", '"700 x 1000 mm"'),
        Key("grain", "choice", "the side along which its grain runs", '"long"', "long", choices=GRAINS),
        _length("width", "width of the bolt, for cloth sold by length", "1400", "none", low=50, high=6000),
        Key(
            "shrinkage_pct",
            "number",
            "how much the cloth shrinks when washed, each way",
            "3",
            "the entry's figure, or the rule",
            high=60,
        ),
        Key("length_m", "number", "length on one spool of thread", "100", low=0.1),
        Key("price", "number", "price of one sheet, one metre off the bolt, or one spool", "3.8", "not known"),
    ),
    many=True,
)
STOCK = Table(
    "stock",
    "What is on the shelf and what can be bought.",
    (
        Key("currency", "text", "the money that prices are in", '"EUR"', "not named"),
        Key("use_shelf", "flag", "also look through the stock table of the workshop file", "true", "false"),
        _length("keep", "shorter side of an offcut worth keeping", "30", "30", zero=True, high=1000),
        _length("blade", "what every cut loses", "0", "0", zero=True, high=20),
    ),
)
COMPARE = Table(
    "compare",
    "A candidate to set beside this plan: any of the tables above, each key in place of the plan's own; a paper "
    "replaces the whole table.",
    (Key("name", "text", "what the candidate is called", '"thinner thread"', "its number"),),
    many=True,
)
TABLES = (BOOK, PAPER, COVER, SEWING, STOCK, PIECES, SHOP, COMPARE)
PLAN_TABLES = (BOOK, PAPER, COVER, SEWING, STOCK)
