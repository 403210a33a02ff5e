"""Cutting up sheets, boards and cloth with straight cuts from edge to edge."""

from matref.book.cutting.bolt import BoltLength, least_length
from matref.book.cutting.budget import Progress
from matref.book.cutting.layouts import lay_out
from matref.book.cutting.parts import Layouts, Part, Piece, SheetLayout
from matref.book.cutting.shapes import Cut, Layout, Offcut, Placed, Rect
from matref.book.cutting.valuable import most_valuable

__all__ = [
    "BoltLength",
    "Cut",
    "Layout",
    "Layouts",
    "Offcut",
    "Part",
    "Piece",
    "Placed",
    "Progress",
    "Rect",
    "SheetLayout",
    "lay_out",
    "least_length",
    "most_valuable",
]
