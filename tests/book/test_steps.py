from dataclasses import replace

import pytest

from matref.book.plan import plan
from matref.book.steps import CUTTING, HAND, MACHINE, steps
from matref.book.structures import STRUCTURES

ALL = [(name, by) for name, made in STRUCTURES.items() for by in made.by]


def place(work, *words):
    """Position of the first step that speaks of all the words."""
    return next(i for i, step in enumerate(work) if all(word in step.do.lower() for word in words))


@pytest.mark.parametrize(("name", "by"), ALL)
def test_every_step_has_its_caution_in_the_catalogue(cautions, name, by):
    kinds = {row.step for row in cautions}
    for step in steps(name, by):
        assert step.do.endswith(".")
        assert step.caution == "" or step.caution in kinds


@pytest.mark.parametrize(("name", "by"), ALL)
def test_blades_needles_and_irons_are_never_without_a_caution(name, by):
    for step in steps(name, by):
        words = step.do.lower()
        if words.startswith(("cut ", "trim ")):
            assert step.caution == CUTTING, step.do
        if words.startswith(("sew", "pierce", "open one section", "lay the section")):
            assert step.caution in (HAND, MACHINE), step.do
        if "fuse" in words:
            assert step.caution == "ironing"
        if "glue" in words or "paste" in words:
            assert step.caution == "adhesive", step.do


@pytest.mark.parametrize(("name", "by"), ALL)
def test_order_of_work(name, by):
    work = steps(name, by)
    assert place(work, "mould") < place(work, "fold each sheet") < place(work, "sew")
    if name != "link-stitch":
        assert place(work, "sew") < place(work, "trim the fore-edge")
        assert work[place(work, "trim the fore-edge")].caution == CUTTING
    if name.endswith("case"):
        measured = place(work, "measure the back")
        assert place(work, "sew the sections") < place(work, "trim the fore-edge") < measured
        assert measured < place(work, "cut the boards") < place(work, "glue and turn in") < place(work, "into the case")
    if name == "rounded-case":
        assert place(work, "sew the sections") < place(work, "round the back") < place(work, "measure the back")
    if name == "soft-cover":
        assert place(work, "let it cool") < place(work, "sew")


def test_a_link_stitch_is_trimmed_before_it_is_sewn():
    """Sewn to its boards the book cannot be trimmed: what is cut over for the trim would stand out of the square."""
    work = steps("link-stitch", "hand")
    assert place(work, "press the sections") < place(work, "trim its fore-edge") < place(work, "pierce")
    assert "head and tail" not in work[place(work, "trim its fore-edge")].do
    also = steps("link-stitch", "hand", head_tail=True)
    assert "then head and tail" in also[place(also, "trim its fore-edge")].do
    told = " ".join(step.do for step in work)
    assert "same stations" not in told
    assert "square further from the head" in told


@pytest.mark.parametrize(("name", "by"), [one for one in ALL if STRUCTURES[one[0]].through_cover])
def test_the_knife_stays_out_of_a_sewn_on_cover(name, by):
    for work in (steps(name, by), steps(name, by, head_tail=True)):
        trim = work[place(work, "trim the fore-edge")]
        assert "fold the sewn-on cover back" in trim.do
    first = steps(name, by, head_tail=True)
    assert place(first, "press the sections") + 1 == place(first, "trim head and tail") < place(first, "sew")
    assert len(first) == len(steps(name, by)) + 1
    flush = steps(name, by, flush=True)
    assert "along the cover's edge" in flush[place(flush, "trim the fore-edge")].do


@pytest.mark.parametrize("name", ["flat-back-case", "quarter-case", "rounded-case"])
def test_a_case_is_trimmed_on_three_sides_when_asked(name):
    work = steps(name, "hand", head_tail=True)
    assert "then head and tail" in work[place(work, "trim the fore-edge")].do
    assert len(work) == len(steps(name, "hand"))


def test_the_plan_asks_for_the_steps_that_fit_it(chandler):
    def trims(asked):
        return [step.do for step in plan(asked).steps if step.do.startswith("Trim")]

    pamphlet = chandler("pamphlet")
    assert "along the cover's edge" in trims(pamphlet)[0]
    proud = replace(pamphlet, practice=pamphlet.practice.with_own({"overhang": 2}))
    assert "fold the sewn-on cover back" in trims(proud)[0]
    assert "head and tail of every section" in trims(chandler("long-stitch", trim_head_tail=True))[0]


def test_machine_practice_is_told():
    """Common practice, no source: a sample first, clips, knots inside, several light strokes."""
    text = " ".join(step.do for step in steps("soft-cover", "machine"))
    for word in ("sample", "clips", "centre line", "order given", "inside, knot", "light strokes"):
        assert word in text


@pytest.mark.parametrize("name", ["flat-back-case", "quarter-case", "rounded-case"])
def test_parts_cut_last_are_cut_in_the_step_after_measuring(chandler, name):
    found = plan(chandler(name))
    told = found.steps[place(found.steps, "measure the back")].do.lower()
    for part in found.parts:
        if part.cut_when == "after sewing":
            assert any(word in told for word in part.name.replace("inlay", "piece").split() if len(word) > 3), part.name
