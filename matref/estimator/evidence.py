"""From what a person typed to observations of a pile: the one place where evidence is read.

The fields have the names of the command's options and of the Python call. Text may carry units; bare numbers are
g/m², mm or g. Every reading gets its standard uncertainty here (GUM: a reading to the nearest d has d/√12 at each end).
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from matref.errors import BadInput
from matref.estimator import observation as obs
from matref.estimator.assumptions import Rules

if TYPE_CHECKING:
    from matref.estimator.observation import Observation
    from matref.quantities import Size

Typed = str | float


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of a pile, as typed. All optional, but at least one piece is needed.

    `paper_class`: a class id, or several separated by commas when it is one of them. `grammage`: g/m² or a basis
    weight ("20 lb bond"). `size`, `sheets`, `mass`, `scale_resolution`: a weighing. `stack_sheets`, `stack`, `with_`
    (ruler, vernier, micrometer), `held` (hand, clamped, gauge): a thickness; one sheet under a gauge is a stack of 1.
    `book_pages`, `book_thickness`, `book_mass`, `cover` (on, off): a bound book of page size `size`. `ream_sheets`,
    `ream_mass`: what is printed on a ream's wrapper (a ream that was weighed is a weighing), of sheets of `size`.
    """

    paper_class: str | None = None
    grammage: Typed | None = None
    size: Typed | None = None
    sheets: Typed | None = None
    mass: Typed | None = None
    scale_resolution: Typed | None = None
    stack_sheets: Typed | None = None
    stack: Typed | None = None
    with_: str | None = None
    held: str | None = None
    book_pages: Typed | None = None
    book_thickness: Typed | None = None
    book_mass: Typed | None = None
    cover: str | None = None
    ream_sheets: Typed | None = None
    ream_mass: Typed | None = None

    def typed(self) -> dict[str, Typed]:
        """Return the fields that were given."""
        found = {f.name: getattr(self, f.name) for f in fields(self)}
        return {name: value for name, value in found.items() if value is not None and value != ""}


@dataclass(frozen=True, slots=True)
class Reading:
    """Evidence as parsed: observations, allowed classes, and the plain numbers (SI) that a sample keeps."""

    observations: tuple[Observation, ...]
    class_ids: tuple[str, ...]
    numbers: dict[str, float]
    notes: tuple[str, ...]


def read(evidence: Evidence, connection: sqlite3.Connection, rules: Rules) -> Reading:
    """Parse `evidence`; raise BadInput in one line where it makes no sense."""
    typed = evidence.typed()
    reader = _Reader(typed, connection, rules)
    reader.label()
    reader.ream()
    reader.weighing()
    reader.thickness()
    reader.book()
    classes = tuple(c.strip() for c in str(typed.get("paper_class", "")).split(",") if c.strip())
    reader.refuse_leftovers()
    return Reading(tuple(reader.observations), classes, reader.numbers, tuple(reader.notes))


