"""Cutting and shopping: shelf first, the rest from the shop; lengths, sheets, prices, remnants too small."""

from __future__ import annotations

import math
import re
from itertools import combinations, pairwise
from typing import Any

import pytest

from matref.api import Workshop
from matref.planning import PlannedBook

SOFT = {"structure": "soft-cover", "page_width_mm": 100, "page_height_mm": 150, "sections": 5, "sheets_per_section": 4}
CASE = {
    "structure": "flat-back-case",
    "page_width_mm": 130,
    "page_height_mm": 190,
    "sections": 8,
    "sheets_per_section": 4,
}
PAPER = {"caliper_um": 104}
COVER = {"cloth": "canvas_duck", "cloth_mm": 0.4, "card_mm": 0.3, "interfacing": "none"}


def plan(workshop: Workshop, book: dict[str, Any] = SOFT, **tables: Any) -> PlannedBook:
    return workshop.plan({"book": book, "paper": PAPER, "cover": COVER if book is SOFT else {}, **tables})


def piece(material: str, size: str, grain: str = "long", **more: Any) -> dict[str, Any]:
    return {"material": material, "size": size, "grain": grain, **more}


def test_length_off_a_bolt_that_shrinks(workshop: Workshop) -> None:
    """To finish 360 mm after 10 % of shrinkage cut 400 mm (checks, no. 22)."""
    book = {**SOFT, "page_height_mm": 340}
    shop = [{"material": "cloth", "width_mm": 1400, "shrinkage_pct": 10, "price": 12.5}]
    cover = {**COVER, "turn_in_mm": 10, "overhang_mm": 0}
    found = workshop.plan({"book": book, "paper": PAPER, "cover": cover, "stock": {"shop": shop}})
    need = found.need("cloth")
    assert need is not None
    assert need.buy is not None
    assert need.buy.amount == pytest.approx(400)
    assert need.buy.cost == pytest.approx(0.4 * 12.5)
    assert "40 cm" in need.buy.words
    assert "10 %" in need.buy.words


@pytest.mark.parametrize(("cloth", "share"), [("plain_cotton", 0.05), ("canvas_duck", 0.15), ("linen", 0.10)])
def test_a_bolt_of_which_nothing_is_said_shrinks_as_its_kind_does(workshop: Workshop, cloth: str, share: float) -> None:
    """Cotton 2 to 5 % (common practice), canvas 8 to 15 % (a seller of duck), linen 3 to 10 % (a linen shop)."""
    stock = {"shop": [{"material": "cloth", "width_mm": 1400, "price": 12}]}
    cover = {**COVER, "cloth": cloth}
    found = workshop.plan({"book": SOFT, "paper": PAPER, "cover": cover, "stock": stock})
    need = found.need("cloth")
    assert need is not None
    assert need.buy is not None
    height = need.parts[0].length_mm
    centimetres = math.ceil(height / (1 - share) / 10)
    assert need.buy.amount == 10 * centimetres
    assert f"{centimetres} cm of cloth" in need.buy.words
    assert "wash it, then cut" in need.buy.words
    assert need.buy.cost == pytest.approx(0.12 * centimetres)  # what is paid is what the words say to buy
    assert found.cost is not None
    assert found.cost.words.startswith(f"{0.12 * centimetres:.2f}: {0.12 * centimetres:.2f} to buy")
    assert len([support for support in found.rests_on if support.words.startswith("cloth.shrinkage.")]) == 1
    stated = {"shop": [{**stock["shop"][0], "shrinkage_pct": 0}]}
    washed = workshop.plan({"book": SOFT, "paper": PAPER, "cover": cover, "stock": stated}).need("cloth")
    assert washed is not None
    assert washed.buy is not None
    assert "wash" not in washed.buy.words  # the maker says that it does not shrink


DRESSED = (
    "book_cloth",
    "buckram",
    "coated_cloth_pvc",
    "faux_leather",
    "leather",
    "felt",
    "nonwoven_spunbond",
    "book-cloth.group-a",
    "book-cloth.rayon-paper-backed",
)


