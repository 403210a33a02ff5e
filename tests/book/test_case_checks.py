"""Cases for thin and for rounded backs: what is left out, what is told, and that the plan then agrees with itself."""

import re
from dataclasses import replace

import pytest

from matref.book.plan import plan
from matref.book.rule_row import number
from matref.book.stitching import Wish
from matref.book.structures.parts import Layer
from matref.estimator.distribution import Exact

CASES = ["flat-back-case", "quarter-case", "rounded-case"]
STRIPS = {"spine piece", "spine inlay, flexible", "back lining"}


def exact(asked, thread=0.3):
    paper = replace(asked.paper, caliper_um=Exact(100), in_block=True, flattening=Exact(0.5))
    return replace(asked, paper=paper, sewing=replace(asked.sewing, thread_mm=Exact(thread)))


@pytest.mark.parametrize("name", CASES)
def test_nobody_cuts_a_strip_narrower_than_it_is_thick(chandler, name):
    """One section of four sheets: 8·0.1 + 2·0.1 + 3·0.15 = 1.45 mm of back against 2 mm of board."""
    found = plan(exact(chandler(name, sections=1, sheets_per_section=4)))
    assert found.spine.spine_mm.value == pytest.approx(1.45)
    assert not STRIPS & {part.name for part in found.parts}
    (said,) = [w for w in found.warnings if "too narrow" in w]
    assert "1.4 mm" in said or "1.5 mm" in said
    assert "like a pamphlet" in said
    assert ("flat-back-case" in said) is (name == "rounded-case")
    assert not [w for w in found.warnings if "two-on" in w]
    work = " ".join(step.do for step in found.steps).lower()
    assert "spine piece" not in work
    assert "spine inlay" not in work
    assert "lining" not in work
    assert "bare back" in work
    cloth = next(part for part in found.parts if part.name.startswith("cloth"))
    joint = number(chandler().practice.gap)
    bare = dict(cloth.width_chain)["bare back"]  # Vaughn 1912: without a spine piece the gap is the back and two joints
    labels = [label for label, _ in cloth.width_chain]
    middle = labels.index("bare back")
    assert sum(mm for _, mm in cloth.width_chain[middle - 1 : middle + 2]) == pytest.approx(bare + 2 * joint)


@pytest.mark.parametrize("name", CASES)
def test_a_back_that_is_wide_enough_gets_its_strips(chandler, name):
    asked = exact(chandler(name, sections=5, sheets_per_section=4))
    limit = number(asked.practice.spine_narrowest)
    found = plan(asked)
    assert found.spine.spine_mm.value > limit
    assert len(STRIPS & {part.name for part in found.parts}) == 2
    assert not [w for w in found.warnings if "too narrow" in w]
    own = asked.practice.with_own({"spine_narrowest": 10})
    assert not STRIPS & {part.name for part in plan(replace(asked, practice=own)).parts}


def test_an_inlay_that_will_not_bend_is_told(chandler):
    """Roberts & Etherington, "inlay": stiff paper of 0.012 to 0.025 in, 0.30 to 0.64 mm."""
    asked = exact(chandler("rounded-case", sections=12, sheets_per_section=8))

    def said(card, name="rounded-case"):
        one = replace(asked, cover=replace(asked.cover, card=card), book=replace(asked.book, structure=name))
        return [w for w in plan(one).warnings if "follow the round" in w]

    assert said(Layer("manila", 0.025 * 25.4)) == []
    (told,) = said(Layer("greyboard", 2.0))
    low, high = (float(end) for end in re.search(r"of ([\d.]+) to ([\d.]+) mm", told).groups())
    assert (low, high) == pytest.approx((0.012 * 25.4, 0.025 * 25.4), abs=0.05)
    assert said(Layer("greyboard", 2.0), "flat-back-case") == []


def test_endpapers_are_cut_like_the_sheets_they_are_trimmed_with(chandler):
    """Both leaves lose at the fore-edge what the sheets lose, and at head and tail too where those are trimmed."""
    for trimmed in (False, True):
        found = plan(chandler("flat-back-case", sections=8, trim_head_tail=trimmed))
        ends = next(part for part in found.parts if part.name.startswith("endpaper"))
        assert (ends.width_mm, ends.height_mm) == pytest.approx((found.sheet.width_mm, found.sheet.height_mm))
        page = found.wanted.page_width_mm
        assert ends.width_mm / 2 - page >= number(chandler().practice.clean_cut)
        assert ends.height_mm - 140 == (6 if trimmed else 0)
        work = [step.do.lower() for step in found.steps]
        assert work.index(next(w for w in work if "cut the endpapers as large" in w)) < work.index(
            next(w for w in work if w.startswith("trim the fore-edge"))
        )


