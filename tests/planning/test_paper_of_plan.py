"""The paper of a plan, from every kind of evidence, from samples, piles on the shelf, and finished books."""

from __future__ import annotations

from typing import Any

import pytest

from matref.api import Workshop
from matref.errors import BadInput
from matref.finished import FinishedBooks
from matref.planning import PlannedBook

BOOK = {"structure": "long-stitch", "page_width_mm": 100, "page_height_mm": 150, "sections": 6, "sheets_per_section": 5}


def plan(workshop: Workshop, paper: dict[str, Any], **tables: dict[str, Any]) -> PlannedBook:
    return workshop.plan({"book": BOOK, "paper": paper, "sewing": {"thread": "0.4 mm"}, **tables})


@pytest.mark.parametrize(
    ("paper", "evidence"),
    [
        ({"class": "copier", "grammage_gsm": 80}, {"paper_class": "copier", "grammage": 80}),
        ({"class": ["ledger", "bond_writing"]}, {"paper_class": "ledger,bond_writing"}),
        ({"grammage": "20 lb bond"}, {"grammage": "20 lb bond"}),
        ({"size": "A4", "sheets": 20, "mass_g": 98}, {"size": "A4", "sheets": 20, "mass": "98 g"}),
        (
            {"stack_sheets": 100, "stack_mm": "10.5 mm", "with": "vernier", "held": "clamped"},
            {"stack_sheets": 100, "stack": "10.5 mm", "with_": "vernier", "held": "clamped"},
        ),
        (
            {"size": "8.5 x 11 in", "sheets": 10, "mass_g": "1.6 oz", "scale_resolution_g": 1},
            {"size": "8.5 x 11 in", "sheets": 10, "mass": "1.6 oz", "scale_resolution": 1},
        ),
        ({"book_pages": 240, "book_thickness_mm": 14}, {"book_pages": 240, "book_thickness": "14 mm"}),
    ],
)
def test_evidence_is_that_of_the_caliper_command(
    workshop: Workshop, paper: dict[str, Any], evidence: dict[str, Any]
) -> None:
    assert plan(workshop, paper).caliper_um == workshop.caliper(**evidence).caliper_um


def test_a_measured_sheet(workshop: Workshop) -> None:
    found = plan(workshop, {"caliper_um": 104})
    assert (found.caliper_um.value, found.caliper_um.low, found.caliper_um.high) == pytest.approx((104, 103.55, 104.45))
    assert plan(workshop, {"caliper_mm": "0.104"}).caliper_um == found.caliper_um


def test_a_class_beside_a_measured_sheet_gives_count_and_weight(workshop: Workshop) -> None:
    """section.sheets.heavy of the catalogue: two to three sheets of map paper; newsprint is lighter than ledger."""
    alone, chart = plan(workshop, {"caliper_um": 104}), plan(workshop, {"caliper_um": 104, "class": "map_chart"})
    assert alone.caliper_um == chart.caliper_um
    dense, light = (plan(workshop, {"caliper_um": 104, "class": c}).weights["text"] for c in ("ledger", "newsprint"))
    assert light.high < dense.low
    bare = {key: value for key, value in BOOK.items() if key != "sheets_per_section"}
    reasons = workshop.plan({"book": bare, "paper": {"caliper_um": 104, "class": "map_chart"}}).sections.reasons
    assert "section.sheets.heavy" in reasons[0]
    weighed = plan(workshop, {"caliper_um": 104, "class": "ledger", "grammage_gsm": 90}).weights["text"]
    assert weighed.value == pytest.approx(90 * 2 * 30 * 100 * 150 / 1e6, rel=0.03)
    assert weighed.half_width < dense.half_width


def test_measured_in_the_block_needs_no_pressing(workshop: Workshop) -> None:
    """Gould Paper, bulk determination table: 0.016 in over 8 pages, 320 pages bulk 0.64 in (checks, no. 1)."""
    book = {**BOOK, "sections": 16, "sheets_per_section": 5}  # 320 pages
    found = workshop.plan({"book": book, "paper": {"caliper_in": 0.004, "in_block": True}})
    assert found.sections.pages == 320
    assert found.spine.fore_edge_mm.value / 25.4 == pytest.approx(0.64, rel=1e-3)
    loose = workshop.plan({"book": book, "paper": {"caliper_in": 0.004}})
    assert loose.spine.fore_edge_mm.high < 0.64 * 25.4 * 1.15
    assert loose.spine.fore_edge_mm.value < found.spine.fore_edge_mm.value


def test_nothing_known_is_told_and_wide(workshop: Workshop) -> None:
    found = plan(workshop, {})
    assert "not described" in found.warnings[0]
    assert found.caliper_um.high > 1.5 * found.caliper_um.low
    assert any("material.grammage.text" in support.words for support in found.rests_on)


