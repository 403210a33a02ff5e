"""Whole books from plan files: the contract, published examples, units, allowances, unwise and impossible plans."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from matref.api import Workshop
from matref.errors import BadInput
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
CONTRACT = (
    "text_block",
    "sections",
    "creep",
    "spine",
    "cover",
    "stitching",
    "under_needle_mm",
    "cutting",
    "shopping",
    "cautions",
    "rests_on",
    "warnings",
)


def part(book: PlannedBook, name: str) -> Any:
    (found,) = [one for one in book.parts if one.name == name]
    return found


# the contract


@pytest.mark.parametrize(
    "structure",
    ["pamphlet", "soft-cover", "long-stitch", "link-stitch", "flat-back-case", "quarter-case", "rounded-case"],
)
def test_the_contract_s_keys_for_every_structure(workshop: Workshop, structure: str) -> None:
    """Every key but the first four has a default: nothing else is given."""
    book = {
        "structure": structure,
        "page_width_mm": 100,
        "page_height_mm": 150,
        "sections": 1 if structure == "pamphlet" else 5,
    }
    plain = json.loads(json.dumps(workshop.plan({"book": book}).as_json(), allow_nan=False))
    assert set(CONTRACT) <= set(plain)
    for one in plain["cover"]["parts"]:
        assert {"name", "material", "count", "width_mm", "height_mm", "grain", "allowance"} <= set(one)
        assert sum(link["mm"] for link in one["width_chain"]) == pytest.approx(one["width_mm"])
        assert sum(link["mm"] for link in one["height_chain"]) == pytest.approx(one["height_mm"])
    assert {"lines_mm", "order", "stations_mm", "stitch_mm", "needle", "thread"} <= set(plain["stitching"])
    assert sorted(plain["stitching"]["order"]) == sorted(plain["stitching"]["lines_mm"])
    materials = {one["name"] for one in plain["cover"]["materials"]}
    assert {one["material"] for one in plain["cover"]["parts"]} <= materials
    assert {"kind", "what", "sources"} == set(plain["rests_on"][0])
    assert plain["cautions"]
    assert plain["assumed"]  # nothing was named, so everything that was taken is told
    assert 0 < plain["weight_g"]["low"] <= plain["weight_g"]["value"] <= plain["weight_g"]["high"]


def test_every_source_exists(workshop: Workshop) -> None:
    known = {row[0] for row in workshop.connection.execute("SELECT id FROM source")} | {"maker's own"}
    for book in (SOFT, CASE):
        for support in workshop.plan({"book": book, "paper": {"class": "ledger"}}).rests_on:
            assert set(support.sources) <= known, support


def test_the_contract_s_own_example(workshop: Workshop) -> None:
    """The file in the design, word for word: board_mm has no use in a soft cover, and that is said."""
    import tomllib

    text = """
    [book]
    structure = "soft-cover"
    page_width_mm = 100
    page_height_mm = 150
    sections = 5
    sheets_per_section = 4
    [paper]
    class = "bond_writing"
    grammage_gsm = 70
    [cover]
    board_mm = 2.5
    square_mm = 3
    turn_in_mm = 17
    [sewing]
    by = "machine"
    [stock]
    """
    book = workshop.plan(tomllib.loads(text))
    assert book.sections.pages == 80
    assert "turn-in 17 mm" in part(book, "cloth").allowance
    assert book.notes == ("cover.board_mm has no use in a soft-cover",)


# published examples


def test_lines_from_the_centre_outwards_then_inwards(workshop: Workshop) -> None:
    """Common practice, no source (checks, no. 26): lines 2 mm apart, centre, outermost, then inward."""
    book = workshop.plan({"book": {**SOFT, "sections": 7}, "paper": PAPER})
    assert book.stitching.order[0] == 0
    assert [abs(line) for line in book.stitching.order] == [0, 6, 6, 4, 4, 2, 2]


def test_inner_pages_lose_a_thickness_each(workshop: Workshop) -> None:
    """ColorVision Printing on saddle stitching (checks, no. 14): sheets of .005 in lie 0, .005, .010, .015 in."""
    book = workshop.plan({"book": SOFT, "paper": {"caliper_in": 0.005, "in_block": True}})
    assert book.plan.page_loss_mm / 25.4 == pytest.approx(0.015, rel=1e-3)


def test_boards_of_a_case(workshop: Workshop) -> None:
    """Collins; Bean 1914 (checks, no. 18): covers project 1/8 in and stop 1/8 in short of the fold: W by H + 1/4."""
    book = {**CASE, "page_width_mm": "5 in", "page_height_mm": "7 1/2 in"}
    cover = {"board_in": 0.1, "square_in": "1/8", "gap_in": 0.1 + 0.125}
    board = part(workshop.plan({"book": book, "paper": PAPER, "cover": cover}), "board")
    assert board.width_mm / 25.4 == pytest.approx(5)
    assert board.height_mm / 25.4 == pytest.approx(7.75)
    assert board.count == 2


def test_a_pamphlet_s_holes_and_thread(workshop: Workshop) -> None:
    """book-repair.com (checks, no. 24): under 7 in three holes, else five; ends within 3/4 in; thread 2H + 4…6."""
    for height, holes in ((6, 3), (8, 5)):
        book = {"structure": "pamphlet", "page_width_in": 4, "page_height_in": height, "sections": 1}
        stitching = workshop.plan({"book": book, "paper": PAPER}).stitching
        assert len(stitching.stations_mm) == holes
        assert stitching.stations_mm[0] <= 19.05
        assert 2 * height + 4 <= stitching.thread_length_mm / 25.4 <= 2 * height + 6


def test_swell_of_a_long_stitch_book(workshop: Workshop) -> None:
    """Jones (checks, no. 9): 19 sections of 8 sheets, thread about 1 mm loose and 0.5 mm wound tight: swell 9.5 mm."""
    book = {**SOFT, "structure": "long-stitch", "sections": 19, "sheets_per_section": 8}
    found = workshop.plan(
        {"book": book, "paper": {"caliper_um": 104, "class": "newsprint"}, "sewing": {"thread": "1 mm"}}
    )
    assert found.spine.swell_mm.low < 9.5 < found.spine.swell_mm.high


def swell(workshop: Workshop, **sewing: Any) -> float:
    plan = {"book": CASE, "paper": PAPER, "sewing": {"thread": "0.5 mm", **sewing}}
    return float(workshop.plan(plan).spine.swell_mm.value)


def test_two_on_halves_the_swell(workshop: Workshop) -> None:
    """Cockerell 1901, Zaehnsdorf 1890 (checks, no. 10): of sections that are all in pairs."""
    pairs = swell(workshop, two_on=True, singly=0, endpapers="tipped")
    assert pairs == pytest.approx(swell(workshop, endpapers="tipped") / 2)


def test_two_on_counts_the_ends_all_along(workshop: Workshop) -> None:
    """Roberts & Etherington, "two on": it begins after the first section, sewn all along; Cockerell: both ends so.

    Eight sections: 1 + 6/2 + 1 = 5 threads instead of 8; with sewn endpapers 5 + 2 = 7 instead of 8 + 2 = 10.
    """
    assert swell(workshop, two_on=True, endpapers="tipped") == pytest.approx(
        5 / 8 * swell(workshop, endpapers="tipped")
    )
    assert swell(workshop, two_on=True) == pytest.approx(7 / 10 * swell(workshop))


def test_thread_by_count(workshop: Workshop) -> None:
    """tex = 1653.515 / lea · plies; d = √(4·tex / (π·ρ)) with linen's 0.47 to 0.91 g/cm³ (data/fibre.csv)."""
    found = workshop.plan({"book": CASE, "paper": PAPER, "sewing": {"thread": "30/3 linen"}})
    tex = 1653.515 / 30 * 3
    thick, thin = (math.sqrt(4 * tex / (math.pi * density * 1000)) for density in (0.47, 0.91))
    widest = 10 * 1.0 * thick  # eight sections and two endpapers, all along, the thread quite round
    assert 0.4 * 10 * thin < found.spine.swell_mm.low < found.spine.swell_mm.high < widest


