"""Whole plans in an invented ship chandler's shop: contract, sense, refusals with a nearest plan, and coverage."""

import json
import math
import re
from dataclasses import replace

import numpy as np
import pytest

from matref.book.leaf_supply import Salvage
from matref.book.plan import plan
from matref.book.practice import Practice
from matref.book.rule_row import number
from matref.book.stitching import Wish
from matref.book.structures import STRUCTURES
from matref.book.structures.parts import Layer
from matref.errors import BadInput
from matref.estimator.distribution import Exact, LogNormal, Normal, Uniform

CONTRACT = {
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
}
PARTS = {"name", "material", "count", "width_mm", "height_mm", "grain", "allowance"}
STITCHING = {"lines_mm", "order", "stations_mm", "stitch_mm", "needle", "thread"}
ALL = [(name, by) for name, made in STRUCTURES.items() for by in made.by]


def numbers(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        return [x for item in value for x in numbers(item)]
    return [value] if isinstance(value, int | float) and not isinstance(value, bool) else []


@pytest.mark.parametrize(("name", "by"), ALL)
def test_every_structure_keeps_the_contract(chandler, pile, name, by):
    found = plan(chandler(name, by=by, paper_known={"pile": pile})).as_json()
    assert found.keys() >= CONTRACT
    assert json.loads(json.dumps(found)) == found
    assert all(math.isfinite(x) for x in numbers(found))
    assert found["stitching"].keys() >= STITCHING
    for part in found["cover"]["parts"]:
        assert part.keys() >= PARTS
        assert part["width_mm"] > 0
        assert part["height_mm"] > 0
    steps = {step["caution"] for step in found["steps"]} - {""}
    assert {row["step"] for row in found["cautions"]} == steps | {"general", "mould", "children"}
    assert all(row["text"] and row["source"] for row in found["cautions"])
    assert found["text_block"]["pages"] == 4 * found["text_block"]["sheets"] == found["spine"]["pages"]
    assert found["cutting"]["sheets"] == found["text_block"]["sheets"]


@pytest.mark.parametrize("name", ["soft-cover", "rounded-case"])
def test_rests_on_names_every_row_that_matters(chandler, name):
    """Move each rule in turn by a tenth: when anything in the plan moves, the plan has to name that rule."""
    asked = chandler(name, pages=88)
    plain = plan(asked)
    told, before = {rule for rule, _ in plain.rests_on}, plain.as_json()
    moved = set()
    for field, rule_id in Practice.rule_ids().items():
        row = getattr(asked.practice, field)
        shift = {
            end: None if getattr(row, end) is None else getattr(row, end) * 0.9 for end in ("low", "value", "high")
        }
        after = plan(replace(asked, practice=replace(asked.practice, **{field: replace(row, **shift)}))).as_json()
        if after != before:
            moved.add(rule_id)
    assert moved - told == set()
    assert len(moved) >= 0.6 * len(told)
    assert told < set(Practice.rule_ids().values())


def test_rests_on_names_the_rule_of_the_papers_class(chandler, rules):
    copier = rules["section.sheets.copier"]
    asked = chandler("long-stitch", pages=80, paper_known={"sheets_rule": copier})
    assert (copier.rule_id, copier.source_id) in plan(asked).rests_on
    fixed = replace(asked, book=replace(asked.book, sheets_per_section=4))
    assert copier.rule_id not in {rule for rule, _ in plan(fixed).rests_on}


def test_rests_on_leaves_out_what_does_not_apply(chandler):
    told = {rule for rule, _ in plan(chandler("pamphlet", paper_known={"surface": "soft"})).rests_on}
    assert "swell.phi.overall" in told
    assert not told & {"swell.ratio.accepted", "rounding.third.zaehnsdorf", "square.common"}


def test_own_figures_show_as_the_makers_own(chandler):
    asked = chandler("flat-back-case")
    mine = plan(replace(asked, practice=asked.practice.with_own({"square": 5})))
    assert ("square", "maker's own") in mine.rests_on
    board = next(part for part in mine.parts if part.name == "board")
    assert board.height_mm == 150


def test_pocket_logbook_sewn_by_machine(chandler):
    """The lines of common practice, 2 mm apart, and every layer under the needle: 4 x 0.095 + 0.3 + 0.2 + 0.4 mm."""
    found = plan(chandler(pages=80, sheets_per_section=4))
    assert found.stitching.lines_mm == (-4, -2, 0, 2, 4)
    assert found.stitching.order == (0, -4, 4, -2, 2)
    assert found.stitching.under_needle_mm == pytest.approx(4 * 0.095 + 0.9)
    assert [name for name, _ in found.stitching.layers] == ["4 sheets", "card", "fusible fleece", "sailcloth"]
    cloth = found.parts[0]
    room = max(4 * 2 + found.spine.closed_section_mm.high, found.spine.spine_mm.high)
    bends = math.pi * (0.3 + 0.2 + 0.4 / 2)
    turn = number(found_practice := chandler().practice.turn_in_soft)
    assert found_practice.rule_id == "turn_in.vaughn_soft"
    assert cloth.width_mm == pytest.approx(2 * 95 + room + bends + 2 * turn)
    assert found.pitch_mm == 2


def test_pitch_against_the_flat_pitch(chandler):
    loose = plan(chandler(sections=5, sheets_per_section=7, sewing={"pitch_mm": 2.5}))
    (said,) = [w for w in loose.warnings if "lines 2.5 mm apart" in w]
    flat = float(re.search(r"a pitch of ([\d.]+) mm would take up all of it", said)[1])
    calm = plan(chandler(sections=5, sheets_per_section=7, sewing={"pitch_mm": flat}))
    assert not [w for w in calm.warnings if "apart" in w]
    thin = plan(chandler(sections=5, sheets_per_section=4))
    assert any("a pitch of 1.5 mm would take up some of it" in w for w in thin.warnings)
    fine = chandler(sections=5, sheets_per_section=4, sewing={"pitch_mm": 1.5})
    fine = replace(fine, sewing=replace(fine.sewing, thread_mm=Exact(0.1)))
    assert any("so let it be" in w for w in plan(fine).warnings)
    tight = plan(chandler(sections=5, sheets_per_section=7, sewing={"pitch_mm": 1.2}))
    (said,) = [w for w in tight.warnings if "draw the cover tight" in w]
    fewer = int(re.search(r"a pitch of 1\.\d mm or (\d) sheets", said)[1])
    fits = plan(chandler(sections=5, sheets_per_section=fewer, sewing={"pitch_mm": 1.2}))
    assert not [w for w in fits.warnings if "draw the cover tight" in w]
    rope = chandler(by="hand", sections=5, sheets_per_section=4, sewing={"pitch_mm": 2.0})
    rope = replace(rope, sewing=replace(rope.sewing, thread_mm=Exact(5.0)))  # 0.7 · 5 = 3.5 mm of thread alone
    (said,) = [w for w in plan(rope).warnings if "draw the cover tight" in w]
    assert said.endswith("mm or thinner thread lies flat")
    filled = plan(
        chandler(sections=5, sheets_per_section=4, sewing={"pitch_mm": 1.5}, paper_known={"caliper_um": Exact(105)})
    )
    (said,) = [w for w in filled.warnings if "would fill it" in w]
    more = int(re.search(r"(\d) sheets in a section would fill it", said)[1])
    full = chandler(
        sections=5, sheets_per_section=more, sewing={"pitch_mm": 1.5}, paper_known={"caliper_um": Exact(105)}
    )
    assert not [w for w in plan(full).warnings if "apart" in w]


def test_soft_cover_covers_the_spine_as_surely_as_it_says(chandler):
    """10,000 books from known truths, laid up leaf by leaf: 95 in 100 spines fit the cover that was cut."""
    rng, fits, made = np.random.default_rng(3), 0, 0
    for _ in range(20):
        mean, sd = math.log(rng.uniform(70, 150)), rng.uniform(0.02, 0.08)
        asked = chandler(
            sections=int(rng.choice([3, 5, 7, 9])),
            sheets_per_section=int(rng.integers(3, 7)),
            paper_known={"caliper_um": LogNormal(mean, sd)},
            sewing={"pitch_mm": 1.3},
        )
        found = plan(asked)
        card = next(part for part in found.parts if part.name == "card lining")
        sheets, sections = found.sections.sheets_per_section, found.sections.sections
        size = 500
        leaf = np.exp(rng.normal(mean, sd, size)) / 1000 * rng.uniform(0.9, 1, size)
        thread = np.array([asked.sewing.thread_mm.quantile(p) for p in rng.random(size)])
        closed = sum(leaf for _ in range(2 * sheets)) + thread * rng.uniform(0.4, 1, size)
        spine = np.maximum(sum(closed for _ in range(sections)), 1.3 * (sections - 1) + closed)
        clear = number(asked.practice.interfacing_clearance)
        room = card.width_mm + 2 * clear - 2 * 95 - math.pi / 2 * 0.3
        fits, made = fits + int((spine <= room).sum()), made + size
    assert made == 10_000
    assert fits / made == pytest.approx(0.95, abs=0.01)


def test_level_widens_the_cover(chandler):
    surely, likely = (plan(replace(chandler(pages=80), level=level)) for level in (0.98, 0.6))
    assert surely.parts[0].width_mm > likely.parts[0].width_mm
    assert "99 % sure" in surely.parts[0].allowance
    assert "80 % sure" in likely.parts[0].allowance


def test_ledger_and_quarter_case(chandler, pile):
    ledger = plan(chandler("long-stitch", pages=96, paper_known={"pile": pile, "surface": "soft"}))
    assert len(ledger.stitching.lines_mm) == ledger.sections.sections
    assert ledger.stitching.lines_mm[-1] - ledger.stitching.lines_mm[0] < ledger.spine.spine_mm.high
    case = plan(chandler("quarter-case", pages=96))
    names = [part.name for part in case.parts]
    assert names == [
        "board",
        "spine piece",
        "cloth back",
        "side paper",
        "endpaper, folded once",
        "mull",
        "back lining",
    ]
    plain = plan(chandler("link-stitch", pages=96, sheets_per_section=case.sections.sheets_per_section))
    extra = case.spine.fore_edge_mm.value - plain.spine.fore_edge_mm.value
    assert extra == pytest.approx(2 * plain.leaf_um.value / 1000, rel=0.02)  # the two endpaper leaves not pasted down


def test_rounded_case_is_rounded_by_the_rule(chandler):
    asked = chandler("rounded-case", sections=12, sheets_per_section=8, sewing={"wish": Wish(kind="two-on")})
    found = plan(asked)
    assert found.spine.arc_mm.value / found.spine.fore_edge_mm.value == pytest.approx(1.2092, abs=1e-3)
    half = plan(replace(asked, book=replace(asked.book, rounding_deg=180)))
    assert half.spine.arc_mm.value / half.spine.fore_edge_mm.value == pytest.approx(math.pi / 2, abs=1e-3)
    with pytest.raises(BadInput, match="rounded-case"):
        plan(chandler("flat-back-case", rounding_deg=90))


def test_learnt_factors_narrow_the_spine(chandler):
    vague = plan(chandler("flat-back-case"))
    learnt = plan(chandler("flat-back-case", paper_known={"flattening": Uniform(0.6, 0.65), "pressing": Exact(0.95)}))
    assert learnt.spine.spine_mm.half_width < 0.65 * vague.spine.spine_mm.half_width
    assert "swell.phi.overall" not in {rule for rule, _ in learnt.rests_on}


def test_whole_pile_is_used(chandler):
    pile = Salvage(420, 297, "long", 0, 37)
    found = plan(chandler(whole_pile=True, paper_known={"pile": pile}))
    assert found.supply.available == found.supply.per_leaf * 37
    assert found.sections.sheets + found.sections.left_over_sheets == found.supply.available
    assert found.sections.sections % 2 == 1
    with pytest.raises(BadInput, match="not counted"):
        plan(chandler(whole_pile=True))


def test_pile_that_is_too_small(chandler):
    small = Salvage(297, 210, "long", 0, 9)
    found = plan(chandler("long-stitch", pages=180, sheets_per_section=3, paper_known={"pile": small}))
    (said,) = [w for w in found.warnings if "the pile gives" in w]
    sections = int(re.search(r"(\d+) sections would work", said)[1])
    more = int(re.search(r"or (\d+) more leaves", said)[1])
    for fix in (
        chandler("long-stitch", sections=sections, sheets_per_section=3, paper_known={"pile": small}),
        chandler("long-stitch", pages=180, sheets_per_section=3, paper_known={"pile": replace(small, leaves=9 + more)}),
    ):
        assert not [w for w in plan(fix).warnings if "the pile gives" in w]


def test_section_too_thick_for_the_machine(chandler):
    asked = chandler(pages=80, sheets_per_section=12)
    weak = replace(asked, practice=asked.practice.with_own({"under_needle_limit": 1.6}))
    with pytest.raises(BadInput, match="under the needle") as refused:
        plan(weak)
    fewer = int(refused.value.example.split("= ")[1])
    assert plan(replace(weak, book=replace(weak.book, sheets_per_section=fewer))).stitching.under_needle_mm <= 1.6
    chosen = plan(replace(weak, book=replace(weak.book, sheets_per_section=None)))
    assert chosen.stitching.under_needle_mm <= 1.6


def test_needle_cannot_go_through_the_cover(chandler):
    with pytest.raises(BadInput, match="cover alone"):
        plan(chandler(materials={"card": Layer("millboard", 3.0)}))


def test_swell_beyond_practice(chandler):
    asked = chandler("flat-back-case", sections=12, sheets_per_section=3, paper_known={"surface": "hard"})
    assert any("beyond the accepted 30 %" in w for w in plan(asked).warnings)
    two_on = replace(asked, sewing=replace(asked.sewing, wish=Wish(kind="two-on")))
    assert not any("accepted 30 %:" in w for w in plan(two_on).warnings)


def test_page_wider_than_the_leaf(chandler, pile):
    with pytest.raises(BadInput, match="does not give") as refused:
        plan(chandler(page_width_mm=200.0, page_height_mm=180.0, pages=80, paper_known={"pile": pile}))
    for wide, high in re.findall(r"(\d+) x (\d+) mm", refused.value.expected):
        size = {"page_width_mm": float(wide), "page_height_mm": float(high)}
        assert plan(chandler(pages=80, paper_known={"pile": pile}, **size)).supply.per_leaf >= 1


def test_grain_across_the_spine(chandler):
    across = Salvage(297, 210, "short", 0, 60)
    found = plan(chandler(page_width_mm=90.0, page_height_mm=250.0, pages=80, paper_known={"pile": across}))
    assert any("grain runs across the spine" in w for w in found.warnings)
    assert found.as_json()["cutting"]["grain_along_spine"] is False


@pytest.mark.parametrize(
    ("name", "by", "match"),
    [("flat-back-case", "machine", "cannot be sewn"), ("soft-cover", "foot", "not known"), ("folio", "hand", "folio")],
)
def test_impossible_ways(chandler, name, by, match):
    with pytest.raises(BadInput, match=match):
        plan(chandler(name, by=by))


def test_trim_and_creep(chandler):
    asked = chandler("flat-back-case", pages=80, sheets_per_section=4, trim_head_tail=True)
    asked = replace(asked, paper=replace(asked.paper, caliper_um=Exact(100), in_block=True))
    found = plan(asked)
    assert found.sheet.height_mm == 140 + 2 * number(asked.practice.head_tail_trim)
    assert found.page_loss_mm == pytest.approx(0.3)
    clean = number(asked.practice.clean_cut)
    assert found.fore_edge_trim_mm == pytest.approx(math.pi / 2 * 0.3 + clean)
    assert found.sheet.width_mm > 2 * 95 + 2 * clean
    assert found.leaf_um.value == pytest.approx(100)


def test_shopping_adds_up_what_is_cut(chandler):
    found = plan(chandler("quarter-case", pages=96)).as_json()
    names = [piece["name"] for line in found["shopping"] for piece in line["pieces"]]
    assert sorted(names) == sorted(part["name"] for part in found["cover"]["parts"])
    for line in found["shopping"]:
        area = sum(piece["count"] * piece["width_mm"] * piece["height_mm"] for piece in line["pieces"]) / 1e6
        assert line["area_m2"] == pytest.approx(area)


def test_same_plan_twice_is_the_same(chandler):
    asked = chandler("rounded-case", paper_known={"endpaper_um": Normal(130, 5)})
    assert plan(asked).as_json() == plan(asked).as_json()