@pytest.mark.parametrize(
    ("paper", "words"),
    [
        ({"mass_g": 98}, ("paper", "size, sheets and mass", 'size = "A4", sheets = 20')),
        ({"class": "copierr"}, ("paper", "copierr", "copier")),
        ({"sample": "nowhere"}, ("paper", "no sample")),
        ({"pile": "nowhere"}, ("paper", "no pile")),
        ({"caliper_um": 3}, ("paper", "8 to 8000")),
        ({"caliper_um": 104, "stack_sheets": 3, "stack_mm": 3}, ("paper.caliper_um", "one of the two")),
        ({"caliper_um": 104, "grammage_gsm": 900}, ("paper",)),
        ({"in_block": True}, ("paper.in_block",)),
        ({"leaves": 60}, ("paper.leaves", "leaf_size")),
        ({"grammage": "nice"}, ("paper", "grammage")),
    ],
)
def test_nonsense(workshop: Workshop, paper: dict[str, Any], words: tuple[str, ...]) -> None:
    with pytest.raises(BadInput) as caught:
        plan(workshop, paper)
    for word in words:
        assert word in str(caught.value)
    assert "--" not in str(caught.value)


def test_a_sample_and_a_pile_on_the_shelf(shop: Workshop) -> None:
    shop.samples.add(
        "loft tables", size="A4", sheets=20, mass="98 g", stack_sheets=1, stack="0.1 mm", with_="micrometer"
    )
    by_sample = plan(shop, {"sample": "loft tables"})
    assert by_sample.caliper_um == shop.caliper(sample="loft tables").caliper_um
    shop.stock.add("paper", "A4", count=40, grain="long", price=0.05, label="loft pile", sample="loft tables")
    by_pile = plan(shop, {"pile": "loft pile"})
    assert by_pile.caliper_um == by_sample.caliper_um
    assert by_pile.supply.available == 40  # one sheet of 205 x 150 mm to a leaf of A4, grain along the spine
    assert by_pile.paper.cost == pytest.approx(30 * 0.05)
    assert by_pile.plan.paper == "loft pile"
    own = plan(shop, {"pile": "loft pile", "leaves": 12, "caliper_um": 90})
    assert own.supply.available == 12
    assert own.caliper_um.value == pytest.approx(90)
    assert any("12" in line for line in own.warnings)  # too few for 30 sheets
    shop.stock.add("cloth", "600 x 400 mm", label="remnant")
    with pytest.raises(BadInput, match="remnant is cloth"):
        plan(shop, {"pile": "remnant"})


def test_finished_books_teach_the_next_plan(shop: Workshop) -> None:
    paper = {"caliper_um": 104}
    before = plan(shop, paper)
    leaves = 2 * 5 * 6
    for number in range(5):  # measured books whose thread was flattened to half, pressed to 0.93
        block = leaves * 0.104 * 0.93
        FinishedBooks(shop.connection).add(
            fore_edge_mm=f"{block:.2f} mm",
            spine_mm=f"{block + 6 * 0.5 * 0.4:.2f} mm",
            sheets_per_section=5,
            sections=6,
            thread="0.40 mm",
            caliper_um="104 um",
            measured_with="vernier",
            label=f"log {number}",
        )
    after = plan(shop, paper)
    assert after.spine.swell_mm.value < before.spine.swell_mm.value  # the rule's middle is 0.7
    assert after.spine.swell_mm.half_width < before.spine.swell_mm.half_width
    assert after.spine.fore_edge_mm.half_width < before.spine.fore_edge_mm.half_width
    assert after.spine.fore_edge_mm.value == pytest.approx(leaves * 0.104 * 0.93, rel=0.01)
    assert any("5 finished books" in support.words for support in after.rests_on)
    unpressed = {"book": {**BOOK, "pressed": False}, "paper": paper, "sewing": {"thread": "0.4 mm"}}
    assert not any("finished" in support.kind for support in shop.plan(unpressed).rests_on)


def test_a_paper_not_described_is_text_paper(workshop: Workshop) -> None:
    """Working weight of section pages, rule material.grammage.text: 80 to 120 g/m²; 60 leaves of 100 x 150 mm."""
    mass = plan(workshop, {}).weights["text"]
    area = 60 * 100 * 150 / 1e6
    # What turns up in piles is a little lighter, and counts as well.
    assert 78 * area < mass.low < mass.high < 120 * area
    assert mass.value == pytest.approx(98 * area, rel=0.03)  # the middle of the range on its log scale


def test_a_caliper_of_the_block_is_not_pressed_again(shop: Workshop) -> None:
    """What finished books teach of pressing has no say where the leaf was measured in the block."""
    given = {"caliper_um": 100, "in_block": True}
    before = plan(shop, given).spine.fore_edge_mm
    for _ in range(3):
        FinishedBooks(shop.connection).add(
            fore_edge_mm="5.50 mm",
            sheets_per_section=5,
            sections=6,
            thread="0.4 mm",
            caliper_um="100 um",
            measured_with="vernier",
        )
    assert plan(shop, given).spine.fore_edge_mm == before
    assert plan(shop, {"caliper_um": 100}).spine.fore_edge_mm.value < before.value