def test_weight_by_hand(workshop: Workshop) -> None:
    """Area times mass per area, added up here with a pencil's arithmetic."""
    cover = {
        "board": "greyboard.2.0mm",
        "cloth": "canvas_duck",
        "cloth_mm": 0.5,
        "cloth_gsm": 250,
        "mull": "none",
        "lining": "none",
        "endpaper": "text",
    }
    book = workshop.plan({"book": CASE, "paper": {**PAPER, "class": "copier", "grammage_gsm": 80}, "cover": cover})
    sheets = 8 * 4
    text = 130 * 190 * 2 * sheets / 1e6
    board, cloth, spine, ends = (part(book, n) for n in ("board", "cloth", "spine piece", "endpaper, folded once"))
    boards = (2 * board.width_mm * board.height_mm + spine.width_mm * spine.height_mm) / 1e6
    papers = text + 2 * ends.width_mm * ends.height_mm / 1e6
    expected = 80 * papers + 1290 * boards + 250 * cloth.width_mm * cloth.height_mm / 1e6
    assert book.weight_g.value == pytest.approx(expected, rel=0.02)
    assert book.weight_g.low < expected < book.weight_g.high
    assert book.weights["board"].value == pytest.approx(1290 * boards, rel=0.01)


# units, allowances, defaults


