"""The closed book in its cover: sums by hand for every structure, and its range against random draws of numpy.

Measures are invented: 8 sections of 4 sheets of 0.1 mm are 64 leaves, 6.4 mm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from chandlery import COVER

from matref.book.plan import plan
from matref.book.structures.parts import Layer
from matref.book.structures.sides import sides
from matref.book.text_block import Text, closed_mm
from matref.estimator.distribution import Exact, LogNormal, Uniform
from matref.estimator.estimate import Estimate

BLOCK = Text(4, 8, Exact(100), Exact(1))
SIDES_MM = {
    "pamphlet": 0.3,
    "soft-cover": 0.3 + 0.2 + 0.4,
    "long-stitch": 0.4,
    "link-stitch": 0.12 + 2.0 + 0.12,
    "flat-back-case": 2.0 + 0.4,
    "quarter-case": 2.0 + 0.12,
    "rounded-case": 2.0 + 0.4,
}
"""One side of each, in mm, as it is met when pricking through it near the fore-edge, without a paste-down."""


@pytest.mark.parametrize("structure", SIDES_MM)
def test_layers_of_a_side(structure: str) -> None:
    assert sum(layer.thickness_mm * times for layer, times in sides(structure, COVER)) == pytest.approx(
        SIDES_MM[structure]
    )


def test_layers_where_a_material_is_not_there() -> None:
    assert [layer.name for layer, _ in sides("soft-cover", replace(COVER, interfacing=None))] == ["card", "sailcloth"]
    assert [layer.name for layer, _ in sides("long-stitch", replace(COVER, cloth=None))] == ["card"]
    bare = replace(COVER, paper=None, endpaper=None)  # covered in cloth, and lined with it
    assert [(layer.name, times) for layer, times in sides("link-stitch", bare)] == [("sailcloth", 2), ("greyboard", 1)]


@pytest.mark.parametrize("structure", SIDES_MM)
def test_a_plan_tells_the_sum(chandler, structure: str) -> None:
    """The block at its fore-edge and twice a side; of a case also the leaf that is pasted to each board."""
    asked = chandler(structure, sections=1 if structure == "pamphlet" else 8, sheets_per_section=4)
    paper = replace(asked.paper, caliper_um=Exact(100.0), pressing=Exact(1.0), endpaper_um=Exact(120.0))
    found = plan(replace(asked, cover=COVER, paper=paper))
    pasted = 0.12 if structure.endswith("-case") else 0.0
    told = found.spine.fore_edge_mm.value + 2 * (SIDES_MM[structure] + pasted)
    assert found.closed_mm.value == pytest.approx(told)
    assert found.closed_mm.low == pytest.approx(found.closed_mm.high)
    assert found.as_json()["cover"]["closed_mm"] == found.closed_mm.as_json()


@pytest.mark.parametrize("own_endpaper", [False, True])
def test_the_range_against_random_draws(own_endpaper: bool) -> None:
    """JCGM 101:2008 with a million draws by numpy; the endpapers of the text's own paper share its doubt."""
    endpaper = None if own_endpaper else LogNormal(np.log(150), 0.1)
    text = Text(4, 8, LogNormal(np.log(100), 0.08), Uniform(0.9, 1.0), endpaper_leaves=4, endpaper_um=endpaper)
    board = Layer("board", 2.0, known_mm=Uniform(1.8, 2.2))
    cloth = Layer("cloth", 0.3, known_mm=LogNormal(np.log(0.3), 0.15))
    found = closed_mm(text, [(board, 1), (cloth, 1)], 1, 0.9)
    dice = np.random.default_rng(1885)
    caliper, pressing = np.exp(dice.normal(np.log(100), 0.08, 10**6)), dice.uniform(0.9, 1.0, 10**6)
    paper = caliper if own_endpaper else np.exp(dice.normal(np.log(150), 0.1, 10**6))
    sides_mm = dice.uniform(1.8, 2.2, 10**6) + np.exp(dice.normal(np.log(0.3), 0.15, 10**6)) + paper / 1000
    whole = (64 * caliper * pressing + 4 * paper * pressing) / 1000 + 2 * sides_mm
    low, middle, high = np.quantile(whole, [0.05, 0.5, 0.95])
    assert found == Estimate(
        pytest.approx(middle, abs=0.01 * (high - low)),
        pytest.approx(low, abs=0.02 * (high - low)),
        pytest.approx(high, abs=0.02 * (high - low)),
        0.9,
    )


def test_a_layer_known_exactly_moves_no_end() -> None:
    """No doubt in a layer: both ends move by twice its thickness."""
    text = replace(BLOCK, caliper_um=Uniform(90, 110))
    bare, bound = (closed_mm(text, layers, 0, 0.9) for layers in ([], [(Layer("board", 2.5), 1)]))
    assert (bound.low - bare.low, bound.high - bare.high) == (pytest.approx(5.0), pytest.approx(5.0))
    assert closed_mm(BLOCK, [], 0, 0.9).value == pytest.approx(6.4)
