"""The café's three books planned end to end from measured piles. All their values are invented."""

from __future__ import annotations

import json
from io import BytesIO

import pytest

from matref.api import Workshop
from matref.cli.plan_text import as_text
from matref.demo import DEMOS, demo, demo_text, samples_text
from matref.errors import BadInput
from matref.planning import PlannedBook


@pytest.fixture(scope="module")
def books(workshop: Workshop) -> dict[str, PlannedBook]:
    return {name: workshop.plan(demo(name)) for name in DEMOS}


@pytest.mark.parametrize("name", DEMOS)
def test_a_book_with_everything_named(books: dict[str, PlannedBook], name: str) -> None:
    book = books[name]
    json.dumps(book.as_json(), allow_nan=False)
    assert book.assumed == ()  # the plan names every material and the thread
    assert book.notes == ()  # and nothing without need
    assert "invented" in demo_text(name)
    for need in book.needs:
        assert not need.open, need.role  # shelf and shop give everything
    assert book.cost is not None
    assert book.spine.spine_mm.half_width / book.spine.spine_mm.value < 0.2
    assert book.spine.swell_ratio.value < 0.3  # Practice accepts about 30 % (checks, no. 12)
    assert book.supply.available >= book.sections.sheets
    assert not [line for line in book.warnings if "remnant" in line or "grain runs across" in line]


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_words_for_the_bench(books: dict[str, PlannedBook], name: str, units: str) -> None:
    book = books[name]
    text = " ".join(as_text(book, units).split())
    for part in book.parts:
        assert f"{part.count} x {part.name}, " in text
    for step in book.plan.steps:
        assert step.do in text
    for kind in {step.caution for step in book.plan.steps if step.caution} | {"general"}:
        first = next(caution for caution in book.plan.cautions if caution.step == kind)
        assert first.text in text  # the others are named by where to find them
    for warning in book.warnings:
        assert warning in text
    order = [
        text.index(word) for word in ("Book ", "Spine ", "Cut ", "Lay out ", "Sew ", "Needs ", "Steps ", "Rests on")
    ]
    assert order == sorted(order)


def test_the_pocket_logbook(books: dict[str, PlannedBook]) -> None:
    book = books["pocket-logbook"]
    assert book.plan.wanted.structure == "soft-cover"
    assert book.stitching.needle == "machine needle 90/14"
    assert book.stitching.order[0] == 0
    names = [candidate.name for candidate in book.comparison.candidates]  # type: ignore[union-attr]
    assert names == ["pocket logbook", "office paper", "linen thread"]


def test_the_ledger_takes_the_whole_pile(books: dict[str, PlannedBook]) -> None:
    book = books["long-stitch-ledger"]
    assert book.sections.sheets + book.sections.left_over_sheets == book.supply.available
    assert len(book.stitching.lines_mm) == book.sections.sections


def test_the_case_has_cloth_back_and_paper_sides(books: dict[str, PlannedBook]) -> None:
    book = books["quarter-cloth-case"]
    assert [part.name for part in book.parts][:4] == ["board", "spine piece", "cloth back", "side paper"]
    board, side, back = (next(p for p in book.parts if p.name == n) for n in ("board", "side paper", "cloth back"))
    joint = dict(back.width_chain)["joint"]
    over = dict(back.width_chain)["spine piece"]
    shown = (back.width_mm - over - 2 * joint) / 2
    assert side.width_mm > board.width_mm - shown  # the paper reaches on to the cloth, and round the fore-edge


def test_the_samples_can_be_kept_and_give_the_same_paper(shop: Workshop, books: dict[str, PlannedBook]) -> None:
    """The table goes in through `sample import`; the plan file then finds them by label."""
    shop.samples.import_csv(BytesIO(samples_text().encode()))
    import tomllib

    for name in DEMOS:
        kept = shop.plan(tomllib.loads(demo_text(name)))
        assert kept.sections == books[name].sections
        assert kept.caliper_um.value == pytest.approx(books[name].caliper_um.value, rel=0.02)
        assert kept.plan.paper == books[name].plan.paper


def test_no_other_demo() -> None:
    with pytest.raises(BadInput, match="pocket-logbook"):
        demo("cookbook")
