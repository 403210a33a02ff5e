"""The keys of [cover] and [sewing]: materials, allowances, thread, needle and stitches.

An allowance names the fields of `matref.book.practice.Practice` that it takes the place of.
"""

from __future__ import annotations

from collections.abc import Mapping

from matref.planning.keys import Key
from matref.planning.table import Table, length_key

ROLES: Mapping[str, str] = {
    "cloth": "outermost cloth of a full or quarter cover",
    "interfacing": "fusible interfacing behind the cloth",
    "card": "card: lining of a soft cover, a limp cover, or the stiffener in a case's spine",
    "board": "boards",
    "paper": "paper for the sides, or to cover separate boards",
    "endpaper": 'endpapers, or the lining of separate boards; "text" for the paper of the text',
    "mull": "open cloth glued to the back",
    "lining": "paper lining of the back",
}
"""The materials of a cover: what each is for."""
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
    "board_edge": ("board_edge",),
    "tape_side": ("tape_side",),
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
            length_key(
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
        length_key("square", "what boards stand out beyond the page", "3", "the rule", zero=True, high=100),
        length_key("turn_in", "cloth or paper turned over the edge", "17", "the rule", zero=True, high=200),
        length_key("overhang", "what a limp cover stands out beyond the page", "1", "the rule", zero=True, high=100),
        length_key(
            "gap", "joint: cloth between board and spine piece", "8", "the rule", zero=True, high=100, also=("joint",)
        ),
        length_key("quarter_show", "cloth on each board of a quarter case", "25", "the rule", zero=True, high=300),
        length_key("side_paper_overlap", "side paper over the edge of that cloth", "3", "the rule", zero=True, high=50),
        length_key("lining_side", "mull on each board", "32", "the rule", zero=True, high=200),
        length_key("lining_short", "mull and lining short of head and tail", "3", "the rule", zero=True, high=100),
        length_key(
            "endpaper_short",
            "pasted endpaper short of the page, or a lining short of its separate board",
            "2.5",
            "the rule",
            zero=True,
            high=50,
        ),
        length_key(
            "interfacing_clearance",
            "interfacing and card inside the finished edge",
            "2",
            "the rule",
            zero=True,
            high=50,
        ),
        length_key(
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
            "leaves of endpaper, both ends together; folded sheets alike at both ends, so 4 or 8",
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
        length_key(
            "machine_limit", "what the machine sews through", "2", "your setting, or the rule", low=0.1, high=50
        ),
        length_key("longest_stitch", "the machine's longest stitch", "4", "not limited", low=0.5, high=30),
        length_key("pitch", "distance of the sewing lines through a soft cover", "2", "the rule", low=0.1, high=50),
        length_key("stitch", "length of a machine stitch", "4", "the rule", low=0.5, high=30),
        length_key("end", "from head and tail to the first and last hole", "10", "the rule", zero=True, high=500),
        Key(
            "stations", "count", "number of stations; of tapes, for a case", "5", "the rule", noun="stations", high=100
        ),
        Key("two_on", "flag", "two sections on one thread (cases)", "true", "false"),
        Key(
            "singly",
            "count",
            "sections at the ends of a two-on book still sewn all along",
            "4",
            "the first and the last, and an odd one that is left over",
            noun="sections",
            zero=True,
        ),
        Key(
            "endpapers",
            "choice",
            "how the endpapers of a case are joined to the block",
            '"tipped"',
            "sewn, as sections of their own",
            choices=("sewn", "tipped"),
        ),
        Key("coated", "flag", "coated cloth or paper, which tears along the holes", "true", "false"),
        Key("paper_left_least", "number", "least share of paper left between machine holes", "0.6", "the rule", high=1),
        length_key("thread_tail", "thread to spare at each end", "100", "the rule", zero=True, high=2000),
        length_key("tape_width", "width of a tape", "12", "the rule", low=1, high=100),
        length_key(
            "board_edge", "from a link stitch's boards' spine edge to their holes", "8", "the rule", low=2, high=50
        ),
        length_key("tape_side", "tape on each board", "30", "the rule", zero=True, high=200),
    ),
)
