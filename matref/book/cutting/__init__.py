"""Cutting up sheets, boards and cloth with straight cuts from edge to edge."""

from matref.book.cutting.valuable import most_valuable

__all__ = ["most_valuable"]
