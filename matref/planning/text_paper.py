"""The paper of the text: the leaves that it takes, out of the pile as far as that goes; only the rest is bought."""

from __future__ import annotations

from dataclasses import dataclass

from matref.book.leaves import leaves_needed
from matref.book.plan_result import Plan
from matref.planning.paper import PlanPaper
from matref.planning.shopping import Purchase, count_of


@dataclass(frozen=True, slots=True)
class TextPaper:
    """What the text takes: the paper's name, an amount in "leaves" of a pile or cut "sheets", and that in words.

    from_pile: what of it the pile gives, in words, "" without one; its price is pile_cost, None where it has none. buy:
    what the pile lacks, or all of it where there is no pile.
    """

    what: str
    amount: int
    unit: str
    words: str
    from_pile: str
    pile_cost: float | None
    buy: Purchase | None

    @property
    def cost(self) -> float | None:
        """What all of it costs, None where any has no price."""
        known = [*([self.pile_cost] if self.from_pile else []), *([self.buy.cost] if self.buy else [])]
        prices = [price for price in known if price is not None]
        return sum(prices) if len(prices) == len(known) else None


def text_paper(made: Plan, paper: PlanPaper) -> TextPaper:
    """Return the leaves that the text takes; only those that the pile lacks are to be bought."""
    sheets, sheet, name = made.sections.sheets, made.sheet, paper.known.name
    size = f"{sheet.width_mm:.0f} x {sheet.height_mm:.0f} mm before folding"
    if made.supply is None or paper.known.pile is None:
        words = f"{count_of(sheets, 'sheet')} of {size}"
        return TextPaper(name, sheets, "sheets", words, "", None, Purchase(name, sheets, "sheets", None, words))
    leaves, have = leaves_needed(sheets, made.supply.turn), paper.known.pile.leaves
    each = f"{count_of(made.supply.per_leaf, 'sheet')} of {size} out of each"
    taken = leaves if have is None else min(leaves, have)
    lacking = leaves - taken
    words = f"{count_of(leaves, 'leaf')}, {each}"
    if have is not None:
        words += f"; the pile has {have}" + (f", {lacking} are lacking" if lacking else "")
    of_pile = "" if have is None else f" of the pile's {have}"
    from_pile = f"{count_of(taken, 'leaf')}{of_pile}, {each}" if taken else ""

    def cost(number: int) -> float | None:
        return None if paper.price is None else number * paper.price

    buy = Purchase(name, lacking, "leaves", cost(lacking), f"{count_of(lacking, 'leaf')}, {each}") if lacking else None
    return TextPaper(name, leaves, "leaves", words, from_pile, cost(taken) if taken else None, buy)
