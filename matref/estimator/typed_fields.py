"""The fields of evidence as a person typed them, with what has been read from them so far."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field

from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.observation import Observation
from matref.quantities import Size, Typed, parse_size, reading_uncertainty

_EXAMPLE = '--size A4 --sheets 20 --mass "98 g"'


@dataclass(slots=True)
class Fields:
    """What was typed, by field; the readers of `printed` and `measured` add observations, plain numbers and notes.

    `used`: the fields that counted. `numbers`: SI or the trade's metric units, in the names of a sample's columns.
    """

    typed: Mapping[str, Typed]
    connection: sqlite3.Connection
    rules: Rules
    used: set[str] = field(default_factory=set)
    observations: list[Observation] = field(default_factory=list)
    numbers: dict[str, float] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def get(self, name: str) -> Typed | None:
        """Return a field and remember that it counted."""
        self.used.add(name)
        return self.typed.get(name)

    def sheet_size(self) -> Size | None:
        """Return the size of the sheets (of a book: of its pages), mm; None where none was typed."""
        text = self.get("size")
        if text is None:
            return None
        measured = not isinstance(text, str) or text.strip()[:1].isdigit()
        size = parse_size(text, None if measured else self.rules.sheet_sizes())
        refuse_absurd(size.width_mm, 10, 3000, "sheet width", "mm", "--size A4")
        refuse_absurd(size.height_mm, 10, 3000, "sheet height", "mm", "--size A4")
        self.numbers |= {"width_mm": size.width_mm, "height_mm": size.height_mm}
        return size

    def side_u_mm(self, size: Size) -> float:
        """Standard uncertainty of a side, mm: a ruler at both ends (a named size was cut no better than that)."""
        step_mm = size.resolution_mm if size.resolution_mm <= 2 else 0.0
        return reading_uncertainty(max(step_mm, self.rules.division_mm("ruler")), ends=2)

    def refuse_leftovers(self) -> None:
        """Refuse fields that nothing used: a size alone says nothing of the paper."""
        left = [name for name in self.typed if name not in self.used]
        if left:
            names = ", ".join("--" + name.rstrip("_").replace("_", "-") for name in left)
            raise BadInput(
                f"{names} alone says nothing about the paper",
                expected="the rest of that measurement",
                example=_EXAMPLE,
            )


def refuse_absurd(value: float, low: float, high: float, what: str, unit: str, example: str) -> None:
    """Refuse what no sheet material is; `what` and `unit` name the quantity of value, low and high."""
    if not low <= value <= high:
        raise BadInput(
            f"{what} of {value:.4g} {unit} is beyond any sheet material",
            expected=f"{low:g} to {high:g} {unit}",
            example=example,
        )


def refuse_grammage(gsm: float, what: str, example: str) -> None:
    """Refuse a grammage, g/m², that neither the lightest tissue nor the heaviest board has."""
    refuse_absurd(gsm, 3, 3000, what, "g/m²", example)


def refuse_caliper(caliper_um: float, what: str, example: str) -> None:
    """Refuse a caliper, µm, that neither the thinnest tissue nor the thickest board has."""
    refuse_absurd(caliper_um, 8, 8000, what, "µm", example)