def test_inches_and_millimetres_make_the_same_book(workshop: Workshop) -> None:
    metric = {
        "book": {**SOFT, "page_width_mm": 101.6, "page_height_mm": 152.4},
        "paper": {"caliper_mm": 0.1016},
        "cover": {"cloth": "canvas_duck", "cloth_mm": 0.508, "turn_in_mm": 12.7, "overhang_mm": 3.175},
        "sewing": {"pitch_mm": 2.54, "end_mm": 6.35, "stitch_mm": 3.175, "thread": "0.254 mm"},
        "stock": {"pieces": [{"material": "cloth", "size": "254 x 508 mm", "grain": "long"}]},
    }
    inches = {
        "book": {**{k: v for k, v in SOFT.items() if "page" not in k}, "page_width_in": 4, "page_height_mm": "6 in"},
        "paper": {"caliper_um": "0.0040 in"},
        "cover": {"cloth": "canvas_duck", "cloth_in": "0.02", "turn_in_in": "1/2", "overhang_mm": "1/8 in"},
        "sewing": {"pitch_in": 0.1, "end_in": 0.25, "stitch_in": "1/8", "thread": "0.010 in"},
        "stock": {"pieces": [{"material": "cloth", "size": "10 x 20 in", "grain": "long"}]},
    }
    one, other = (workshop.plan(plan) for plan in (metric, inches))
    assert [(p.name, p.width_mm, p.height_mm) for p in one.parts] == [
        (p.name, pytest.approx(p.width_mm, abs=0.05), pytest.approx(p.height_mm)) for p in other.parts
    ]
    assert one.stitching.lines_mm == pytest.approx(other.stitching.lines_mm)
    assert one.stitching.seam_mm == pytest.approx(other.stitching.seam_mm)
    assert one.spine.spine_mm.value == pytest.approx(other.spine.spine_mm.value, rel=1e-3)
    assert one.as_json()["shopping"][0]["from_shelf"] == other.as_json()["shopping"][0]["from_shelf"]


@pytest.mark.parametrize(
    ("key", "name", "side", "change"),
    [
        ("square_mm", "board", "height_mm", 2),
        ("turn_in_mm", "cloth", "height_mm", 2),
        ("turn_in_mm", "cloth", "width_mm", 2),
        ("gap_mm", "cloth", "width_mm", 0),  # what the joint takes, the boards give: they stand back by it
        ("joint_mm", "board", "width_mm", -1),
        ("lining_side_mm", "mull", "width_mm", 2),
        ("lining_short_mm", "back lining", "height_mm", -2),
    ],
)
def test_an_allowance_takes_the_rule_s_place(workshop: Workshop, key: str, name: str, side: str, change: float) -> None:
    """One more millimetre of the allowance changes the part by so many."""
    sizes = []
    for mm in (9, 10):
        book = workshop.plan({"book": CASE, "paper": PAPER, "cover": {key: mm}})
        sizes.append(getattr(part(book, name), side))
        assert any("maker's own" in support.sources for support in book.rests_on)
    assert sizes[1] - sizes[0] == pytest.approx(change)


def test_the_machine_s_limit_from_the_file_and_from_the_settings(shop: Workshop) -> None:
    thick = {"book": {**SOFT, "sheets_per_section": 10}, "paper": PAPER}

    def limits(plan: dict[str, Any]) -> str:
        return " ".join(shop.plan(plan).stitching.notes)

    assert "machine's 2 mm" in limits(thick)
    shop.connection.execute("INSERT INTO setting VALUES ('machine_limit_mm', '3')")
    assert "machine's 3 mm" in limits(thick)
    assert "machine's 2.5 mm" in limits({**thick, "sewing": {"machine_limit_mm": 2.5}})
    shop.connection.execute("UPDATE setting SET value = 'much'")
    with pytest.raises(BadInput, match="machine_limit_mm"):
        shop.plan(thick)


