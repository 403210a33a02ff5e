"""A planned book with all that it rests on, and its plain form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from matref.book.plan_result import Plan
from matref.estimator.estimate import Estimate
from matref.estimator.support import Support
from matref.planning.material import Material
from matref.planning.shopping import Need, Purchase
from matref.planning.text_paper import TextPaper

if TYPE_CHECKING:
    from matref.planning.compare import Comparison


@dataclass(frozen=True, slots=True)
class Cost:
    """What the materials cost, in `currency`: to buy, and what is used from the shelf; unpriced: what has no price."""

    to_buy: float
    from_shelf: float
    currency: str
    unpriced: tuple[str, ...]

    @property
    def total(self) -> float:
        """Both together; a lower bound while anything has no price."""
        return self.to_buy + self.from_shelf

    @property
    def words(self) -> str:
        """The cost in words, and what of the materials has no price.

        >>> Cost(7.12, 0.4, "", ("thread",)).words
        '7.52: 7.12 to buy, 0.40 from the shelf; without a price: thread'
        """
        money = f"{self.total:.2f} {self.currency}".strip()
        text = f"{money}: {self.to_buy:.2f} to buy, {self.from_shelf:.2f} from the shelf"
        return f"{text}; without a price: {', '.join(self.unpriced)}" if self.unpriced else text

    def as_json(self) -> dict[str, Any]:
        """Return plain values."""
        return {
            "to_buy": self.to_buy,
            "from_shelf": self.from_shelf,
            "total": self.total,
            "currency": self.currency,
            "without_price": list(self.unpriced),
            "words": self.words,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedBook:
    """A book planned from a plan file.

    plan: the book itself; caliper_um: one sheet of its paper; materials: of the cover, by role; needs: what is cut
    from what; thread, tape (None without) and paper: what of them is needed; cost: None where no price is given;
    weight_g: of the finished book, weights: of its materials; assumed: what was taken for granted; notes: what may be
    ignored.
    """

    title: str
    plan: Plan
    caliper_um: Estimate
    materials: Mapping[str, Material]
    needs: tuple[Need, ...]
    paper: TextPaper
    thread: Purchase
    tape: Purchase | None
    cost: Cost | None
    weight_g: Estimate
    weights: Mapping[str, Estimate]
    level: float
    supports: tuple[Support, ...]
    assumed: tuple[str, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    comparison: Comparison | None = None

    def __getattr__(self, name: str) -> Any:
        """Return an attribute of the plan: sections, spine, parts, stitching …"""
        if name.startswith("__"):
            raise AttributeError(name)
        return getattr(self.plan, name)

    def need(self, role: str) -> Need | None:
        """Return what is needed of one material, None when the book has none."""
        return next((need for need in self.needs if need.role == role), None)

    @property
    def rests_on(self) -> tuple[Support, ...]:
        """Everything that the plan rests on, each once."""
        rules = (Support("rule", rule, (source,)) for rule, source in self.plan.rests_on)
        return tuple({(s.kind, s.words): s for s in (*self.supports, *rules)}.values())

    def as_json(self) -> dict[str, Any]:
        """Return the contract's keys as plain values, with title, materials, cost and weight beside them."""
        plain = self.plan.as_json()
        cutting = {"text": plain["cutting"], "layouts": _layouts(self.needs)}
        return {
            "title": self.title,
            **plain,
            "text_block": {**plain["text_block"], "caliper_um": self.caliper_um.as_json()},
            "cover": {
                **plain["cover"],
                "materials": [material.as_json(self.level) for material in self.materials.values()],
            },
            "cutting": {**plain["cutting"], **cutting},
            "shopping": [
                *(need.as_json() for need in self.needs),
                _bare("text", self.plan.paper, self.paper.buy, self.paper.from_pile),
                _bare("thread", self.plan.stitching.thread, self.thread),
                *([] if self.tape is None else [_bare("tape", self.tape.what, self.tape)]),
            ],
            "cost": None if self.cost is None else self.cost.as_json(),
            "weight_g": self.weight_g.as_json(),
            "weights_g": {role: mass.as_json() for role, mass in self.weights.items()},
            "level": self.level,
            "assumed": list(self.assumed),
            "notes": list(self.notes),
            "rests_on": [support.as_json() for support in self.rests_on],
            "warnings": list(self.warnings),
            **({} if self.comparison is None else {"compare": self.comparison.as_json()["candidates"]}),
        }


def _layouts(needs: Sequence[Need]) -> list[dict[str, Any]]:
    return [{"role": need.role, "material": need.material, **layout} for need in needs for layout in need.layouts()]


def _bare(role: str, material: str, buy: Purchase | None, from_shelf: str = "") -> dict[str, Any]:
    """Return a shopping line for what is not cut to parts: the text's paper, thread and tape."""
    return {
        "role": role,
        "material": material,
        "material_id": "",
        "pieces": [],
        "area_m2": None,
        "from_shelf": [from_shelf] if from_shelf else [],
        "buy": None if buy is None else buy.as_json(),
        "not_covered": [],
        "notes": [],
    }
