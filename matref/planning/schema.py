"""Every table and key of a plan file. The starter file and the reference text are made from this, and nothing else."""

from matref.planning.book_keys import BOOK, GRAINS, PAPER, PILE_GRAINS, STRUCTURES
from matref.planning.cover_keys import ALLOWANCES, COVER, ROLES, SEWING
from matref.planning.stock_keys import COMPARE, PIECES, SHOP, STOCK
from matref.planning.table import Table

__all__ = [
    "ALLOWANCES",
    "BOOK",
    "COMPARE",
    "COVER",
    "GRAINS",
    "PAPER",
    "PIECES",
    "PILE_GRAINS",
    "PLAN_TABLES",
    "ROLES",
    "SEWING",
    "SHOP",
    "STOCK",
    "STRUCTURES",
    "TABLES",
    "Table",
]

TABLES = (BOOK, PAPER, COVER, SEWING, STOCK, PIECES, SHOP, COMPARE)
PLAN_TABLES = (BOOK, PAPER, COVER, SEWING, STOCK)
