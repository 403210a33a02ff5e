"""What a person measured, as statements about one pile.

A pile is a pair of unknowns: log grammage and log caliper (caliper in µm, as a gauge reads a single sheet). Every
piece of evidence is one linear statement about the pair with a standard uncertainty after the GUM (JCGM 100:2008):
relative uncertainties are turned into logarithmic ones, sqrt(log(1 + r²)), so that a coarse reading stays positive.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Observation:
    """grammage_part·log(g/m²) + caliper_part·log(µm) = value ± u, with the words a person would use for it.

    `about` is one of label, weighing, stack, gauge, book, sample. `shares` names what makes up u² (largest first when
    shown), so that an answer can say why its range is as wide as it is. `pile` is the pile of samples that it comes
    from: what that pile has taught its class line is then left out, so that nothing counts twice.
    """

    about: str
    words: str
    grammage_part: float
    caliper_part: float
    value: float
    u: float
    shares: dict[str, float] = field(default_factory=dict, hash=False)
    pile: str = ""


class Factor(NamedTuple):
    """A positive factor with its range, read from a `rule` row: the middle of the plausible values and a log sd."""

    low: float
    high: float
    source_id: str

    @property
    def mu(self) -> float:
        """Mean of the logarithm."""
        return (math.log(self.low) + math.log(self.high)) / 2

    @property
    def u(self) -> float:
        """Standard uncertainty of the logarithm: low and high taken as the ends of a flat range (GUM 4.3.7)."""
        return (math.log(self.high) - math.log(self.low)) / math.sqrt(12)


def log_u(value: float, u: float) -> float:
    """Return the standard uncertainty of log(value), given that of value.

    >>> round(log_u(100.0, 5.0), 4)
    0.05
    """
    return math.sqrt(math.log1p((u / value) ** 2))


def label(grammage_gsm: float, tolerance: Factor, u_typed_gsm: float = 0.0) -> Observation:
    """A grammage that somebody printed, with the mill's tolerance about it."""
    typed = log_u(grammage_gsm, u_typed_gsm)
    return Observation(
        "label",
        f"label {grammage_gsm:.4g} g/m²",
        1.0,
        0.0,
        math.log(grammage_gsm) + tolerance.mu,
        math.hypot(tolerance.u, typed),
        {"the mill's tolerance on grammage": tolerance.u**2, "rounding of the label": typed**2},
    )


def ream(
    mass_g: float, sheets: int, width_mm: float, height_mm: float, tolerance: Factor, u_printed_gsm: float
) -> Observation:
    """The mass that a ream's wrapper states: a label of mass / (sheets · area), rounded as the mass was printed.

    >>> r = ream(2500.0, 500, 210.0, 297.0, Factor(0.95, 1.05, "x"), 0.5)
    >>> (round(math.exp(r.value), 1), r.about)
    (80.1, 'label')
    """
    printed = label(mass_g / (sheets * width_mm * height_mm * 1e-6), tolerance, u_printed_gsm)
    return replace(printed, words=f"ream of {sheets} sheets marked {mass_g:.4g} g")


def weighing(
    mass_g: float,
    sheets: int,
    width_mm: float,
    height_mm: float,
    *,
    u_mass_g: float,
    u_width_mm: float = 0.0,
    u_height_mm: float = 0.0,
) -> Observation:
    """The mass of `sheets` sheets of one size: grammage = mass / (sheets · width · height).

    >>> w = weighing(100.0, 20, 210.0, 297.0, u_mass_g=0.29)
    >>> (round(math.exp(w.value), 1), round(100 * w.u, 2))
    (80.2, 0.29)
    """
    area_m2 = sheets * width_mm * height_mm * 1e-6
    mass, width, height = log_u(mass_g, u_mass_g), log_u(width_mm, u_width_mm), log_u(height_mm, u_height_mm)
    return Observation(
        "weighing",
        f"{_count(sheets)} weighing {mass_g:.4g} g",
        1.0,
        0.0,
        math.log(mass_g / area_m2),
        math.sqrt(mass**2 + width**2 + height**2),
        {"the scale": mass**2, "the size of the sheet": width**2 + height**2},
    )


def stack(
    thickness_mm: float, sheets: int, held: Factor, *, u_thickness_mm: float, with_: str = "ruler"
) -> Observation:
    """The thickness of a stack: caliper = thickness / (sheets · held), `held` being how much thicker a stack so held
    reads, per sheet, than the gauge.

    >>> s = stack(10.0, 100, Factor(1.0, 1.0, "x"), u_thickness_mm=0.408)
    >>> (round(math.exp(s.value)), round(100 * s.u, 1))
    (100, 4.1)
    """
    reading = log_u(thickness_mm, u_thickness_mm)
    one = sheets == 1
    shares = {f"reading the {with_}": reading**2}
    if held.u:
        shares["how firmly the stack was held"] = held.u**2
    return Observation(
        "gauge" if one else "stack",
        f"{_count(sheets)} {thickness_mm:.4g} mm thick",
        0.0,
        1.0,
        math.log(thickness_mm * 1000 / sheets) - held.mu,
        math.hypot(reading, held.u),
        shares,
    )


def book_thickness(thickness_mm: float, leaves: float, pressed: Factor, *, u_thickness_mm: float) -> Observation:
    """The text block of a closed book: caliper = thickness / (leaves · pressed), `pressed` being leaf over sheet."""
    reading = log_u(thickness_mm, u_thickness_mm)
    return Observation(
        "book",
        f"book block of {leaves:g} leaves {thickness_mm:.4g} mm thick",
        0.0,
        1.0,
        math.log(thickness_mm * 1000 / leaves) - pressed.mu,
        math.hypot(reading, pressed.u),
        {"reading the ruler": reading**2, "how tightly the book is pressed": pressed.u**2},
    )


def book_mass(
    mass_g: float,
    leaves: float,
    width_mm: float,
    height_mm: float,
    block_share: Factor,
    *,
    u_mass_g: float,
    u_side_mm: float,
) -> Observation:
    """The mass of a whole book: grammage = mass · share of the text block / (leaves · page area)."""
    mass = log_u(mass_g, u_mass_g)
    size2 = log_u(width_mm, u_side_mm) ** 2 + log_u(height_mm, u_side_mm) ** 2
    return Observation(
        "book",
        f"book of {leaves:g} leaves weighing {mass_g:.4g} g",
        1.0,
        0.0,
        math.log(mass_g / (leaves * width_mm * height_mm * 1e-6)) + block_share.mu,
        math.sqrt(mass**2 + size2 + block_share.u**2),
        {"the scale": mass**2, "the size of the page": size2, "the weight of the cover": block_share.u**2},
    )


def _count(sheets: int) -> str:
    return "1 sheet" if sheets == 1 else f"{sheets} sheets"
