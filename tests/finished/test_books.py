"""Finished books: kept, compared, learnt from, withdrawn without a trace. The books are invented."""

from __future__ import annotations

import json
import math
import sqlite3
from typing import Any

import pytest

from matref.api import Workshop
from matref.book.block import fore_edge_mm
from matref.book.swell import swell_mm
from matref.errors import BadInput, NotFound
from matref.estimator.distribution import Uniform
from matref.finished import FinishedBooks, books, fibre_of, flattening_posterior, pressing_posterior, taught
from matref.materials import thread

PLAIN: dict[str, Any] = {
    "sheets_per_section": 4,
    "sections": 8,
    "thread": "0.5 mm",
    "caliper_um": "100 µm",
    "measured_with": "vernier",
}


def kept(shop: Workshop) -> FinishedBooks:
    return FinishedBooks(shop.connection)


def quantiles(shop: Workshop) -> list[float]:
    found = [pressing_posterior(shop.connection)]
    found += [flattening_posterior(shop.connection, s, f) for s in ("soft", "hard") for f in ("linen", "")]
    spine = shop.spine(sheets_per_section=4, sections=8, thread="30/3 linen", caliper_um=104)
    return [d.quantile(p) for d in found for p in (0.05, 0.5, 0.95)] + [spine.spine_mm.low, spine.spine_mm.high]


def test_without_books_the_rules_themselves(shop: Workshop) -> None:
    """The rows pressing.k.overall and swell.phi.overall of the catalogue, with equal chance over their range."""
    assert pressing_posterior(shop.connection) == Uniform(0.9, 1.0)
    assert flattening_posterior(shop.connection, "soft", "linen") == Uniform(0.4, 1.0)
    assert taught(shop.connection) == (0, 0)


def test_a_book_shows_its_own_factors(shop: Workshop) -> None:
    """Thicknesses made with the formulas of the block and the swell give the factors back."""
    edge = fore_edge_mm(4, 8, 0.95 * 100)
    spine = edge + swell_mm(8, 0.5, 0.62)
    book = kept(shop).add(**PLAIN, fore_edge_mm=round(edge, 3), spine_mm=round(spine, 3), label="tide tables")
    assert book.pressing_factor == pytest.approx(0.95)
    assert book.flattening == pytest.approx(0.62, abs=1e-3)
    assert (book.fore_edge_mm.inside, book.spine_mm.inside) == (True, True)
    assert book.warnings == ()
    assert book.fore_edge_mm.u == pytest.approx(0.05 * math.sqrt(2 / 12))  # GUM 4.3.7, both ends of a vernier
    assert kept(shop).list() == [book]
    assert kept(shop).get("tide tables") == kept(shop).get(book.id) == book
    assert json.loads(json.dumps(book.as_json()))["fore_edge_mm"]["measured"] == round(edge, 3)


def test_endpapers_and_two_on_count(shop: Workshop) -> None:
    book = kept(shop).add(**PLAIN, fore_edge_mm=6.3, spine_mm=7.5, endpaper_leaves=4, sewing="two-on")
    assert book.leaves == 2 * 4 * 8 + 4
    assert book.flattening == pytest.approx((7.5 - 6.3) / (8 * 0.5 * 0.5))


def test_books_narrow_what_is_to_be_expected(shop: Workshop) -> None:
    before = shop.spine(sheets_per_section=4, sections=8, thread="0.5 mm", caliper_um="100 µm")
    for i in range(6):
        kept(shop).add(**PLAIN, fore_edge_mm=6.1 + 0.01 * (i % 2), spine_mm=8.5)
    after = shop.spine(sheets_per_section=4, sections=8, thread="0.5 mm", caliper_um="100 µm")
    assert after.spine_mm.half_width < 0.6 * before.spine_mm.half_width
    assert after.spine_mm.low < 8.5 < after.spine_mm.high
    words = [s.words for s in after.rests_on if "finished books" in s.words]
    assert len(words) == 2
    assert not [s for s in before.rests_on if "finished books" in s.words]


