"""Thread: linear density from trade counts, diameter from linear density, thickness when flattened."""

from __future__ import annotations

import math

from matref.book.check import count, positive
from matref.book.rule_row import Halves
from matref.errors import BadInput
from matref.estimator.distribution import Distribution, Exact


def tex_from_indirect_count(number: float, factor: float, plies: int = 1) -> float:
    """Linear density of a thread, tex (g/km), from an indirect count: length per mass, finer is higher.

    n count of one ply; factor the tex of count 1, tex (1000 for metric counts, about 1653.5 for linen
    lea, 590.5 for cotton: kept in the catalogue); plies twisted together, take-up by twist left out.
    Formula tex = factor·plies / n. Exact by definition of the count.

    >>> tex_from_indirect_count(50, 1000, plies=2)
    40.0
    """
    return positive(factor, "factor, tex", 1000) * count(plies, "plies", 3) / positive(number, "count", 18)


def tex_from_direct_count(number: float, factor: float, plies: int = 1) -> float:
    """Linear density of a thread, tex, from a direct count: mass per length, coarser is higher.

    n count of one ply; factor the tex of count 1, tex (1/9 for denier, 0.1 for decitex); plies as above.
    Formula tex = factor·plies·n. Exact by definition of the count.

    >>> tex_from_direct_count(90, 1 / 9, plies=3)
    30.0
    """
    return positive(factor, "factor, tex", 0.1) * count(plies, "plies", 3) * positive(number, "count", 90)


def diameter_mm(tex: float, density_kg_m3: float) -> float:
    """Diameter of a round thread, mm, lying free.

    tex linear density, g/km (1 tex is 1e-6 kg/m); ρ density of the yarn with the air in it, kg/m³.
    Formula d = √(4·tex·1e-6 / (π·ρ)) metres. Exact for a round thread of even density; a model because ρ
    varies with fibre and twist. Own derivation: mass of one metre = ρ·π·d²/4.

    >>> round(diameter_mm(275.6, 900), 3)
    0.624
    """
    kg_m = positive(tex, "linear density, tex", 276) * 1e-6
    return 1000 * math.sqrt(4 * kg_m / (math.pi * positive(density_kg_m3, "yarn density, kg/m³", 900)))


def thread_from_tex(tex: float, density_low: float, density: float, density_high: float) -> Distribution:
    """Return the diameter of a thread, mm, from its tex and the yarn's density range, g/cm³.

    The densest yarn is the thinnest. d = √(4·tex / (π·ρ)), see `diameter_mm`.

    >>> d = thread_from_tex(165.4, 0.47, 0.68, 0.91)
    >>> [round(d.quantile(p), 2) for p in (0.001, 0.5, 0.999)]
    [0.48, 0.56, 0.67]
    """
    thin, usual, thick = (
        diameter_mm(tex, 1000 * positive(rho, "yarn density, g/cm³", 0.9))
        for rho in (density_high, density, density_low)
    )
    if not thin <= usual <= thick:
        raise BadInput("yarn densities are out of order", expected="low, usual, high", example="0.47, 0.68, 0.91")
    return Exact(usual) if thin == thick else Halves(thin, usual, thick)


def wound_mm(width_mm: float, turns: int) -> float:
    """Thickness of one thread, mm, from n turns wound closely side by side over a measured width: width / n.

    Exact as an average; wound tightly on a pencil it stands for the thread as nipped (φ·d), wound loosely
    for the free diameter d.

    >>> wound_mm(10, 20)
    0.5
    """
    return positive(width_mm, "width of the winding, mm", 10) / count(turns, "turns", 20)


def pinched_mm(thread_mm: float, width_mm: float) -> float:
    """Thickness of a round thread pinched flat to a given width, mm.

    d free diameter, mm; w width of the flattened thread, mm, at least π·d/4.
    Formula h = (π/4)·d² / w. Exact if the cross-section keeps its area and becomes a rectangle; own derivation.

    >>> round(pinched_mm(0.5, 0.8), 4)
    0.2454
    """
    thread, width = positive(thread_mm, "thread diameter, mm", 0.5), positive(width_mm, "width, mm", 0.8)
    thickness = math.pi / 4 * thread**2 / width
    if thickness > thread:
        raise BadInput(
            f"a {thread:.4g} mm thread pinched to {width:.4g} mm would grow thicker",
            expected=f"a flattened width of {math.pi / 4 * thread:.4g} mm or more",
            example=f"{thread * 1.5:.4g}",
        )
    return thickness