def test_swell_counts_the_endpapers_that_are_sewn(chandler):
    """Leaf by leaf: eight sections and two endpapers each hold a thread of 0.3 mm of which half is left."""
    sewn = plan(exact(chandler("flat-back-case", sections=8, sheets_per_section=4)))
    tipped = plan(
        exact(chandler("flat-back-case", sections=8, sheets_per_section=4, sewing={"wish": Wish(endpapers="tipped")}))
    )
    assert sewn.spine.swell_mm.value == pytest.approx(10 * 0.15)
    assert tipped.spine.swell_mm.value == pytest.approx(8 * 0.15)
    assert sewn.spine.fore_edge_mm.value == tipped.spine.fore_edge_mm.value == pytest.approx(8 * 0.8 + 2 * 0.1)
    assert sewn.spine.closed_section_mm.value == pytest.approx(0.8 + 0.15)
    assert sewn.stitching.thread_length_mm > tipped.stitching.thread_length_mm
    assert any("tip the endpapers" in step.do.lower() for step in tipped.steps)
    assert not any("tip the endpapers" in step.do.lower() for step in sewn.steps)
    stout = exact(chandler("flat-back-case", sections=8, sheets_per_section=4))
    stout = plan(replace(stout, practice=stout.practice.with_own({"endpaper_leaves": 8})))
    assert stout.spine.fore_edge_mm.value == pytest.approx(8 * 0.8 + 6 * 0.1)
    assert next(part for part in stout.parts if part.name.startswith("endpaper")).count == 4


def test_two_on_is_advised_only_where_it_is_enough(chandler):
    """8 sections, sewn endpapers: 10 threads all along, 1 + 3 + 1 + 2 = 7 two-on. Thread d, φ = 1/2, block 6.6 mm."""

    def advice(ratio, sections=8):
        threads, block = sections + 2, sections * 0.8 + 0.2
        asked = exact(chandler("flat-back-case", sections=sections, sheets_per_section=4), 2 * ratio * block / threads)
        found = plan(asked)
        assert found.spine.swell_ratio.value == pytest.approx(ratio)
        return any("two-on" in w for w in found.warnings)

    assert advice(0.40)  # 0.40 · 7/10 = 0.28
    assert not advice(0.45)  # 0.45 · 7/10 = 0.315, still above 0.3
    assert not advice(0.31, sections=2)
    assert not advice(0.31, sections=3)


def test_the_way_over_a_backed_spine_is_told_piece_by_piece(chandler):
    asked = exact(chandler("rounded-case", sections=12, sheets_per_section=8))
    found = plan(asked)
    inlay = next(part for part in found.parts if part.name.startswith("spine inlay"))
    shoulder = number(asked.practice.shoulder_over_board) * 2.0
    assert [label for label, _ in inlay.width_chain] == ["shoulder", "over the round", "shoulder"]
    assert [mm for _, mm in inlay.width_chain] == pytest.approx([shoulder, found.spine.arc_mm.value, shoulder])
    assert inlay.material == "card"
    assert "shoulder" in inlay.allowance
    bare = replace(asked, cover=replace(asked.cover, card=None))
    assert "spine inlay, flexible" not in {part.name for part in plan(bare).parts}


def test_mull_and_tapes_stay_on_the_boards(chandler):
    """Page 30, square 3, joint 8 and board 2: boards of 30 + 3 - 6 = 27 mm; mull 32 and tapes 38.1 mm reach beyond."""
    asked = chandler("flat-back-case", page_width_mm=30.0, page_height_mm=60.0)
    told = [w for w in plan(asked).warnings if "reach beyond its 27 mm" in w]
    assert [w.split(" on to")[0] for w in told] == ["mull 32 mm", "tapes 38.1 mm"]
    own = asked.practice.with_own({"lining_side": 27, "tape_side": 27})
    assert not [w for w in plan(replace(asked, practice=own)).warnings if "reach beyond" in w]
    assert not [w for w in plan(chandler("flat-back-case")).warnings if "reach beyond" in w]