def test_a_soft_book_tells_a_little_about_a_hard_one(shop: Workshop) -> None:
    for _ in range(4):
        kept(shop).add(
            **{**PLAIN, "caliper_um": None, "thread": "30/3 linen"},
            paper_class="newsprint",
            stack_sheets=100,
            stack="8 mm",
            fore_edge_mm=4.9,
            spine_mm=7.1,
        )

    def width(surface: str, fibre: str) -> float:
        known = flattening_posterior(shop.connection, surface, fibre)
        return known.quantile(0.95) - known.quantile(0.05)

    assert kept(shop).list()[0].surface == "soft"
    assert width("soft", "linen") < width("hard", "linen") < width("hard", "cotton") < 0.54


def test_withdrawing_restores_every_number(shop: Workshop) -> None:
    bare = quantiles(shop)
    one = kept(shop).add(**PLAIN, fore_edge_mm=6.1, spine_mm=8.5)
    with_one = quantiles(shop)
    two = kept(shop).add(**PLAIN, fore_edge_mm=6.3, spine_mm=9.5, label="second")
    with_two = quantiles(shop)
    assert bare != with_one != with_two
    assert kept(shop).remove("second").withdrawn_at
    assert quantiles(shop) == with_one
    kept(shop).remove(one.id)
    assert quantiles(shop) == bare
    assert taught(shop.connection) == (0, 0)
    kept(shop).restore(two.id)
    kept(shop).restore(one.id)
    assert quantiles(shop) == with_two
    with pytest.raises(BadInput, match="not withdrawn"):
        kept(shop).restore(one.id)
    kept(shop).remove(one.id)
    with pytest.raises(BadInput, match="withdrawn already"):
        kept(shop).remove(one.id)
    assert len(kept(shop).list()) == 1
    assert len(kept(shop).list(withdrawn=True)) == 2


def test_what_teaches_and_what_does_not(shop: Workshop) -> None:
    kept(shop).add(**PLAIN, spine_mm=8.5)
    assert taught(shop.connection) == (0, 0)
    kept(shop).add(**PLAIN, fore_edge_mm=6.1)
    assert taught(shop.connection) == (1, 0)
    loose = kept(shop).add(**PLAIN, fore_edge_mm=7.0, spine_mm=9.0, pressing="unpressed")
    assert taught(shop.connection) == (1, 0)
    assert loose.flattening is None
    assert loose.pressing_factor is None


def test_the_prediction_kept_is_that_before_the_book_taught(shop: Workshop) -> None:
    expected = shop.spine(sheets_per_section=4, sections=8, thread="0.5 mm", caliper_um="100 µm")
    book = kept(shop).add(**PLAIN, fore_edge_mm=6.1, spine_mm=8.5)
    assert book.fore_edge_mm.predicted == expected.fore_edge_mm
    assert book.spine_mm.predicted == expected.spine_mm


def test_surprising_is_told_absurd_is_refused(shop: Workshop) -> None:
    odd = kept(shop).add(**PLAIN, fore_edge_mm=7.4)
    assert odd.fore_edge_mm.inside is False
    assert "was to be expected" in odd.warnings[0]
    with pytest.raises(BadInput, match=r"fore-edge of 14 mm .* was to be expected; expected the number of folded"):
        kept(shop).add(**PLAIN, fore_edge_mm=14)
    with pytest.raises(BadInput, match="thinner than the fore-edge"):
        kept(shop).add(**PLAIN, fore_edge_mm=6.4, spine_mm=5.9)
    assert len(kept(shop).list()) == 1


def test_the_paper_may_be_a_sample(shop: Workshop) -> None:
    sample = shop.samples.add("ledger", paper_class="ledger", stack_sheets=10, stack="1.10 mm", with_="micrometer")
    about = {k: v for k, v in PLAIN.items() if k != "caliper_um"}
    book = kept(shop).add(**about, sample="ledger", fore_edge_mm=6.8, spine_mm=9.6)
    assert book.paper == {"sample": sample.id}
    assert book.surface == "hard"
    row = shop.connection.execute("SELECT paper_key FROM finished_book").fetchone()
    assert row[0] == f"pile {sample.pile_id}"


def test_books_of_one_paper_share_its_doubt(shop: Workshop) -> None:
    """Ten books of one badly known paper tell less of pressing than ten of different papers, each as badly known."""
    about = {k: v for k, v in PLAIN.items() if k != "caliper_um"}

    def width(stacks: list[str]) -> float:
        added = [kept(shop).add(**about, stack_sheets=400, stack=s, held="gauge", fore_edge_mm=5.9) for s in stacks]
        known = pressing_posterior(shop.connection)
        for book in added:
            kept(shop).remove(book.id)
        return known.quantile(0.95) - known.quantile(0.05)

    assert width(["40 mm"] * 6) > width([f"40.0{i} mm" for i in range(6)])


