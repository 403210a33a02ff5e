"""The keys of [stock] and its tables, and of the candidates under [[compare]]."""

from __future__ import annotations

from matref.planning.book_keys import GRAINS
from matref.planning.cover_keys import ROLES
from matref.planning.keys import Key
from matref.planning.table import Table, length_key

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
    "Something that can be bought: a sheet of a size, cloth off a bolt of a width, thread or tape by the roll.",
    (
        Key("material", "choice", "what it is for", '"board"', "must be given", choices=(*ROLES, "thread", "tape")),
        Key("name", "text", "what the shop calls it", '"greyboard 2 mm"', "the material"),
        Key("size", "size", "size of one sheet", '"700 x 1000 mm"'),
        Key("grain", "choice", "the side along which its grain runs", '"long"', "long", choices=GRAINS),
        length_key("width", "width of the bolt, for cloth sold by length", "1400", "none", low=50, high=6000),
        Key(
            "shrinkage_pct",
            "number",
            "how much the cloth shrinks when washed, each way",
            "3",
            "the entry's figure, or the rule",
            high=60,
        ),
        Key("length_m", "number", "length on one spool of thread or roll of tape", "100", low=0.1),
        Key("price", "number", "price of one sheet, one metre off the bolt, one spool or one roll", "3.8", "not known"),
    ),
    many=True,
)
STOCK = Table(
    "stock",
    "What is on the shelf and what can be bought.",
    (
        Key("currency", "text", "the money that prices are in", '"EUR"', "not named"),
        Key("use_shelf", "flag", "also look through the stock table of the workshop file", "true", "false"),
        length_key("keep", "shorter side of an offcut worth keeping", "30", "30", zero=True, high=1000),
        length_key("blade", "what every cut loses", "0", "0", zero=True, high=20),
    ),
)
COMPARE = Table(
    "compare",
    "A candidate to set beside this plan: any of the tables above, each key in place of the plan's own; a paper "
    "replaces the whole table.",
    (Key("name", "text", "what the candidate is called", '"thinner thread"', "its number"),),
    many=True,
)