class _Reader:
    """Walks over the typed fields; one method per kind of evidence."""

    def __init__(self, typed: Mapping[str, Typed], connection: sqlite3.Connection, rules: Rules) -> None:
        self.typed = typed
        self.connection = connection
        self.rules = rules
        self.used = {"paper_class"}
        self.observations: list[Observation] = []
        self.numbers: dict[str, float] = {}
        self.notes: list[str] = []

    def get(self, name: str) -> Typed | None:
        """Return a field and remember that it counted."""
        self.used.add(name)
        return self.typed.get(name)

    def label(self) -> None:
        text = self.get("grammage")
        if text is None:
            return
        from matref.catalogue.grades import basis_factors
        from matref.quantities import parse_grammage

        quantity = parse_grammage(text, basis_factors(self.connection) if _has_letters(text) else None)
        if quantity.note:
            self.notes.append(quantity.note)
        _plausible(quantity.value, 3, 3000, "a grammage", "g/m²", "--grammage 80")
        u = quantity.resolution / math.sqrt(12) if _has_letters(text) else 0.0
        self.numbers["label_gsm"] = quantity.value
        self.observations.append(obs.label(quantity.value, self.rules.grammage_tolerance(), u))

    def ream(self) -> None:
        """Read the count and mass on a ream's wrapper: the mill's promise of a grammage, like a label."""
        count, mass = self.get("ream_sheets"), self.get("ream_mass")
        if count is None and mass is None:
            return
        size = self.sheet_size()
        if count is None or mass is None or size is None:
            raise BadInput(
                "a ream needs the count and mass on its wrapper and the size of its sheets",
                expected="--ream-sheets, --ream-mass and --size together",
                example='--size A4 --ream-sheets 500 --ream-mass "2.5 kg"',
            )
        from matref.quantities import parse_count, parse_mass

        sheets = int(parse_count(count, what="number of sheets in the ream").value)
        weight = parse_mass(mass, what="mass of the ream")
        gsm = weight.value / (sheets * size.area_m2)
        _plausible(gsm, 3, 3000, "the sheets of that ream would have a grammage", "g/m²", '--ream-mass "2.5 kg"')
        tolerance, u = self.rules.grammage_tolerance(), gsm * weight.resolution / weight.value / math.sqrt(12)
        label_gsm = self.numbers.get("label_gsm")
        if label_gsm is None:
            self.numbers["label_gsm"] = gsm
            self.observations.append(obs.ream(weight.value, sheets, size.width_mm, size.height_mm, tolerance, u))
            return
        # Mass and grammage on one wrapper are one promise: they may not count twice, nor differ by more than rounding
        # (the mass as it is printed, the grammage to the whole gram).
        if abs(gsm - label_gsm) > 2 * u + 1.0:
            raise BadInput(
                f"the wrapper's mass makes {gsm:.3g} g/m², its label says {label_gsm:.3g} g/m²",
                expected="count, mass and size from the same wrapper",
                example='--size A4 --ream-sheets 500 --ream-mass "2.5 kg"',
            )
        self.notes.append("the ream's mass says the same as the label and counts once")

    def sheet_size(self) -> Size | None:
        text = self.get("size")
        if text is None:
            return None
        from matref.quantities import parse_size

        size = parse_size(text, None if _has_digit_first(text) else self.rules.sheet_sizes())
        _plausible(size.width_mm, 10, 3000, "sheet width", "mm", "--size A4")
        _plausible(size.height_mm, 10, 3000, "sheet height", "mm", "--size A4")
        self.numbers |= {"width_mm": size.width_mm, "height_mm": size.height_mm}
        return size

    def size_u_mm(self, size: Size) -> float:
        """Standard uncertainty of a side: a ruler at both ends (a named size was cut no better than that)."""
        return _two_ends(max(size.resolution_mm if size.resolution_mm <= 2 else 0.0, self.rules.division_mm("ruler")))

    def weighing(self) -> None:
        given = [self.typed.get(n) is not None for n in ("size", "sheets", "mass")]
        if self.typed.get("mass") is None:
            if self.typed.get("scale_resolution") is not None:
                raise BadInput("a scale resolution without a mass", expected="--mass", example='--mass "98 g"')
            if self.typed.get("sheets") is not None:
                raise BadInput(
                    "a number of sheets without their mass",
                    expected="--mass and --size",
                    example='--sheets 20 --mass "98 g"',
                )
            return
        if not all(given):
            raise BadInput(
                "a mass needs the size and the number of the sheets weighed",
                expected="--size, --sheets and --mass together",
                example='--size A4 --sheets 20 --mass "98 g"',
            )
        from matref.quantities import parse_count, parse_mass

        size = self.sheet_size()
        if size is None:
            raise BadInput("an empty size", expected="a sheet size", example="--size A4")
        mass = parse_mass(self.get("mass") or "")
        sheets = int(parse_count(self.get("sheets") or "").value)
        division = mass.resolution
        if self.get("scale_resolution") is not None:
            division = parse_mass(self.get("scale_resolution") or "", what="scale resolution").value
        _plausible(division, 1e-4, 1000, "scale resolution", "g", '--scale-resolution "1 g"')
        u_mm = self.size_u_mm(size)
        gsm = mass.value / (sheets * size.area_m2)
        _plausible(
            gsm,
            3,
            3000,
            f"{sheets} sheets of {mass.value:g} g would be a grammage",
            "g/m²",
            '--sheets 20 --mass "98 g"',
        )
        if division >= 2 * mass.value:
            raise BadInput(
                f"a scale that reads to {division:g} g cannot weigh {mass.value:g} g",
                expected="more sheets or a finer scale",
                example='--sheets 100 --mass "490 g"',
            )
        self.numbers |= {"sheets": sheets, "mass_g": mass.value, "scale_resolution_g": division}
        self.observations.append(
            obs.weighing(
                mass.value,
                sheets,
                size.width_mm,
                size.height_mm,
                u_mass_g=_two_ends(division),  # the reading and the zero
                u_width_mm=u_mm,
                u_height_mm=u_mm,
            )
        )

    def thickness(self) -> None:
        stack = self.get("stack")
        count = self.get("stack_sheets")
        instrument, held = self.get("with_"), self.get("held")
        if stack is None and count is None:
            for option, value in (("--with", instrument), ("--held", held)):
                if value is not None:
                    raise BadInput(f"{option} without a thickness", expected="--stack", example='--stack "10 mm"')
            return
        if stack is None or count is None:
            raise BadInput(
                "a stack needs both its thickness and its number of sheets",
                expected="--stack-sheets and --stack",
                example='--stack-sheets 100 --stack "10.5 mm"',
            )
        from matref.quantities import parse_count, parse_length

        sheets = int(parse_count(count, what="number of sheets in the stack").value)
        thickness = parse_length(stack, what="stack thickness")
        tool = str(instrument or "ruler")
        division = self.rules.division_mm(tool)
        how = str(held or ("gauge" if tool == "micrometer" else "hand"))
        factor = self.rules.held(how)
        if sheets == 1:
            factor = obs.Factor(1.0, 1.0, factor.source_id)
        _plausible(
            thickness.value * 1000 / sheets,
            8,
            8000,
            f"{thickness.value:g} mm for {sheets} sheets would be a caliper",
            "µm",
            '--stack-sheets 100 --stack "10.5 mm"',
        )
        # A coarser step than the tool's own (an eighth of an inch) says how finely it was read.
        step = max(thickness.resolution if thickness.resolution < thickness.value else 0.0, division)
        u = step / math.sqrt(12) if tool == "micrometer" else _two_ends(step)
        self.numbers |= {"stack_sheets": sheets, "stack_mm": thickness.value, "stack_resolution_mm": step}
        self.observations.append(obs.stack(thickness.value, sheets, factor, u_thickness_mm=u, with_=tool))

    def book(self) -> None:
        pages, thickness, mass = self.get("book_pages"), self.get("book_thickness"), self.get("book_mass")
        cover = self.get("cover")
        if pages is None:
            if thickness is not None or mass is not None or cover is not None:
                raise BadInput("a book needs its number of pages", expected="--book-pages", example="--book-pages 240")
            return
        from matref.quantities import parse_count, parse_length, parse_mass

        if cover not in (None, "on", "off"):
            raise BadInput(f'"{cover}" is no state of a cover', expected="on or off", example="--cover off")
        count = int(parse_count(pages, noun="pages").value)
        if count < 4:
            raise BadInput(f"{count} pages make no book", expected="4 or more", example="--book-pages 240")
        if thickness is None and mass is None:
            raise BadInput(
                "a book needs a thickness or a mass",
                expected="--book-thickness or --book-mass",
                example='--book-thickness "14 mm"',
            )
        self.numbers["book_pages"] = count
        leaves = count / 2
        if thickness is not None:
            depth = parse_length(thickness, what="book thickness")
            step = max(depth.resolution, self.rules.division_mm("ruler"))
            _plausible(depth.value * 1000 / leaves, 8, 8000, "the leaves would be", "µm", '--book-thickness "14 mm"')
            self.numbers["book_thickness_mm"] = depth.value
            self.observations.append(
                obs.book_thickness(depth.value, leaves, self.rules.book_over_sheet(), u_thickness_mm=_two_ends(step))
            )
        if mass is not None:
            size = self.sheet_size()
            if size is None:
                raise BadInput("a book's mass needs its page size", expected="--size", example="--size A5")
            weight = parse_mass(mass, what="book mass")
            share = self.rules.cover_mass_share() if cover != "off" else obs.Factor(1.0, 1.0, "own-derivation")
            _plausible(
                weight.value / (leaves * size.area_m2), 3, 3000, "the leaves would weigh", "g/m²", '--book-mass "310 g"'
            )
            u_mm = self.size_u_mm(size)
            self.numbers["book_mass_g"] = weight.value
            self.observations.append(
                obs.book_mass(
                    weight.value,
                    leaves,
                    size.width_mm,
                    size.height_mm,
                    share,
                    u_mass_g=_two_ends(weight.resolution),
                    u_side_mm=u_mm,
                )
            )

    def refuse_leftovers(self) -> None:
        """Refuse fields that nothing used: a size alone says nothing of the paper."""
        left = [name for name in self.typed if name not in self.used]
        if left:
            names = ", ".join("--" + name.rstrip("_").replace("_", "-") for name in left)
            raise BadInput(
                f"{names} alone says nothing about the paper",
                expected="the rest of that measurement",
                example='--size A4 --sheets 20 --mass "98 g"',
            )


def _two_ends(division: float) -> float:
    return division / math.sqrt(12) * math.sqrt(2)


def _plausible(value: float, low: float, high: float, what: str, unit: str, example: str) -> None:
    if not low <= value <= high:
        raise BadInput(
            f"{what} of {value:.4g} {unit} is beyond any sheet material",
            expected=f"{low:g} to {high:g} {unit}",
            example=example,
        )


def _has_letters(text: Typed) -> bool:
    return isinstance(text, str) and any(
        c.isalpha() or c == "#" for c in text.lower().replace("gsm", "").replace("g/m", "")
    )


def _has_digit_first(text: Typed) -> bool:
    return not isinstance(text, str) or text.strip()[:1].isdigit()