PLAN = {
    "book": {"structure": "soft-cover", "sections": 8, "sheets_per_section": 4},
    "paper": {"caliper_um": 100, "class": "ledger", "leaves": 40, "leaf_size": "A4"},
    "sewing": {"by": "machine", "thread": "0.5 mm"},
}


def test_a_plan_gives_the_facts_and_what_is_said_goes_before(shop: Workshop) -> None:
    book = kept(shop).add(plan=PLAN, fore_edge_mm="6.1 mm", sections=9)
    assert (book.sections, book.sheets_per_section, book.sewing, book.thread) == (9, 4, "machine", "0.5 mm")
    assert book.paper == {"caliper_um": "100 um"}
    assert book.plan == PLAN
    other = kept(shop).add(plan=PLAN, fore_edge_mm="6.1 mm", caliper_um=98, sewing="two-on")
    assert (other.paper, other.sewing) == ({"caliper_um": "98"}, "two-on")


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({}, "nothing of the finished book was measured"),
        ({"fore_edge_mm": "0"}, "fore-edge thickness"),
        ({"fore_edge_mm": "700 mm"}, "0.2 to 500 mm"),
        ({"fore_edge_mm": "6 g"}, "unit of mass"),
        ({"fore_edge_mm": 6.1, "sections": None}, "sections is not given"),
        ({"fore_edge_mm": 6.1, "sections": 0}, "sections"),
        ({"fore_edge_mm": 6.1, "thread": None}, "thread is not given"),
        ({"fore_edge_mm": 6.1, "thread": "seaweed"}, "no thread called"),
        ({"fore_edge_mm": 6.1, "sewing": "glued"}, "sewing is"),
        ({"fore_edge_mm": 6.1, "pressing": "hard"}, '"hard" is no pressing'),
        ({"fore_edge_mm": 6.1, "measured_with": "eye"}, "not a way to measure"),
        ({"fore_edge_mm": 6.1, "caliper_um": None}, "nothing is known of the paper"),
        ({"fore_edge_mm": 6.1, "grammage": 80}, "one of the two"),
        ({"fore_edge_mm": 6.1, "colour": "cream"}, "no kind of evidence"),
        ({"fore_edge_mm": 6.1, "measured_on": "yesterday"}, "year-month-day"),
        ({"fore_edge_mm": 6.1, "endpaper_leaves": -1}, "leaves of endpaper"),
        ({"fore_edge_mm": 6.1, "sample": "nobody", "caliper_um": None}, "no sample called"),
    ],
)
def test_bad_books_are_refused_in_one_line(shop: Workshop, changes: dict[str, Any], match: str) -> None:
    with pytest.raises(BadInput, match=match) as caught:
        kept(shop).add(**{**PLAIN, **changes})
    assert "\n" not in str(caught.value)
    assert kept(shop).list(withdrawn=True) == []


def test_names_of_books(shop: Workshop) -> None:
    for _ in range(2):
        kept(shop).add(**PLAIN, fore_edge_mm=6.1, label="tide tables")
    with pytest.raises(BadInput, match="2 books are called"):
        kept(shop).get("tide tables")
    for nobody in ("charts", "", 7):
        with pytest.raises(NotFound, match="no finished book"):
            kept(shop).get(nobody)  # type: ignore[arg-type]


def test_a_crash_in_the_middle_leaves_nothing(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    before = list(shop.connection.iterdump())
    real = books.new_id

    def crash(connection: sqlite3.Connection, table: str) -> str:
        connection.execute("UPDATE info SET value = 'half done'")
        real(connection, table)
        raise KeyboardInterrupt

    monkeypatch.setattr(books, "new_id", crash)
    with pytest.raises(KeyboardInterrupt):
        kept(shop).add(**PLAIN, fore_edge_mm=6.1)
    assert list(shop.connection.iterdump()) == before


@pytest.mark.parametrize(
    ("text", "fibre"), [("30/3 linen", "linen"), ("linen-30-3", "linen"), ("0.5 mm", ""), ("60/3 cotton", "cotton")]
)
def test_the_fibre_of_a_thread(shop: Workshop, text: str, fibre: str) -> None:
    assert fibre_of(shop.connection, thread(shop.connection, text)) == fibre
