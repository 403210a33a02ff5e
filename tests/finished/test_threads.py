"""A finished case teaches by all the threads in its back, as its plan reckoned them."""

import pytest

from matref.api import Workshop
from matref.finished.threads import Threads

CASE = {"book": {"structure": "flat-back-case", "sections": 8, "sheets_per_section": 4}, "sewing": {"thread": "0.5 mm"}}


def with_sewing(**sewing):
    return {**CASE, "sewing": {**CASE["sewing"], **sewing}}


@pytest.mark.parametrize(
    ("sewing", "plan", "threads"),
    [
        ("all-along", CASE, 8 + 2),  # eight sections, an endpaper sewn at each end
        ("all-along", with_sewing(endpapers="tipped"), 8),
        ("two-on", with_sewing(two_on=True), 1 + 6 / 2 + 1 + 2),
        ("two-on", with_sewing(two_on=True, singly=4, endpapers="tipped"), 4 + 4 / 2),
        ("two-on", with_sewing(two_on=True, singly=40), 8 + 2),
        ("machine", {"book": {"structure": "soft-cover"}}, 8),
        ("two-on", None, 4),
        ("all-along", {"book": 3}, 8),
        ("two-on", {"book": {"structure": "quarter-case"}, "sewing": {"singly": "some"}}, 2 + 6 / 2 + 2),
    ],
)
def test_threads_in_the_back(sewing, plan, threads):
    assert Threads.of(8, sewing, plan).count == threads


def test_a_case_foretold_is_a_case_learnt(shop: Workshop) -> None:
    """A book that comes out as planned, φ being 0.6, teaches 0.6: swell (8 + 2)·0.6·0.5 = 3 mm."""
    edge = 6.4
    book = shop.finished.add(
        plan=CASE, caliper_um=100, fore_edge_mm=edge, spine_mm=edge + 10 * 0.6 * 0.5, measured_with="vernier"
    )
    assert book.flattening == pytest.approx(0.6)
    for more in range(5):
        shop.finished.add(
            plan=CASE, caliper_um=100, fore_edge_mm=edge, spine_mm=edge + 3 + 0.01 * more, measured_with="vernier"
        )
    again = shop.plan(
        {**CASE, "book": {**CASE["book"], "page_width_mm": 100, "page_height_mm": 150}, "paper": {"caliper_um": 100}}
    )
    assert again.spine.swell_mm.value == pytest.approx(3.0, rel=0.05)
