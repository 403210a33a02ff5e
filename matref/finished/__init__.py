"""Finished books: what was predicted, what was measured, and what the pressing and swell factors learn from it."""

from matref.finished.books import FinishedBooks
from matref.finished.learning import fibre_of, flattening_posterior, pressing_posterior, taught
from matref.finished.record import Compared, FinishedBook

__all__ = [
    "Compared",
    "FinishedBook",
    "FinishedBooks",
    "fibre_of",
    "flattening_posterior",
    "pressing_posterior",
    "taught",
]
