"""A planned book and its plain form for JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matref.book.leaf_supply import Sheet, Supply
from matref.book.plan_input import BookWish, Caution
from matref.book.sections import Sections
from matref.book.spine import SpineResult
from matref.book.steps import Step
from matref.book.stitching import Stitching
from matref.book.structures.parts import Part
from matref.estimator.estimate import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A planned book. Names carry their units.

    leaf_um: thickness of a leaf in the pressed block; closed_mm: of the closed book near its fore-edge, with its cover
    but without adhesive; pitch_mm: distance of lines through the spine, None without;
    fore_edge_trim_mm: what the trim takes off the innermost leaf; page_loss_mm: innermost page against outermost;
    rests_on: (rule id, source id) of every rule of thumb that the plan takes.
    """

    wanted: BookWish
    paper: str
    sections: Sections
    spine: SpineResult
    leaf_um: Estimate
    closed_mm: Estimate
    pitch_mm: float | None
    sheet: Sheet
    fore_edge_trim_mm: float
    page_loss_mm: float
    supply: Supply | None
    parts: tuple[Part, ...]
    stitching: Stitching
    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...]
    rests_on: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return plain values: the contract's keys, with chains, steps and ranges beside them."""
        made, book, stitching = self.sections, self.wanted, self.stitching
        pitches = {"pitch_mm": self.pitch_mm, "flat_pitch_mm": self.spine.closed_section_mm.as_json()}
        return {
            "text_block": {
                "paper": self.paper,
                "structure": book.structure,
                "page_width_mm": book.page_width_mm,
                "page_height_mm": book.page_height_mm,
                "pages": made.pages,
                "sheets": made.sheets,
                "leaves": 2 * made.sheets,
                "leaf_um": self.leaf_um.as_json(),
                "fore_edge_mm": self.spine.fore_edge_mm.as_json(),
                "sheet_width_mm": self.sheet.width_mm,
                "sheet_height_mm": self.sheet.height_mm,
            },
            "sections": made.as_json(),
            "creep": {
                "creep_mm": self.spine.creep_mm.as_json(),
                "page_loss_mm": self.page_loss_mm,
                "fore_edge_trim_mm": self.fore_edge_trim_mm,
            },
            "spine": {**self.spine.as_json(), "causes": dict(self.spine.causes)},
            "cover": {
                "closed_mm": self.closed_mm.as_json(),
                "parts": [part.as_json() for part in self.parts],
            },
            "stitching": {**stitching.as_json(), **pitches},
            "under_needle_mm": stitching.under_needle_mm,
            "cutting": {} if self.supply is None else self.supply.as_json(made.sheets),
            "shopping": shopping(self.parts),
            "steps": [{"do": step.do, "caution": step.caution} for step in self.steps],
            "cautions": [
                {"id": row.caution_id, "step": row.step, "text": row.text, "source": row.source_id}
                for row in self.cautions
            ],
            "rests_on": [{"rule": rule, "source": source} for rule, source in self.rests_on],
            "warnings": list(self.warnings),
        }


def shopping(parts: Sequence[Part]) -> list[dict[str, Any]]:
    """Return what each material must yield: its pieces at the largest they may come out, and their area, m²."""
    materials: dict[str, list[Part]] = {}
    for part in parts:
        materials.setdefault(part.material, []).append(part)
    return [
        {
            "material": material,
            "pieces": [
                {
                    "name": part.name,
                    "count": part.count,
                    "width_mm": max(part.width_mm, part.width_high_mm),
                    "height_mm": part.height_mm,
                }
                for part in pieces
            ],
            "area_m2": sum(p.count * max(p.width_mm, p.width_high_mm) * p.height_mm for p in pieces) / 1e6,
        }
        for material, pieces in materials.items()
    ]