def test_needles(workshop: Workshop) -> None:
    def needle(**sewing: Any) -> tuple[str, tuple[str, ...]]:
        book = workshop.plan({"book": {**CASE, **sewing.pop("book", {})}, "paper": PAPER, "sewing": sewing})
        return book.stitching.needle, book.warnings

    soft = {"structure": "soft-cover", "sections": 5}
    assert needle(book=soft, needle="14")[0] == "machine needle 90/14"  # US 14 is metric 90
    assert needle(book=soft, needle="110/18")[0] == "machine needle 110/18"
    assert needle(book=soft, needle="machine-80")[0] == "machine needle 80/12"
    for count in ("18/3", "25/3", "30/3"):  # a conservator's page: for 18/3 to 30/3
        assert needle(thread=f"{count} linen")[0] == "binder’s needle 18", count
    assert needle(needle="hand-binder-18", thread="25/3 linen") == needle(thread="25/3 linen")
    assert needle(thread="60/3 linen")[0].startswith("hand needle with an eye")
    small = needle(needle="hand-sharps-8", thread="30/3 linen")
    assert any("wants one of 0.78 mm" in line for line in small[1])  # 1.4 · 0.556 mm
    assert needle(book=soft, thread="25/3 linen")[0] == "no machine needle takes this thread"
    thin = needle(needle="hand-sharps-10", thread="0.6 mm")
    assert thin[0] == "sharps needle 10"
    assert any("thinner than the thread" in line for line in thin[1])
    assert not any("thinner than the thread" in line for line in needle(needle="hand-sharps-10", thread="0.3 mm")[1])
    for wrong in ("9999", "hand-sharps-8", "fork"):
        with pytest.raises(BadInput, match=r"sewing\.needle"):
            needle(book=soft, needle=wrong)


def test_pages_pile_and_sections(workshop: Workshop) -> None:
    bare = {key: value for key, value in SOFT.items() if key != "sections"}
    assert workshop.plan({"book": {**bare, "pages": 100}, "paper": PAPER}).sections.pages >= 100
    pile = {**PAPER, "leaf_size": "A4", "leaves": 50, "grain": "long"}
    whole = workshop.plan({"book": {**bare, "use": "whole pile"}, "paper": pile})
    assert whole.sections.sheets <= 50
    assert whole.sections.sections % 2 == 1
    assert "50" in whole.paper.words
    with pytest.raises(BadInput, match="one of sections, pages"):
        workshop.plan({"book": bare, "paper": PAPER})
    with pytest.raises(BadInput, match="sections and pages are given"):
        workshop.plan({"book": {**SOFT, "pages": 80}, "paper": PAPER})


def test_the_spine_s_doubt_reaches_the_parts(workshop: Workshop) -> None:
    """A soft cover is cut before sewing, for the thick end; a case's spine piece waits for the sewn back."""
    doubtful = {"class": "copier"}
    soft, case = (workshop.plan({"book": book, "paper": doubtful}) for book in (SOFT, CASE))
    for one in soft.parts:
        assert one.cut_when == "now"
        assert one.width_mm == pytest.approx(one.width_high_mm)
    spine = part(case, "spine piece")
    assert spine.cut_when == "after sewing"
    assert spine.moved_by_spine_mm == pytest.approx(case.spine.spine_mm.half_width)
    sure = workshop.plan(
        {"book": CASE, "paper": {"caliper_um": 104, "in_block": True}, "sewing": {"thread": "0.30 mm"}}
    )
    assert part(sure, "spine piece").moved_by_spine_mm < spine.moved_by_spine_mm


def test_a_higher_level_is_a_wider_range(workshop: Workshop) -> None:
    wide, narrow = (
        workshop.plan({"book": {**CASE, "level": level}, "paper": {"class": "copier"}}).spine.spine_mm
        for level in (0.95, 0.5)
    )
    assert wide.half_width > 2 * narrow.half_width


# unwise and impossible


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (
            {"book": {**SOFT, "page_width_mm": 300}, "paper": {"leaf_size": "A4", "leaves": 9}},
            ("300 x 150", "leaf of 297"),
        ),
        ({"book": {**SOFT, "sheets_per_section": 40}}, ("under the needle", "sheets_per_section = ")),
        ({"book": {**CASE, "structure": "quarter-case"}, "sewing": {"by": "machine"}}, ("sewn by machine", "hand")),
        ({"book": SOFT, "cover": {"cloth": "none"}}, ("needs cloth", "cloth_mm")),
        ({"book": CASE, "cover": {"gap_mm": 1}}, ("joint of 1 mm", "joint_mm")),
        ({"book": SOFT, "sewing": {"two_on": True}}, ("sewing.two_on", "flat-back-case")),
        ({"book": SOFT, "sewing": {"thread": "spaghetti"}}, ("sewing.thread", "30/3 linen")),
        ({"book": {**SOFT, "rounding_deg": 30}}, ("flat back", "rounded-case")),
        ({"book": {**SOFT, "structure": "pamphlet"}}, ("one section", "long-stitch")),
    ],
)
def test_impossible_plans_are_refused_with_the_nearest(
    workshop: Workshop, plan: dict[str, Any], words: tuple[str, ...]
) -> None:
    with pytest.raises(BadInput) as caught:
        workshop.plan(plan)
    for word in words:
        assert word in str(caught.value)
    assert "\n" not in str(caught.value)