@pytest.mark.parametrize("cloth", DRESSED)
def test_dressed_cloth_is_never_told_to_be_washed(workshop: Workshop, cloth: str) -> None:
    """Filled, paper-backed, coated and felted cloth is ruined in the wash (from memory; every binder's warning)."""
    stock = {"shop": [{"material": "cloth", "width_mm": 1400, "price": 12}]}
    for shop in (stock, {"shop": [{**stock["shop"][0], "shrinkage_pct": 3}]}):
        found = workshop.plan({"book": CASE, "paper": PAPER, "cover": {"cloth": cloth, "cloth_mm": 0.3}, "stock": shop})
        need = found.need("cloth")
        assert need is not None
        assert need.buy is not None
        assert "wash it" not in need.buy.words
        assert "not to be washed" in need.buy.words
        share = 0.03 if shop is not stock else 0.0
        assert need.buy.amount == 10 * math.ceil(need.parts[0].length_mm / (1 - share) / 10)


@pytest.mark.parametrize("cloth", ["polyester_woven", "sailcloth", "knit_jersey", "wool_suiting", "my curtain"])
def test_nothing_is_said_of_the_wash_where_nothing_is_known(workshop: Workshop, cloth: str) -> None:
    stock = {"shop": [{"material": "cloth", "width_mm": 1400}]}
    cover = {"cloth": cloth, "cloth_mm": 0.3}
    need = workshop.plan({"book": CASE, "paper": PAPER, "cover": cover, "stock": stock}).need("cloth")
    assert need is not None
    assert need.buy is not None
    assert "wash" not in need.buy.words
    assert need.buy.amount == 10 * math.ceil(need.parts[0].length_mm / 10)


def test_a_cloth_washed_in_a_published_test_shrinks_as_it_did(workshop: Workshop) -> None:
    """A shop's wash test of light sheeting: 8.33 to 10.23 %."""
    stock = {"shop": [{"material": "cloth", "width_mm": 1400}]}
    cover = {**COVER, "cloth": "sheeting.shrink-test"}
    need = workshop.plan({"book": SOFT, "paper": PAPER, "cover": cover, "stock": stock}).need("cloth")
    assert need is not None
    assert need.buy is not None
    assert need.buy.amount == 10 * math.ceil(need.parts[0].length_mm / (1 - 0.1023) / 10)
    assert "it shrinks by 10 %: wash it, then cut" in need.buy.words


def test_interfacing_and_mull_are_not_washed_like_cotton(workshop: Workshop) -> None:
    """Non-woven interfacing has no grain and does not shrink (Goodheart-Willcox 2012)."""
    shop = [{"material": role, "width_mm": 900} for role in ("interfacing", "mull", "cloth")]
    soft = workshop.plan({"book": SOFT, "paper": PAPER, "stock": {"shop": shop}})
    interfacing = soft.need("interfacing")
    assert interfacing is not None
    assert interfacing.buy is not None
    assert "wash" not in interfacing.buy.words
    mull = workshop.plan({"book": CASE, "paper": PAPER, "stock": {"shop": shop}}).need("mull")
    assert mull is not None
    assert mull.buy is not None
    assert "wash it" not in mull.buy.words


