"""Standard uncertainties by the Guide to the expression of uncertainty in measurement (JCGM 100:2008, 'GUM')."""

from __future__ import annotations

import math

from matref.errors import BadInput


def reading_uncertainty(resolution: float, ends: int = 1) -> float:
    """Standard uncertainty of a reading to the nearest `resolution`, in the same unit.

    A reading stands for an interval of that width, evenly likely throughout: `resolution/√12` (GUM 4.3.7,
    F.2.2.1). A scale counts one end; a length read off a rule at both ends counts two, in quadrature.

    >>> round(reading_uncertainty(1, ends=2), 2)  # a rule divided in mm
    0.41
    """
    if not (math.isfinite(resolution) and resolution >= 0) or ends < 1:
        raise BadInput(
            f"a resolution of {resolution!r} read at {ends!r} ends",
            expected="a resolution of 0 or more, read at 1 or 2 ends",
            example="1 mm, 2 ends",
        )
    return resolution * math.sqrt(ends / 12)


def combine(*uncertainties: float) -> float:
    """Combine independent standard uncertainties of a sum or difference: root sum of squares (GUM 5.1.2).

    >>> combine(3, 4)
    5.0
    """
    return math.hypot(*uncertainties)


def product_uncertainty(value: float, *factors: tuple[float, float, float]) -> float:
    """Standard uncertainty of a product of powers `value = c·x₁^p₁·x₂^p₂…` of independent factors (GUM 5.1.6).

    Each factor is (x, its standard uncertainty, its power): relative uncertainties times powers, in quadrature.
    A stack of 24.0 mm (± 0.41) over 100 sheets counted within ± 1 gives the caliper 0.240 mm within:

    >>> round(product_uncertainty(0.240, (24.0, 0.41, 1), (100, 1, -1)), 4)
    0.0048
    """
    if any(x == 0 for x, _, _ in factors):
        raise BadInput("a factor of 0 has no relative uncertainty", expected="factors other than 0")
    return abs(value) * math.hypot(*(power * u / x for x, u, power in factors))
