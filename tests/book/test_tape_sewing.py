"""Sewing on tapes: which folds the thread runs through, how long it and the tapes are, and what is said of it."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matref.book.rule_row import number
from matref.book.stations import all_along_thread_mm
from matref.book.stitching import Stitching, Wish
from matref.book.structures.parts import Block
from matref.book.swell import sewn_singly
from matref.book.tape_sewing import endpaper_folds, on_tapes, settled
from matref.errors import BadInput
from matref.estimator.estimate import Estimate

INCH = 25.4
BARE = Stitching((), (), (), None, "needle", "linen", 0.0, None, (0.0, 210.0), (), (), ())


def block(sections=12, height=210.0, spine=14.0, ends=0.0):
    thick, closed = Estimate(spine, spine - 2, spine + 2), Estimate(1.2, 1.0, 1.4)
    return Block(148.0, height, 4, sections, thick, thick, closed, closed, ends_mm=ends)


def walked(sections, singly, endpapers):
    """How often thread runs along a fold, sewing one after another; each fold with what lies in it."""
    in_pairs = (sections - singly) // 2
    assert 2 * in_pairs + singly == sections
    return [1.0] * singly + [0.5] * (2 * in_pairs) + [1.0] * endpapers


@pytest.mark.parametrize(
    ("wish", "runs"),
    [
        (Wish(), 14),  # Vaughn 1912, Bailey 1916: endpapers are the first and the last section sewn
        (Wish(endpapers="tipped"), 12),
        (Wish(kind="two-on"), 1 + 5 + 1 + 2),  # Roberts & Etherington: the first, then ten in five pairs, the last
        (Wish(kind="two-on", singly=0, endpapers="tipped"), 6),  # Cockerell 1901: half
        (Wish(kind="two-on", singly=3), 4 + 4 + 2),  # nine in pairs leave one over
    ],
)
def test_thread_runs_once_along_every_fold_and_endpaper(practice, wish, runs):
    wish, said = settled(wish, 12, practice)
    assert said == ()
    assert sum(walked(12, wish.singly if wish.kind == "two-on" else 12, endpaper_folds(wish))) == runs
    found = on_tapes(BARE, block(), wish, practice)
    tails = 2 * number(practice.thread_tail)
    heights = (found.thread_length_mm - tails) / 210
    assert runs <= heights <= 1.25 * runs  # data/rule.csv thread_length.all_along: 1 to 1.25 heights a section
    folds = 12 + endpaper_folds(wish)
    path = all_along_thread_mm(folds, 210, number(practice.kettle), 1.2, tails, runs / folds)
    assert found.thread_length_mm >= path  # kettle stitches and all


def test_a_book_of_few_millimetres_still_gets_its_kettles(practice):
    small = on_tapes(BARE, block(height=30.0), Wish(end_mm=0.5, stations=1), practice)
    folds, tails = 14, 2 * number(practice.thread_tail)
    assert small.thread_length_mm >= folds * (30 - 2 * 0.5) + 2 * (folds - 1) * 1.2 + tails


def test_tapes_reach_an_inch_or_two_on_to_each_board(practice):
    """Everything2, "Tape": an inch or two beyond the block on each side. Canada's library rule: 3 for 20 to 30 cm."""
    found = on_tapes(BARE, block(), Wish(), practice)
    assert found.tapes.count == 3
    assert found.tapes.width_mm == 12.5
    assert 16 + 2 * INCH <= found.tapes.length_mm <= 16 + 4 * INCH  # the back at its widest, 16 mm
    assert found.as_json()["tapes"] == {"count": 3, "width_mm": 12.5, "length_mm": found.tapes.length_mm}
    assert f"3 tapes 12.5 mm wide, {found.tapes.length_mm:g} mm long" in found.notes[0]
    assert "1 tape 12.5" in on_tapes(BARE, block(), Wish(stations=1), practice).notes[0]


def test_adam_cuts_his_cords_in_the_same_way(practice):
    """Adam 1903: cheap work gets 3 cm a side more than the book's thickness; one book of 14 mm: 74 mm."""
    own = practice.with_own({"tape_side": 30})
    flat = block(spine=12.0)  # 14 mm at its widest
    assert on_tapes(BARE, flat, Wish(), own).tapes.length_mm == 74


def test_what_is_said_agrees_with_what_is_counted(practice):
    for sections in range(4, 16):
        wish, _ = settled(Wish(kind="two-on"), sections, practice)
        notes = " ".join(on_tapes(BARE, block(sections), wish, practice).notes)
        pairs = int(re.search(r"two-on: (\d+) sections in pairs", notes)[1])
        assert pairs % 2 == 0
        assert pairs + wish.singly == sections
        assert "all along" in notes
        assert f"of {sections + 2} folds" in notes
    tipped = on_tapes(BARE, block(), Wish(endpapers="tipped"), practice)
    assert "no thread runs through them" in tipped.notes[-1]
    none = settled(Wish(kind="two-on", singly=0), 8, practice)[0]
    assert "all along" not in " ".join(on_tapes(BARE, block(8), none, practice).notes)
    assert "the first section all along" in " ".join(
        on_tapes(BARE, block(9), settled(Wish(kind="two-on", singly=0), 9, practice)[0], practice).notes
    )


@pytest.mark.parametrize("sections", [1, 2, 3])
def test_two_on_without_a_pair_is_sewn_all_along_and_told(practice, sections):
    wish, (said,) = settled(Wish(kind="two-on"), sections, practice)
    assert wish.kind == "all-along"
    assert "sew all along" in said
    assert settled(Wish(), sections, practice) == (Wish(), ())


def test_stations_from_an_untrimmed_head(practice):
    assert "add the 3 mm" in " ".join(on_tapes(BARE, block(ends=3.0), Wish(), practice).notes)
    assert "trimmed head" not in " ".join(on_tapes(BARE, block(), Wish(), practice).notes)


@given(st.integers(1, 60), st.integers(0, 60))
def test_pairs_always_come_out_even(sections, wanted):
    alone = sewn_singly(sections, wanted)
    assert alone <= max(sections, wanted)
    if alone < sections:
        assert alone in (wanted, wanted + 1)
        assert (sections - alone) % 2 == 0


def test_refusals(practice):
    with pytest.raises(BadInput, match="9 sections sewn singly of 8"):
        settled(Wish(kind="two-on", singly=9), 8, practice)
    with pytest.raises(BadInput, match="sewn or tipped"):
        endpaper_folds(Wish(endpapers="stapled"))
