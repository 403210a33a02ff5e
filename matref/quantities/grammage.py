"""Grammages: g/m² as printed on labels, ounces per square yard, pounds per area, basis weights."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from matref.errors import BadInput
from matref.quantities.typed import Asked, Number, Quantity, Typed, as_text, look_up_unit, plain_name, scan_number, tidy
from matref.quantities.units import AREA_M2, MASS_G

_GSM: Final = frozenset({"", "gsm", "gm2", "g m-2", "gm-2"})
_PER_AREA: Final = re.compile(
    r"(?P<mass>[a-z#]+) ?/ ?(?:(?P<many>1,?000|3,?000|thousand) ?)?"
    r"(?:sq(?:uare)? ?(?P<square>[a-z]+)|(?P<side>[a-z]+)2|(?P<msf>m?sf))",
    re.ASCII,
)
_BASIS: Final = re.compile(r"(?:lbs?|pounds?|#)[ -]*(?P<grade>.*)", re.ASCII)
_GRADE_FIRST: Final = re.compile(r"([a-z][a-z ]*?) (\d[\d., /]*(?:lbs?|pounds?|#)\.?)", re.ASCII)
_MOST_NAMED: Final = 8


def basis_factor(width_mm: float, height_mm: float, *, sheets: int = 500) -> float:
    """Give the g/m² that go with each pound of basis weight, from the basic size and the sheets in its ream.

    `453.59237 / (sheets · width · height)`, exact. Bond paper, 17 × 22 in:

    >>> round(basis_factor(17 * 25.4, 22 * 25.4), 6)
    3.75973
    """
    area_m2 = width_mm * height_mm * sheets / 1e6
    if not area_m2 > 0:
        raise BadInput(
            f"a ream of {sheets} sheets of {width_mm:g} x {height_mm:g} mm has no area",
            expected="a basic size and a number of sheets above 0",
            example="431.8 x 558.8 mm, 500 sheets",
        )
    return 453.59237 / area_m2


def parse_grammage(typed: Typed, basis_sizes: Mapping[str, float] | None = None, *, what: str = "grammage") -> Quantity:
    """Read a grammage; the value is in g/m², from 1 to 10 000.

    A bare number, 'gsm', 'g/m2', 'g/m²' and 'g' as paper labels have it; mass per area such as '4 oz/yd2', '4 oz
    per square yard', '26 lb/1000 ft2'; basis weights such as '20 lb bond', '80# text', 'cover 65 lb', for which
    `basis_sizes` maps a grade's lower-case name to g/m² per lb (see `basis_factor`).

    >>> parse_grammage("80 g/m²").value, round(parse_grammage("4 oz/yd2").value, 3)
    (80.0, 135.623)
    >>> round(parse_grammage("20 lb bond", {"bond": 3.759730}).value, 1)
    75.2
    """
    asked = Asked(what, as_text(typed), "g/m2, oz/yd2, lb/1000 ft2 or a basis weight with its grade", "80 g/m2")
    text = tidy(asked)
    if match := _GRADE_FIRST.fullmatch(text):
        text = f"{match[2]} {match[1]}"
    number, rest = scan_number(text, asked)
    unit = re.sub(r"\.(?!\d)|\^", "", rest).lstrip("- ")
    note = ""
    if match := _PER_AREA.fullmatch(re.sub(r" ?\bper\b ?", "/", unit)):
        number = _per_area(number, match, asked)
    elif match := _BASIS.fullmatch(unit):
        factor, note = _basis(match["grade"], basis_sizes or {}, asked)
        number = number.times(factor.as_integer_ratio())
    elif unit == "g":
        note = "g on a paper label taken as g/m2"
    elif unit not in _GSM:
        look_up_unit(unit, MASS_G, asked)
        raise asked.refuse(f"'{unit}' of mass, but on what area?")
    asked.within(number, 1, 10_000, "g/m2")
    return Quantity(number.value, "g/m2", asked.typed, number.resolution, note)


def _per_area(number: Number, match: re.Match[str], asked: Asked) -> Number:
    mass = look_up_unit(match["mass"], MASS_G, asked)
    area = look_up_unit("ft" if match["msf"] else match["square"] or match["side"], AREA_M2, asked)
    many = (match["many"] or "1").replace(",", "").replace("thousand", "1000")
    if match["msf"] == "msf":  # the paper trade's thousand square feet
        many = "1000"
    return number.times(mass).times((area[1], area[0] * int(many)))


def _basis(grade: str, basis_sizes: Mapping[str, float], asked: Asked) -> tuple[float, str]:
    name = grade if grade in basis_sizes else re.sub(r" (?:paper|stock)$", "", grade)
    name = next((known for known in basis_sizes if plain_name(known) == name), name)
    if name in basis_sizes:
        return basis_sizes[name], f"basis weight of {name}: 1 lb is {basis_sizes[name]:.6g} g/m2"
    if not basis_sizes:
        raise asked.refuse("no basis weights are known here")
    reason = f"'{grade[:30]}' is not a known grade" if grade else "pounds of what grade?"
    raise asked.refuse(f"{reason} ({_grades(grade, basis_sizes)})")


def _grades(grade: str, basis_sizes: Mapping[str, float]) -> str:
    """Name the known grades: all where they are few, else those spelled most like it, or the shortest names."""
    names = sorted(basis_sizes)
    if len(names) <= _MOST_NAMED:
        return f"known: {', '.join(names)}"
    from difflib import get_close_matches  # only a mistake pays for the import

    near = get_close_matches(grade, names, n=3) or sorted(names, key=lambda name: (len(name), name))[:_MOST_NAMED]
    return f"{len(names)} known, such as {', '.join(near)}"
