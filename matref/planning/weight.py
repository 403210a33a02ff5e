"""What the finished book weighs: text, and every part of the cover as cut; thread where its tex is known.

Adhesive and tapes are left out, and so is what is trimmed off the cover after sewing: they are small and work against
each other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from matref.book.propagate import Draw, propagate
from matref.book.structures.parts import Part
from matref.estimator.distribution import Distribution
from matref.estimator.estimate import Estimate
from matref.planning.material import Material


def text_area_m2(page_width_mm: float, page_height_mm: float, leaves: int) -> float:
    """Area of the trimmed leaves of a text block, m²: W·H·leaves.

    >>> text_area_m2(100, 150, 40)
    0.6
    """
    return page_width_mm * page_height_mm * leaves / 1e6


def weight_g(
    text_m2: float,
    text: Material,
    parts: Sequence[tuple[Material, Sequence[Part]]],
    thread_g: float,
    level: float,
) -> tuple[Estimate, Mapping[str, Estimate]]:
    """Return the mass of a book, g, and of text and each material apart, with intervals at `level`.

    Each is area times mass per area; the materials' doubts are independent of each other.
    """
    areas = {"text": text_m2}
    grammages: dict[str, Distribution] = {"text": text.grammage_gsm}
    for material, cut in parts:
        areas[material.role] = sum(part.count * part.width_mm * part.height_mm for part in cut) / 1e6
        grammages[material.role] = material.grammage_gsm

    def masses(one: Draw) -> dict[str, float]:
        found = {role: area * one[role] for role, area in areas.items()}
        return {"book": thread_g + sum(found.values()), **found}

    estimates = propagate(grammages, masses, level)
    return estimates.pop("book"), estimates