def test_unwise_plans_are_warned_of(workshop: Workshop) -> None:
    def said(**tables: dict[str, Any]) -> str:
        return " / ".join(workshop.plan({"paper": PAPER, **tables}).warnings)

    assert "swell" in said(book={**CASE, "sheets_per_section": 2}, sewing={"thread": "1 mm"})
    assert "grain runs across the spine" in said(
        book={**SOFT, "page_height_mm": 250}, paper={**PAPER, "leaf_size": "A4", "leaves": 40, "grain": "short"}
    )
    assert "above" in said(book={**CASE, "sheets_per_section": 12})  # a closed section thicker than the handbook allows
    assert "paper between the holes" in said(book=SOFT, sewing={"stitch_mm": 1.5})
    assert "more leaves" in said(book=SOFT, paper={**PAPER, "leaf_size": "A4", "leaves": 12, "grain": "long"})


def test_thread_adds_its_weight(workshop: Workshop) -> None:
    """tex is grams per kilometre, and linen lea n is 1653.515/n tex a ply (checks, no. 6)."""
    heavy = workshop.plan({"book": {**CASE, "sections": 60}, "paper": PAPER, "sewing": {"thread": "10/3 linen"}})
    grams = 1653.515 / 10 * 3 * heavy.stitching.thread_length_mm / 1e6
    assert grams > 5
    thin = workshop.plan(
        {"book": {**CASE, "sections": 60}, "paper": PAPER, "sewing": {"thread": "0.3 mm"}}
    )  # tex unknown
    parts = [sum(mass.value for mass in one.weights.values()) for one in (heavy, thin)]
    assert heavy.weight_g.value - parts[0] - (thin.weight_g.value - parts[1]) == pytest.approx(grams, rel=0.1)


def test_wishes_reach_the_book(workshop: Workshop) -> None:
    """Each key of [book] and [sewing] changes what it is for."""

    def made(book: dict[str, Any] | None = None, **sewing: Any) -> PlannedBook:
        return workshop.plan(
            {"book": {**CASE, **(book or {})}, "paper": PAPER, "sewing": {"thread": "0.4 mm", **sewing}}
        )

    plain = made()
    assert made({"trim_head_tail": True}).sheet.height_mm == plain.sheet.height_mm + 6  # trim.head_tail: 3 mm each
    assert made({"trim_head_tail": True, "head_tail_trim_mm": 4}).sheet.height_mm == plain.sheet.height_mm + 8
    assert made({"pressed": False}).spine.spine_mm.value > plain.spine.spine_mm.value
    assert made(stations=4).stitching.stations_mm != plain.stitching.stations_mm
    assert made(end_mm=20).stitching.stations_mm[0] == 20
    rounded = {"structure": "rounded-case"}
    assert (
        made({**rounded, "rounding_deg": 180}).spine.arc_mm.value
        > made({**rounded, "rounding_deg": 60}).spine.arc_mm.value
    )
    alone, two_on = made(two_on=True, singly=4), made(two_on=True)
    assert two_on.spine.swell_mm.value < alone.spine.swell_mm.value < plain.spine.swell_mm.value
    coated = [
        workshop.plan({"book": SOFT, "paper": PAPER, "sewing": {"coated": flag}}).stitching.stitch_mm
        for flag in (False, True)
    ]
    assert coated == [4, 3.5]  # rules machine.stitch.common and machine.stitch.coated


def test_endpapers_count_with_their_own_thickness(workshop: Workshop) -> None:
    """Two free leaves of 0.4 mm in place of two of the text's own 0.1 mm, both pressed alike (0.9 to 1)."""
    own, thick = (
        workshop.plan({"book": CASE, "paper": {"caliper_um": 100}, "cover": cover}).spine.fore_edge_mm.value
        for cover in ({"endpaper": "text"}, {"endpaper": "kraft", "endpaper_mm": "0.40"})
    )
    assert 2 * 0.3 * 0.9 <= thick - own <= 2 * 0.3
