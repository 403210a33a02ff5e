"""Needles: by what a source pairs with the thread; by an eye two fifths wider than it (the needle maker's rule)."""

import pytest

from matref.book.hand_sewing import by_hand
from matref.book.needles import (
    Needle,
    hand_doubts,
    hand_needle,
    hand_needle_words,
    machine_doubts,
    machine_needle,
    takes,
)
from matref.book.stitching import Wish, by_machine
from matref.book.structures.parts import Block
from matref.book.thread import diameter_mm
from matref.estimator.estimate import Estimate

LINEN = {"18/3": 275.586, "25/3": 198.422, "30/3": 165.352, "40/3": 124.014, "60/3": 82.676}
"""Tex: 1653.515·3/n, by the lea of 300 yd to the pound (Roberts and Etherington)."""
FLAT = Estimate(1.1, 1.0, 1.3)
BLOCK = Block(100.0, 150.0, 4, 5, FLAT, FLAT, Estimate(0.8, 0.7, 0.9), FLAT, 2.0)
LAYERS = (("4 sheets", 0.4), ("card", 0.3))


def linen(count):
    return diameter_mm(LINEN[count], 680)


@pytest.mark.parametrize("count", ["18/3", "25/3", "30/3"])
def test_the_binders_needle_for_the_threads_that_its_source_names(practice, needles, count):
    """A conservator's page: a binder's needle 18 for linen thread 18/3 to 30/3. No sharps, whose eye is too small."""
    assert hand_needle(needles, linen(count)).needle_id == "hand-binder-18"
    assert hand_needle_words(needles, linen(count), practice) == "binder’s needle 18"


@pytest.mark.parametrize("count", ["40/3", "60/3"])
def test_other_threads_are_told_the_eye_and_no_needle(practice, needles, count):
    """Schmetz: the eye should be 40 % wider than the thread."""
    assert hand_needle(needles, linen(count)) is None
    words = hand_needle_words(needles, linen(count), practice)
    assert f"{1.4 * linen(count):.2f} mm wide or more" in words
    thick = by_hand("long-stitch", BLOCK, LAYERS, "cord", 1.0, needles, Wish(), practice)
    assert thick.needle == "hand needle with an eye 1.40 mm wide or more"


def test_a_named_hand_needle_that_will_not_take_the_thread(practice, needles):
    """30/3 linen is near half a millimetre, waxed or not; a sharps 8 has a blade of 0.61 mm and a small round eye."""
    known = {needle.needle_id: needle for needle in needles}
    (small,) = hand_doubts(known["hand-sharps-8"], linen("30/3"), practice)
    assert "wants one of 0.78 mm" in small  # 1.4 · 0.556
    assert hand_doubts(known["hand-sharps-8"], 0.3, practice) == ()
    (thin,) = hand_doubts(known["hand-sharps-10"], 0.6, practice)
    assert "thinner than the thread" in thin
    assert hand_doubts(known["hand-chenille-22"], 0.8, practice) == ()  # a large eye, sizes-nd-sewing-needles
    assert hand_doubts(known["hand-binder-18"], linen("25/3"), practice) == ()
    (stout,) = hand_doubts(known["hand-binder-18"], 1.0, practice)
    assert "take a stouter one" in stout
    assert hand_doubts(Needle("x", "curved", None, machine=False), 1.0, practice) == ()


def test_a_machine_needle_grows_with_what_lies_under_it(practice, needles):
    sizes = [machine_needle(needles, under, 0.2, practice).blade_mm for under in (0.4, 1.0, 1.9)]
    assert sizes == [0.8, 0.9, 1.0]
    assert machine_needle((), 1.0, 0.2, practice).name == "machine needle 90"


@pytest.mark.parametrize(
    ("tex", "density", "sizes"),
    [
        (40, 830, (0.8, 0.9)),  # a shop's guide: 80/12 to 90/14 on home machines
        (70, 1020, (1.05, 1.1)),  # bonded thread 69: 110/18 as upholsterers use it
        (90, 1020, (1.2, 1.3)),  # bonded thread 92: 120/19
        (210, 1020, (1.6, 1.8)),  # bonded thread 207: 180/24
    ],
)
def test_a_machine_needle_grows_with_the_thread(practice, needles, tex, density, sizes):
    """Pairings of thread and needle as sewing shops print them; the rule was made from tex 25 and 40 alone."""
    found = machine_needle(needles, 0.4, diameter_mm(tex, density), practice)
    assert sizes[0] <= found.blade_mm <= sizes[1]


def test_thread_that_no_machine_needle_takes(practice, needles):
    """Linen 25/3 is 0.61 mm loose and wants an eye of 0.85 mm, four tenths of a 2.1 mm needle: there is none."""
    thread = linen("25/3")
    found = by_machine(BLOCK, LAYERS, "linen 25/3", thread, needles, Wish(), practice)
    assert found.needle == "no machine needle takes this thread"
    (said,) = found.warnings
    assert f"{thread:.2f} mm wants an eye of {1.4 * thread:.2f} mm" in said
    named = tuple(needle for needle in needles if needle.needle_id == "machine-90")
    mine = by_machine(BLOCK, LAYERS, "linen 25/3", thread, named, Wish(), practice)
    assert mine.needle == "machine needle 90/14"  # as the maker wishes, and told
    assert mine.warnings == (said.replace("machine needle 80/12", "machine needle 90/14").replace("0.34", "0.39"),)
    assert takes(named[0], 0.25, practice)


def test_a_needle_stouter_than_books_want_is_told(practice, needles):
    found = by_machine(BLOCK, LAYERS, "tex 100", 0.39, needles, Wish(), practice)
    assert found.needle in ("machine needle 130/21", "machine needle 140/22")
    (said,) = found.warnings
    assert "makes wide holes: thread of 0.29 mm or less goes through a 100" in said  # 0.4 · 1.0 / 1.4
    assert machine_doubts(machine_needle(needles, 0.4, 0.28, practice), 0.28, practice) == ()
