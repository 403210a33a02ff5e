"""The text block with its doubt: what it is made of, and how thick it is at the fore-edge, bare and in its cover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matref.book.block import fore_edge_mm, leaf_in_block_um
from matref.book.propagate import Draw, draw, estimate
from matref.book.structures.parts import Layer
from matref.estimator.distribution import Distribution, Exact
from matref.estimator.estimate import Estimate

NONE = Exact(0.0)


@dataclass(frozen=True, slots=True)
class Text:
    """What the text block is made of.

    sheets_per_section, sections: counts. caliper_um: single-sheet caliper, µm; pressing: leaf thickness in the
    pressed block over that caliper. endpaper_leaves: leaves of endpaper in all that count into the block's thickness
    (paste-downs do not); endpaper_um: their caliper, None when they are the text's paper. guarded: sections with a
    strip folded round them; guard_um: the strip's thickness.
    """

    sheets_per_section: int
    sections: int
    caliper_um: Distribution
    pressing: Distribution
    endpaper_leaves: int = 0
    endpaper_um: Distribution | None = None
    guarded: int = 0
    guard_um: Distribution = NONE

    def inputs(self) -> dict[str, Distribution]:
        """Return what is not known exactly of a leaf in the block: "caliper", "pressing" and any "endpaper"."""
        inputs = {"caliper": self.caliper_um, "pressing": self.pressing}
        return inputs if self.endpaper_um is None else {**inputs, "endpaper": self.endpaper_um}

    def leaf_um(self, one: Draw) -> float:
        """Return the thickness of a leaf in the pressed block, µm, in one draw of the inputs."""
        return leaf_in_block_um(one["caliper"], one["pressing"])

    def edge_mm(self, one: Draw) -> float:
        """Return the thickness at the fore-edge, mm, in one draw of the inputs."""
        leaf = self.leaf_um(one)
        paper = leaf if self.endpaper_um is None else leaf_in_block_um(one["endpaper"], one["pressing"])
        return fore_edge_mm(self.sheets_per_section, self.sections, leaf, self.endpaper_leaves * paper / 1000)


def closed_mm(text: Text, sides: Sequence[tuple[Layer, int]], pasted_leaves: int, level: float) -> Estimate:
    """Return the thickness of the closed book near its fore-edge, mm, with its interval: T + 2·(layers of a side).

    sides: what lies over the block on each side, and how many times; pasted_leaves: of endpaper, on each side. Both
    sides are of the same material and share its doubt. Adhesive and turn-ins are left out: measure inside the
    turn-ins. Own derivation, a sum.

    >>> text = Text(4, 8, Exact(100), Exact(1))
    >>> closed_mm(text, [(Layer("board", 2.0), 1), (Layer("cloth", 0.3), 1)], 1, 0.9).value  # 6.4 + 2·(2 + 0.3 + 0.1)
    11.2
    """
    layers = {f"layer {number}": (layer, times) for number, (layer, times) in enumerate(sides)}
    inputs = text.inputs() | {name: layer.doubt for name, (layer, _) in layers.items()}
    pasted = "caliper" if text.endpaper_um is None else "endpaper"

    def whole(one: Draw) -> float:
        side = sum(times * one[name] for name, (_, times) in layers.items()) + pasted_leaves * one[pasted] / 1000
        return text.edge_mm(one) + 2 * side

    return estimate(draw(inputs).evaluate(whole), level)