def test_a_pile_that_has_enough_is_not_bought(workshop: Workshop) -> None:
    """Twenty sheets out of A4, one to a leaf, are twenty leaves: of 60 nothing is to be bought, of 12 eight are."""
    paper = {**PAPER, "leaf_size": "A4", "leaves": 60, "grain": "long", "price": 0.02}

    def line(leaves: int) -> tuple[dict[str, Any], PlannedBook]:
        found = workshop.plan({"book": SOFT, "paper": {**paper, "leaves": leaves}, "cover": COVER})
        return next(one for one in found.as_json()["shopping"] if one["role"] == "text"), found

    enough, book = line(60)
    assert enough["buy"] is None
    assert enough["from_shelf"] == [book.paper.from_pile]
    assert book.paper.from_pile.startswith("20 leaves of the pile's 60, 1 sheet of")
    assert book.cost is not None
    assert (book.cost.to_buy, book.cost.from_shelf) == (0.0, pytest.approx(0.4))
    short, book = line(12)
    assert short["buy"]["amount"] == 8
    assert short["buy"]["words"].startswith("8 leaves, 1 sheet of")
    assert short["from_shelf"][0].startswith("12 leaves of the pile's 12")
    assert book.cost is not None
    assert (book.cost.to_buy, book.cost.from_shelf) == (pytest.approx(0.16), pytest.approx(0.24))
    assert book.paper.cost == pytest.approx(0.4)
    assert "8 are lacking" in book.paper.words
    uncounted = workshop.plan({"book": SOFT, "paper": {**PAPER, "leaf_size": "A4", "grain": "long"}, "cover": COVER})
    assert uncounted.paper.buy is None
    assert uncounted.paper.from_pile.startswith("20 leaves, 1 sheet of")
    assert workshop.plan({"book": SOFT, "paper": PAPER, "cover": COVER}).paper.buy is not None


def test_needed_on_the_sheet_of_work_says_the_same(workshop: Workshop) -> None:
    from matref.bench.content import sheet_of_work

    paper = {**PAPER, "leaf_size": "A4", "leaves": 60, "grain": "long"}
    shop = [{"material": "cloth", "width_mm": 1400, "price": 12}]
    cover = {**COVER, "cloth": "plain_cotton"}
    book = workshop.plan({"book": SOFT, "paper": paper, "cover": cover, "stock": {"shop": shop}})
    needs = sheet_of_work(book.as_json(), "mm").needs
    (text,) = [line for line in needs if line.startswith(book.plan.paper)]
    assert "to buy" not in text
    assert "from the shelf: 20 leaves of the pile's 60" in text
    assert book.cost is not None
    assert needs[-1] == f"cost {book.cost.words}"


def test_a_bolt_too_narrow_after_washing_is_not_offered(workshop: Workshop) -> None:
    width = max(p.width_mm for p in plan(workshop).need("cloth").parts)  # type: ignore[union-attr]
    for bolt, bought in ((width / 0.9 - 0.5, False), (width / 0.9 + 0.5, True)):
        shop = [{"material": "cloth", "width_mm": bolt, "shrinkage_pct": 10}]
        need = plan(workshop, stock={"shop": shop}).need("cloth")
        assert need is not None
        assert (need.buy is not None) is bought
        assert bool(need.open) is not bought


def test_boards_to_a_sheet_and_the_cheaper_sheet(workshop: Workshop) -> None:
    """Boards of 196 x about 125 mm and a strip: one sheet of 700 x 1000 mm, or two of 210 x 300."""
    shop = [
        piece("board", "700 x 1000 mm", price=4.2, name="whole sheet"),
        piece("board", "210 x 300 mm", grain="short", price=1.5, name="cut sheet"),
    ]
    need = plan(workshop, CASE, stock={"shop": shop}).need("board")
    assert need is not None
    assert need.buy is not None
    assert (need.buy.what, need.buy.amount, need.buy.cost) == ("cut sheet", 1, 1.5)
    dear = plan(workshop, CASE, stock={"shop": [shop[0], {**shop[1], "price": 5}]}).need("board")
    assert dear is not None
    assert dear.buy is not None
    assert dear.buy.what == "whole sheet"


def test_grain_is_kept_on_sheets(workshop: Workshop) -> None:
    """A sheet that holds a board only across its grain is no offer."""
    need = plan(workshop, CASE, stock={"shop": [piece("board", "180 x 260 mm", grain="long")]}).need("board")
    assert need is not None
    assert need.buy is not None  # 196 mm along the 260 mm
    across = plan(workshop, CASE, stock={"shop": [piece("board", "180 x 260 mm", grain="short")]}).need("board")
    assert across is not None
    assert across.buy is None


