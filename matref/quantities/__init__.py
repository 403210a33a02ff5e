"""Typed text to numbers in SI units, and back.

Parsers take what a person types, or a bare number in a stated unit, and give a frozen result or raise BadInput,
never anything else. A decimal comma is read like a point; '1,000' is refused because it may mean either.

>>> parse_length("1 1/8 in").value
28.575
"""

from matref.quantities.formatting import decimals_for, format_length, format_number, format_range, round_to
from matref.quantities.grammage import basis_factor, parse_grammage
from matref.quantities.measures import (
    parse_count,
    parse_length,
    parse_mass,
    parse_percentage,
    parse_thickness,
)
from matref.quantities.sizes import Size, parse_size
from matref.quantities.typed import Quantity, Typed
from matref.quantities.uncertainty import reading_uncertainty

__all__ = [
    "Quantity",
    "Size",
    "Typed",
    "basis_factor",
    "decimals_for",
    "format_length",
    "format_number",
    "format_range",
    "parse_count",
    "parse_grammage",
    "parse_length",
    "parse_mass",
    "parse_percentage",
    "parse_size",
    "parse_thickness",
    "reading_uncertainty",
    "round_to",
]
