"""The fixed units of the trade, as exact ratios of whole numbers, and the ways people spell them.

Inch, foot, yard, pound and ounce are exact in SI since the international yard and pound agreement of 1959
(1 yd = 0.9144 m, 1 lb = 0.45359237 kg). The ounce is the avoirdupois ounce, 1/16 lb. 'mil' and 'thou' are
0.001 inch; the point is 0.001 inch as well, but only where a thickness is asked for.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, TypeAlias

Ratio: TypeAlias = tuple[int, int]
Table: TypeAlias = MappingProxyType[str, Ratio]

LENGTH_MM: Final[Table] = MappingProxyType(
    {
        "um": (1, 1000),
        "mil": (254, 10_000),
        "mm": (1, 1),
        "cm": (10, 1),
        "in": (254, 10),
        "ft": (3048, 10),
        "yd": (9144, 10),
        "m": (1000, 1),
    }
)
THICKNESS_UM: Final[Table] = MappingProxyType(
    {**{unit: (1000 * top, bottom) for unit, (top, bottom) in LENGTH_MM.items()}, "pt": (254, 10)}
)
MASS_G: Final[Table] = MappingProxyType(
    {
        "mg": (1, 1000),
        "g": (1, 1),
        "oz": (45_359_237, 1_600_000),
        "lb": (45_359_237, 100_000),
        "kg": (1000, 1),
    }
)
AREA_M2: Final[Table] = MappingProxyType(
    {
        unit: (top * top, bottom * bottom * 1_000_000)
        for unit, (top, bottom) in LENGTH_MM.items()
        if unit not in ("um", "mil")
    }
)

_SPELLINGS: Final = {
    "um": "um u micron microns micrometre micrometres micrometer micrometers",
    "mil": "mil mils thou thous",
    "pt": "pt pts point points",
    "mm": "mm millimetre millimetres millimeter millimeters",
    "cm": "cm centimetre centimetres centimeter centimeters",
    "in": 'in ins inch inches "',
    "ft": "ft foot feet '",
    "yd": "yd yds yard yards",
    "m": "m metre metres meter meters",
    "mg": "mg milligram milligrams",
    "g": "g gm gms gram grams gramme grammes",
    "oz": "oz ozs ounce ounces",
    "lb": "lb lbs pound pounds #",
    "kg": "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
}
UNIT_OF: Final = MappingProxyType(
    {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings.split()}
)
"""Every accepted spelling (lower case, 'µ' written 'u', no full stop) and its unit."""

SHOWN: Final = MappingProxyType({"um": "µm", "g/m2": "g/m²", "cm3/g": "cm³/g", "g/cm3": "g/cm³", "1": ""})
"""How a unit is printed, where that differs from its plain spelling."""


def shown_unit(unit: str) -> str:
    """Give the printed form of a unit.

    >>> shown_unit("g/m2"), shown_unit("mm")
    ('g/m²', 'mm')
    """
    return SHOWN.get(unit, unit)