def test_costs_add_up(workshop: Workshop) -> None:
    stock = {
        "currency": "EUR",
        "pieces": [piece("cloth", "300 x 260 mm", "short", price=0.75, name="remnant")],
        "shop": [piece("card", "A3", price=0.4), {"material": "thread", "length_m": 100, "price": 2.4}],
    }
    paper = {**PAPER, "leaf_size": "A4", "leaves": 40, "grain": "long", "price": 0.02}
    found = workshop.plan({"book": SOFT, "paper": paper, "cover": COVER, "stock": stock})
    assert found.cost is not None
    assert found.cost.to_buy == pytest.approx(0.4 + 2.4)
    assert found.cost.from_shelf == pytest.approx(0.75 + 20 * 0.02)
    assert found.cost.total == pytest.approx(3.95)
    assert found.cost.unpriced == ()
    assert found.cost.currency == "EUR"
    assert plan(workshop).cost is None


def test_what_has_no_price_is_named(workshop: Workshop) -> None:
    cost = plan(workshop, stock={"shop": [piece("card", "A3", price=0.4)]}).cost
    assert cost is not None
    assert any("cloth" in name for name in cost.unpriced)
    assert any("thread" in name for name in cost.unpriced)


def test_spools(workshop: Workshop) -> None:
    spools = [{"material": "thread", "length_m": 1, "price": 0.5}]
    thread = plan(workshop, CASE, stock={"shop": spools}, sewing={"thread": "0.5 mm"}).thread
    length = plan(workshop, CASE, sewing={"thread": "0.5 mm"}).stitching.thread_length_mm
    assert thread.amount == -(-length // 1000)
    assert thread.cost == pytest.approx(0.5 * thread.amount)


@pytest.mark.parametrize("book", [SOFT, CASE], ids=["soft", "case"])
def test_a_remnant_too_small_names_a_page_that_works(workshop: Workshop, book: dict[str, Any]) -> None:
    """The advice is followed here, and then the remnant does."""
    stock = {"pieces": [piece("cloth", "210 x 150 mm", name="offcut")]}
    lines = [line for line in plan(workshop, book, stock=stock).warnings if "remnant" in line]
    assert len(lines) == 1
    page = re.search(r"a page of (\d+) x (\d+) mm", lines[0])
    assert page is not None
    smaller = {**book, "page_width_mm": int(page[1]), "page_height_mm": int(page[2])}
    cover = COVER if book is SOFT else {}
    then = workshop.plan({"book": smaller, "paper": PAPER, "cover": cover, "stock": stock})
    assert not [line for line in then.warnings if "remnant" in line]
    need = then.need("cloth")
    assert need is not None
    assert not need.open


@pytest.mark.parametrize(
    ("structure", "size"),
    [("soft-cover", "300 x 60 mm"), ("flat-back-case", "40 x 40 mm"), ("quarter-case", "300 x 50 mm")],
)
def test_no_page_is_named_where_none_would_do(workshop: Workshop, structure: str, size: str) -> None:
    """A strip too narrow for any page; a quarter case's cloth, which no smaller page makes narrower."""
    stock = {"pieces": [piece("cloth", size, name="strip")]}
    lines = [line for line in plan(workshop, {**CASE, "structure": structure}, stock=stock).warnings if "strip" in line]
    assert len(lines) == 1
    assert "not enough for 1 cloth" in lines[0]


def test_a_remnant_too_small_is_made_up_from_the_shop(workshop: Workshop) -> None:
    stock = {"pieces": [piece("cloth", "210 x 150 mm")], "shop": [{"material": "cloth", "width_mm": 1400}]}
    found = plan(workshop, stock=stock)
    assert any("else buy" in line for line in found.warnings)
    assert found.need("cloth").buy is not None  # type: ignore[union-attr]


def test_boards_too_small_are_told(workshop: Workshop) -> None:
    stock = {"pieces": [piece("board", "200 x 140 mm", name="old board")]}  # one board, no more
    found = plan(workshop, CASE, stock=stock)
    (line,) = [line for line in found.warnings if "old board" in line]
    assert "not enough" in line
    need = found.need("board")
    assert need is not None
    assert need.open
    assert [layout["piece"] for layout in need.on_shelf] == ["old board"]


def test_a_warp_not_known_is_told(workshop: Workshop) -> None:
    found = plan(workshop, stock={"pieces": [piece("cloth", "600 x 500 mm", "unknown", name="old sail")]})
    need = found.need("cloth")
    assert need is not None
    assert "grain of old sail is not known" in need.notes[0]


def test_endpapers_come_out_of_the_pile(workshop: Workshop) -> None:
    """Eight sections of four sheets from A3 take 16 or 32 leaves; endpapers of the same paper come from the rest."""
    paper = {**PAPER, "leaf_size": "A3", "leaves": 60, "grain": "short", "price": 0.1}
    cover = {"endpaper": "text"}
    found = workshop.plan({"book": CASE, "paper": paper, "cover": cover})
    need = found.need("endpaper")
    assert need is not None
    assert not need.open
    assert need.shelf_cost == pytest.approx(0.1 * len(need.on_shelf))
    short = workshop.plan({"book": CASE, "paper": {**paper, "leaves": int(found.paper.amount)}, "cover": cover})
    assert short.need("endpaper").open  # type: ignore[union-attr]


def test_layouts_are_sound(workshop: Workshop) -> None:
    """Checked from outside: every part inside its piece, none over another, grain along the spine, all there."""
    stock = {
        "pieces": [
            piece("cloth", "500 x 300 mm", "short"),
            piece("card", "A3"),
            piece("board", "200 x 140 mm", count=2),
        ],
        "shop": [
            piece("board", "700 x 1000 mm"),
            piece("mull", "A4"),
            piece("lining", "A4", "short"),
            piece("endpaper", "A3", "short"),
            piece("paper", "A2"),
        ],
    }
    for structure in ("flat-back-case", "quarter-case", "rounded-case"):
        found = plan(workshop, {**CASE, "structure": structure}, stock=stock)
        layouts = found.as_json()["cutting"]["layouts"]
        placed: dict[tuple[str, str], int] = {}
        for layout in layouts:
            for one in layout["parts"]:
                placed[layout["role"], one["name"]] = placed.get((layout["role"], one["name"]), 0) + 1
                assert one["x_mm"] >= -1e-6
                assert one["y_mm"] >= -1e-6
                assert one["x_mm"] + one["length_mm"] <= layout["length_mm"] + 1e-6
                assert one["y_mm"] + one["width_mm"] <= layout["width_mm"] + 1e-6
            for a, b in combinations(layout["parts"], 2):
                apart_x = (
                    a["x_mm"] + a["length_mm"] <= b["x_mm"] + 1e-6 or b["x_mm"] + b["length_mm"] <= a["x_mm"] + 1e-6
                )
                apart_y = a["y_mm"] + a["width_mm"] <= b["y_mm"] + 1e-6 or b["y_mm"] + b["width_mm"] <= a["y_mm"] + 1e-6
                assert apart_x or apart_y
        for need in found.needs:
            missing = dict(need.open)
            for part in need.parts:
                assert placed.get((need.role, part.name), 0) + missing.get(part.name, 0) == part.count
        sizes = {part.name: (part.width_mm, part.height_mm) for part in found.parts}
        for layout in layouts:
            for one in layout["parts"]:
                across, along = sizes[one["name"]]
                longest = one["width_mm"] if one["turned"] else one["length_mm"]
                assert longest == pytest.approx(along, abs=0.11)
                assert (one["length_mm"] if one["turned"] else one["width_mm"]) >= across - 1e-6


def test_bigger_pages_never_take_less(workshop: Workshop) -> None:
    areas = []
    for width, height in ((80, 120), (80, 150), (100, 150), (120, 170)):
        book = {**SOFT, "page_width_mm": width, "page_height_mm": height}
        found = workshop.plan({"book": book, "paper": PAPER, "cover": COVER})
        areas.append([need.area_m2 for need in found.needs] + [found.weight_g.value])
    for smaller, bigger in pairwise(areas):
        assert all(a < b for a, b in zip(smaller, bigger, strict=True))


def test_the_stock_table_is_looked_through(shop: Workshop) -> None:
    shop.stock.add("cloth", "600 x 400 mm", grain="short", label="sailcloth", price=0.5)
    shop.stock.add("cloth", "900 x 900 mm", grain="short", label="book cloth", entry="book_cloth")
    shop.stock.add("paper", "A1", label="loft pile")
    found = plan(shop).need("cloth")
    assert found is not None
    assert [layout["piece"] for layout in found.on_shelf] == ["sailcloth"]  # the other is of another cloth
    assert found.shelf_cost == 0.5
    without = plan(shop, stock={"use_shelf": False}).need("cloth")
    assert without is not None
    assert without.on_shelf == ()
    shop.stock.remove("sailcloth")
    assert plan(shop).need("cloth").on_shelf == ()  # type: ignore[union-attr]
    sides = plan(shop, {**CASE, "structure": "quarter-case"}).need("paper")
    assert sides is not None
    assert sides.on_shelf == ()  # a pile of text paper is not cut up for the sides


def test_cloth_cut_after_sewing_is_bought_at_its_largest(workshop: Workshop) -> None:
    """A case's cloth waits for the sewn back: what is bought covers the thick end of what it may come out as."""
    found = workshop.plan({"book": CASE, "paper": {"class": "copier"}})
    cloth = next(part for part in found.parts if part.name == "cloth")
    need = found.need("cloth")
    assert need is not None
    assert cloth.width_high_mm > cloth.width_mm + 0.3
    assert cloth.width_high_mm <= need.parts[0].width_mm < cloth.width_high_mm + 0.1 + 1e-9


def test_leaves_are_paid_not_sheets(workshop: Workshop) -> None:
    """Two sheets of 205 x 145 mm come out of a leaf of A4, so twenty sheets are ten leaves."""
    paper = {**PAPER, "leaf_size": "A4", "leaves": 40, "grain": "long", "price": 0.02}
    found = workshop.plan({"book": {**SOFT, "page_height_mm": 145}, "paper": paper, "cover": COVER})
    assert found.paper.amount == 10
    assert found.paper.cost == pytest.approx(0.2)
    assert found.cost is not None
    assert found.cost.from_shelf == pytest.approx(0.2)


def test_the_blade_and_the_offcuts_worth_keeping(workshop: Workshop) -> None:
    width = max(part.width_mm for part in plan(workshop).need("cloth").parts)  # type: ignore[union-attr]
    remnant = piece("cloth", f"{width + 40:.1f} x 400 mm", "long")

    def narrowest(**stock: Any) -> float:
        layout = plan(workshop, stock={"pieces": [remnant], **stock}).as_json()["cutting"]["layouts"][0]
        return min(float(min(one["length_mm"], one["width_mm"])) for one in layout["offcuts"])

    assert narrowest() == pytest.approx(40, abs=0.2)
    assert narrowest(blade_mm=2) == pytest.approx(38, abs=0.2)
    assert narrowest(keep_mm=50) > 100


def test_the_cheapest_spools(workshop: Workshop) -> None:
    def bought(*spools: tuple[float, float | None]) -> tuple[float, float | None]:
        shop = [{"material": "thread", "length_m": m, **({} if p is None else {"price": p})} for m, p in spools]
        thread = plan(workshop, CASE, stock={"shop": shop}, sewing={"thread": "0.5 mm"}).thread
        return thread.amount, thread.cost

    metres = plan(workshop, CASE, sewing={"thread": "0.5 mm"}).stitching.thread_length_mm / 1000
    half = metres / 2 + 0.1  # two of these are enough, and one is not
    assert bought((half, 1.0), (100, 3.0)) == (2, 2.0)
    assert bought((half, 2.0), (100, 3.0)) == (1, 3.0)
    assert bought((half, None), (100, 3.0)) == (1, 3.0)  # one without a price is not taken for a gift
    assert bought((half, None), (100, None)) == (1, None)
