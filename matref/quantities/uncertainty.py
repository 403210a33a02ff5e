"""The standard uncertainty of a reading, by the GUM (JCGM 100:2008, evaluation of measurement data)."""

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
