"""The rounded back: arc, chord, rise and radius of a circular spine, and the round that a swell calls for.

T chord, mm: the thickness of the block that must be kept, shoulder to shoulder. θ angle of the round, degrees:
0 is a flat back, 120 a third of a circle, 180 a half circle. Own derivations from the circle.
"""

from __future__ import annotations

import math

from matref.book.check import between, not_negative, positive
from matref.errors import BadInput

MOST_RATIO = math.pi / 2 - 1
"""Swell ratio at which the fan model reaches a half circle."""


def arc_ratio(round_deg: float) -> float:
    """Arc over chord of a circular back, no unit: (θ/2) / sin(θ/2), θ in radians. Exact.

    >>> round(arc_ratio(120), 4)
    1.2092
    >>> arc_ratio(0)
    1.0
    """
    half = math.radians(_round(round_deg)) / 2
    return half / math.sin(half) if math.sin(half) > 0 else 1.0


def arc_mm(chord_mm: float, round_deg: float) -> float:
    """Length round the back, mm: A = T·(θ/2) / sin(θ/2). Exact.

    >>> round(arc_mm(20, 90), 2)
    22.21
    """
    return positive(chord_mm, "thickness of the block, mm", 20) * arc_ratio(round_deg)


def sagitta_mm(chord_mm: float, round_deg: float) -> float:
    """Rise of the back above the chord, mm: h = (T/2)·tan(θ/4). Exact.

    >>> round(sagitta_mm(20, 120), 3)
    5.774
    """
    quarter = math.radians(_round(round_deg)) / 4
    return positive(chord_mm, "thickness of the block, mm", 20) / 2 * math.tan(quarter)


def radius_mm(chord_mm: float, round_deg: float) -> float:
    """Radius of the back, mm: T / (2·sin(θ/2)). Exact; a flat back has none, so θ must be above 0.

    >>> round(radius_mm(20, 60), 6)
    20.0
    """
    angle = positive(_round(round_deg), "round of the back, degrees", 120)
    return positive(chord_mm, "thickness of the block, mm", 20) / (2 * math.sin(math.radians(angle) / 2))


def round_from_swell_deg(swell_ratio: float) -> float:
    """Angle of the round that takes up a swell ratio R when every fold stays square to the back, degrees.

    Fan model: the arc equals the swollen spine, so (θ/2) / sin(θ/2) = 1 + R; solved by halving, R from 0 to
    π/2 - 1 (a half circle). Exact under that model; leaves may also slide, so a real round can differ.

    >>> round(round_from_swell_deg(0.25))
    130
    """
    ratio = not_negative(swell_ratio, "swell ratio", 0.25)
    if ratio > MOST_RATIO:
        raise BadInput(
            f"swell ratio is {ratio:.4g}, more than a half circle can take up",
            expected=f"{MOST_RATIO:.4f} or less",
            example="0.25",
        )
    low, high = 0.0, 180.0
    while high - low > 1e-10:
        middle = (low + high) / 2
        low, high = (middle, high) if arc_ratio(middle) - 1 < ratio else (low, middle)
    return high if ratio > 0 else 0.0


def backed_arc_mm(arc_mm: float, shoulder_mm: float) -> float:
    """Length over the back and both shoulders of a backed book, mm: A + 2·j.

    A arc, mm; j length over one shoulder, mm, about a board's thickness (a rule of the catalogue).
    Exact sum; model because j is judged by hand.

    >>> backed_arc_mm(24.2, 2.5)
    29.2
    """
    return positive(arc_mm, "arc of the back, mm", 24) + 2 * not_negative(shoulder_mm, "shoulder, mm", 2.5)


def _round(round_deg: float) -> float:
    return between(round_deg, 0, 180, "round of the back, degrees", 120)
