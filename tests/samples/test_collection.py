"""Samples kept: what is stored, what is refused, and that withdrawing leaves no trace. Values are invented."""

from __future__ import annotations

import json
import math
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from personal_shop import numbers

import matref
from matref.api import Workshop
from matref.database import transaction
from matref.errors import BadInput, NotFound
from matref.estimator import personal
from matref.estimator.evidence import Evidence
from matref.personal_entry import OWN_ID
from matref.samples import collection

WEIGHED = {"size": "A4", "sheets": 20, "mass": "98 g"}
STACKED = {"stack_sheets": 100, "stack": "11.2 mm"}


def everything(connection: sqlite3.Connection) -> list[str]:
    return [line for line in connection.iterdump() if "sample" in line or "pile_line" in line]


def test_a_sample_is_kept_as_typed_and_as_parsed(shop: Workshop) -> None:
    kept = shop.samples.add("ledger leaves", note="from the attic", paper_class="ledger", **WEIGHED, **STACKED)
    assert OWN_ID.fullmatch(kept.id)
    assert kept.typed == {
        "paper_class": "ledger",
        "size": "A4",
        "sheets": "20",
        "mass": "98 g",
        "stack_sheets": "100",
        "stack": "11.2 mm",
    }
    assert kept.parsed["mass_g"] == 98
    assert (kept.parsed["width_mm"], kept.parsed["height_mm"]) == (210, 297)  # ISO 216
    assert kept.parsed["stack_resolution_mm"] == 1  # a ruler's division, however finely the figure is written
    assert shop.samples.get("ledger leaves") == shop.samples.get(kept.id) == kept
    assert [s.id for s in shop.samples.list()] == [kept.id]


def test_derived_values_follow_the_gum(shop: Workshop) -> None:
    """JCGM 100:2008, 4.3.7 and 5.1.6: a reading to d has d/√12 at each end, relative variances add up."""
    kept = shop.samples.add(**WEIGHED)
    gsm = 98 / (20 * 0.210 * 0.297)
    two_ends = math.sqrt(2 / 12)
    relative = math.hypot(two_ends * 1 / 98, two_ends * 1 / 210, two_ends * 1 / 297)
    assert kept.grammage_gsm is not None
    assert kept.grammage_gsm.value == pytest.approx(gsm, rel=1e-12)
    assert kept.grammage_gsm.u == pytest.approx(gsm * relative, rel=1e-4)
    assert kept.caliper_um is None


def test_a_class_does_not_move_what_was_measured(shop: Workshop) -> None:
    without = shop.samples.add(**STACKED)
    named = shop.samples.add(paper_class="ledger", **STACKED)
    assert without.caliper_um == named.caliper_um


@pytest.mark.parametrize(
    ("evidence", "match"),
    [
        ({"paper_class": "ledger"}, "a class alone is none"),
        ({}, "a class alone is none"),
        ({"paper_class": "ledgr", **WEIGHED}, 'no class called "ledgr"'),
        ({"paper_class": "ledger", "grammage": 90, "stack_sheets": 100, "stack": "31 mm"}, "does not fit the rest"),
        ({"size": "A4", "sheets": 20, "mass": "98 kg"}, "beyond any sheet material"),
        ({"size": "A4"}, "says nothing about the paper"),
        ({"mass": float("nan"), "size": "A4", "sheets": 20}, "mass 'nan'"),
        ({"weight": 98}, "weight is no kind of evidence"),
        ({"mass": True, "size": "A4", "sheets": 20}, "mass is True"),
        ({"size": "A4\n", "sheets": [20], "mass": 98}, "expected text or a number"),
        ({"paper_class": "x" * 300, **WEIGHED}, "300 characters"),
    ],
)
def test_nonsense_is_refused_and_nothing_is_written(shop: Workshop, evidence: dict[str, object], match: str) -> None:
    before = everything(shop.connection)
    with pytest.raises(BadInput, match=match) as caught:
        shop.samples.add("x", **evidence)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)
    assert everything(shop.connection) == before


def test_what_caliper_refuses_is_refused_in_the_same_words(shop: Workshop) -> None:
    absurd = {"paper_class": "ledger", "grammage": 90, "stack_sheets": 100, "stack": "31 mm"}
    with pytest.raises(BadInput) as by_caliper:
        shop.caliper(**absurd)
    with pytest.raises(BadInput) as by_samples:
        shop.samples.add(**absurd)
    assert str(by_caliper.value) == str(by_samples.value)


def test_a_doubtful_sample_is_kept_with_a_warning(shop: Workshop) -> None:
    doubtful = {"paper_class": "ledger", "grammage": 90, "stack_sheets": 100, "stack": "16.5 mm"}
    said = [w for w in shop.caliper(**doubtful).warnings if "does not fit" in w]
    assert said, "the example is meant to be doubtful, not absurd"
    assert list(shop.samples.add("odd", **doubtful).warnings) == said
    assert len(shop.samples.list()) == 1


def test_a_sample_lighter_than_any_paper_is_kept_with_a_warning(shop: Workshop) -> None:
    """98 sheets of A4 of 20 g: 20/(98 · 0.06237) = 3.27 g/m²; changed round 98/(20 · 0.06237) = 78.6 g/m²."""
    swapped = shop.samples.add("swapped", size="A4", sheets=98, mass="20 g")
    assert len(shop.samples.list()) == 1
    (said,) = swapped.warnings
    assert "20 sheets weighing 98 g make 79 g/m²" in said
    mended = shop.samples.edit("swapped", sheets=20, mass="98 g")
    assert mended.warnings == ()
    assert "changed round" in " ".join(shop.samples.edit("swapped", sheets=98, mass="20 g").warnings)


@pytest.mark.parametrize(
    ("field", "value", "match"),
    [
        ("label", "a\x00b", "control character"),
        ("label", "a\ud800b", "control character"),
        ("label", "x" * 201, "201 characters"),
        ("label", 7, "label is 7"),
        ("note", "x" * 10_001, "10001 characters"),
        ("measured_on", "01/02/2024", "year-month-day"),
        ("measured_on", "2024-02-30", "year-month-day"),
        ("measured_on", "2199-01-01", "not in the future"),
        ("measured_on", 20240101, "year-month-day"),
        ("same_as", "nobody", 'no sample called "nobody"'),
    ],
)
def test_bad_words_are_refused(shop: Workshop, field: str, value: object, match: str) -> None:
    with pytest.raises(BadInput, match=match):
        shop.samples.add(**{field: value, **WEIGHED})  # type: ignore[arg-type]
    assert shop.samples.list() == []


def test_labels_stand_for_ids_while_only_one_has_them(shop: Workshop) -> None:
    first = shop.samples.add("tide tables", **WEIGHED)
    second = shop.samples.add("tide tables", **WEIGHED)
    with pytest.raises(BadInput, match="2 samples are called"):
        shop.samples.get("tide tables")
    shop.samples.remove(second.id)
    assert shop.samples.get("tide tables").id == first.id
    with pytest.raises(NotFound, match="near: tide tables"):
        shop.samples.get("tide table")
    for nameless in ("", "  ", None):
        with pytest.raises(BadInput, match="no sample is named"):
            shop.samples.get(nameless)  # type: ignore[arg-type]


def test_an_id_goes_before_a_label_and_letters_compose(shop: Workshop) -> None:
    first = shop.samples.add("cafe\u0301", **WEIGHED)
    assert shop.samples.get("café").id == first.id
    shop.samples.add(first.id, **WEIGHED)
    assert shop.samples.get(first.id.upper()).id == first.id


def test_adding_moves_estimates_and_withdrawing_restores_every_number(shop: Workshop) -> None:
    bare = numbers(shop)
    one = shop.samples.add("one", paper_class="ledger", **WEIGHED, **STACKED)
    with_one = numbers(shop)
    assert with_one != bare
    two = shop.samples.add("two", paper_class="ledger", grammage=120, stack_sheets=37, stack="5.1 mm")
    with_two = numbers(shop)
    shop.samples.remove("two")
    assert numbers(shop) == with_one
    shop.samples.remove(one.id)
    assert numbers(shop) == bare
    shop.samples.restore(two.id)
    shop.samples.restore(one.id)
    assert numbers(shop) == with_two


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(st.integers(60, 200), st.integers(20, 200), st.sampled_from(["ledger", "copier", None])),
        min_size=1,
        max_size=4,
    ),
    st.randoms(use_true_random=False),
)
def test_any_order_of_withdrawing_restores_every_number(
    shop: Workshop, piles: list[tuple[int, int, str | None]], random: object
) -> None:
    bare = numbers(shop)
    kept = [
        shop.samples.add(paper_class=c, grammage=gsm, stack_sheets=n, stack=f"{n * gsm * 1.25e-3:.2f} mm").id
        for gsm, n, c in piles
    ]
    full = numbers(shop)
    random.shuffle(kept)  # type: ignore[attr-defined]
    for sample in kept:
        shop.samples.remove(sample)
    assert numbers(shop) == bare
    for sample in reversed(kept):
        shop.samples.restore(sample)
    assert numbers(shop) == full
    for sample in kept:
        shop.samples.remove(sample)


def test_a_pile_counts_once_however_often_it_is_measured(shop: Workshop) -> None:
    one = shop.samples.add(paper_class="ledger", **WEIGHED, **STACKED)
    for _ in range(5):
        shop.samples.add(same_as=one.id, **STACKED)
    assert shop.connection.execute("SELECT count FROM sample_total WHERE class_id = 'ledger'").fetchone()[0] == 1
    known, observations = shop.samples.as_evidence(one.id, Evidence())
    assert known.paper_class == "ledger"
    stack = next(o for o in observations if o.about == "stack")
    held = stack.shares["how firmly the stack was held"]
    single = next(o for o in shop.samples.as_evidence(shop.samples.add(**STACKED).id, Evidence())[1])
    # six readings: what is each reading's own falls to a sixth, the hand stays the same (GUM 5.2)
    assert stack.u**2 == pytest.approx((single.u**2 - held) / 6 + held, rel=1e-9)


def test_samples_of_one_pile_must_agree(shop: Workshop) -> None:
    one = shop.samples.add("one", paper_class="ledger,copier", **STACKED)
    with pytest.raises(BadInput, match="by its other samples"):
        shop.samples.add(same_as="one", paper_class="newsprint", **WEIGHED)
    with pytest.raises(BadInput, match="does not fit the rest"):
        shop.samples.add(same_as="one", stack_sheets=100, stack="31 mm")
    shop.samples.add(same_as="one", paper_class="ledger", **WEIGHED)
    assert shop.samples.as_evidence(one.id, Evidence())[0].paper_class == "ledger"
    assert shop.connection.execute("SELECT class_id FROM pile_line").fetchall()[0][0] == "ledger"


def test_a_sample_answers_for_its_pile(shop: Workshop) -> None:
    kept = shop.samples.add(paper_class="ledger", **WEIGHED)
    typed = shop.caliper(sample=kept.id, **STACKED)
    assert {s.words for s in typed.rests_on} >= {"20 sheets weighing 98 g", "100 sheets 11.2 mm thick"}
    assert [c.class_id for c in typed.classes] == ["ledger"]
    assert shop.caliper(sample=kept.id, paper_class="copier").classes[0].class_id == "copier"
    shop.samples.remove(kept.id)
    with pytest.raises(BadInput, match="is withdrawn"):
        shop.caliper(sample=kept.id)


def test_an_edit_reads_anew_and_keeps_the_former_version(shop: Workshop) -> None:
    before = shop.samples.add("ledger", paper_class="ledger", **WEIGHED, **STACKED)
    was = numbers(shop)
    after = shop.samples.edit("ledger", mass="108 g", label="ledger leaves", note="scale had not been set to nought")
    assert after.id == before.id
    assert after.grammage_gsm is not None
    assert after.grammage_gsm.value == pytest.approx(108 / (20 * 0.210 * 0.297))
    assert numbers(shop) != was
    (version,) = shop.samples.history(before.id)
    assert (version.version, version.label, version.typed) == (1, "ledger", before.typed)
    assert json.loads(json.dumps(version.as_json()))["as_typed"]["mass"] == "98 g"
    shop.samples.edit(before.id, mass="98 g")
    assert numbers(shop) == was
    assert len(shop.samples.history(before.id)) == 2


def test_an_edit_that_changes_nothing_leaves_no_version(shop: Workshop) -> None:
    kept = shop.samples.add("ledger", **WEIGHED)
    assert shop.samples.edit(kept.id, mass="98 g", label=" ledger ") == kept
    assert shop.samples.edit(kept.id) == kept
    assert shop.samples.edit(kept.id, same_as=None) == kept
    assert shop.samples.history(kept.id) == []


def test_a_bad_edit_leaves_everything(shop: Workshop) -> None:
    kept = shop.samples.add("ledger", paper_class="ledger", **WEIGHED, **STACKED)
    before = everything(shop.connection)
    for changes, match in (
        ({"mass": "9.8 g"}, "does not fit|beyond"),
        ({"mass": None}, "without their mass"),
        ({"colour": "cream"}, "a sample has no colour"),
        ({"same_as": "nobody"}, "no sample called"),
        ({"stack_sheets": None, "stack": None, "size": None, "sheets": None, "mass": ""}, "a class alone is none"),
    ):
        with pytest.raises(BadInput, match=match):
            shop.samples.edit(kept.id, **changes)
    assert everything(shop.connection) == before


def test_samples_move_between_piles(shop: Workshop) -> None:
    samples = shop.samples
    first = samples.add("first", paper_class="ledger", **WEIGHED)
    second = samples.add("second", same_as="first", **STACKED)
    third = samples.add("third", same_as="second", **STACKED)
    assert {s.pile_id for s in samples.list()} == {first.id}
    together = numbers(shop)
    assert samples.edit("first", same_as="").pile_id == first.id  # the first leaves, the rest go by the second
    assert [samples.get(s.id).pile_id for s in (second, third)] == [second.id, second.id]
    assert shop.connection.execute("SELECT count(*) FROM pile_line").fetchone()[0] == 0
    samples.edit("second", same_as="first")
    samples.edit("third", same_as="first")
    assert numbers(shop) == together
    samples.edit("third", same_as="")
    assert samples.get("third").pile_id == third.id


def test_withdrawn_samples_are_kept_and_stay_as_they_are(shop: Workshop) -> None:
    kept = shop.samples.add("ledger", paper_class="ledger", **WEIGHED)
    assert shop.samples.remove("ledger").withdrawn_at
    assert shop.samples.list() == []
    assert [s.id for s in shop.samples.list(withdrawn=True)] == [kept.id]
    for change in (shop.samples.remove, lambda s: shop.samples.edit(s, mass="99 g")):
        with pytest.raises(BadInput, match="withdrawn"):
            change("ledger")
    shop.samples.restore("ledger")
    with pytest.raises(BadInput, match="not withdrawn"):
        shop.samples.restore("ledger")


def test_what_comes_back_must_still_fit_its_pile(shop: Workshop) -> None:
    first = shop.samples.add("first", paper_class="ledger", **WEIGHED)
    shop.samples.add("second", same_as="first", **STACKED)
    shop.samples.remove("first")
    shop.samples.edit("second", paper_class="copier")
    with pytest.raises(BadInput, match="by its other samples"):
        shop.samples.restore(first.id)
    assert shop.samples.get("first").withdrawn_at


def test_lists_are_by_class(shop: Workshop) -> None:
    shop.samples.add("a", paper_class="ledger", **WEIGHED)
    shop.samples.add("b", paper_class="ledger, copier", **WEIGHED)
    assert [s.label for s in shop.samples.list("ledger")] == ["a"]
    with pytest.raises(NotFound, match="ledgr"):
        shop.samples.list("ledgr")


@pytest.mark.parametrize("step", ["insert", "place_pile"])
def test_a_crash_in_the_middle_leaves_the_file_as_it_was(
    place: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """The exception comes after rows were written, before the transaction ends."""
    with matref.open(place) as shop:
        shop.samples.add("first", paper_class="ledger", **WEIGHED, **STACKED)
        before, counted = everything(shop.connection), numbers(shop)
        where = collection if step == "insert" else sys.modules["matref.samples.pile"]
        real = getattr(where, step)

        def crash(connection: sqlite3.Connection, *arguments: object) -> None:
            real(connection, *arguments)
            raise KeyboardInterrupt

        monkeypatch.setattr(where, step, crash)
        with pytest.raises(KeyboardInterrupt):
            shop.samples.add("second", same_as="first", **STACKED)
        monkeypatch.undo()
        assert everything(shop.connection) == before
        assert numbers(shop) == counted
    with matref.open(place) as again:
        assert everything(again.connection) == before


def test_inside_the_callers_transaction_a_refusal_undoes_only_itself(shop: Workshop) -> None:
    with transaction(shop.connection):
        shop.samples.add("kept", **WEIGHED)
        with pytest.raises(BadInput):
            shop.samples.add("refused", same_as="nobody", **WEIGHED)
    assert [s.label for s in shop.samples.list()] == ["kept"]


_ADDING = """
import sys
import matref
with matref.open(sys.argv[1]) as workshop:
    for i in range(8):
        workshop.samples.add(sys.argv[2], paper_class="ledger", grammage=90 + i, stack_sheets=100, stack="11 mm")
"""


def test_two_processes_add_at_once(place: Path) -> None:
    """Both write to one file; nothing is lost and the sums are those of all piles."""
    matref.open(place).close()
    workers = [subprocess.Popen([sys.executable, "-c", _ADDING, str(place), name]) for name in ("a", "b")]
    assert [worker.wait(timeout=120) for worker in workers] == [0, 0]
    with matref.open(place) as shop:
        assert len(shop.samples.list()) == 16
        kept = personal.totals(shop.connection)
        with transaction(shop.connection):
            personal.reweigh(shop.connection)  # sums everything anew from the piles
        assert personal.totals(shop.connection) == kept
        assert kept["ledger"].count == 16


def test_rereading_changes_nothing_while_the_catalogue_stays(shop: Workshop) -> None:
    shop.samples.add("first", paper_class="ledger", **WEIGHED, **STACKED)
    shop.samples.add("gone", grammage="20 lb bond", **STACKED)
    shop.samples.remove("gone")
    before = numbers(shop)
    kept = [s.as_json() for s in shop.samples.list(withdrawn=True)]
    assert shop.samples.reread() == ()
    assert numbers(shop) == before
    assert [s.as_json() for s in shop.samples.list(withdrawn=True)] == kept


def test_rereading_takes_up_a_changed_rule_and_keeps_what_it_cannot_read(shop: Workshop) -> None:
    first = shop.samples.add("first", **STACKED)
    odd = shop.samples.add("odd", size="foolscap", sheets=20, mass="98 g")
    with transaction(shop.connection):
        shop.connection.execute(
            "UPDATE rule SET low = 1.1, value = 1.15, high = 1.2 WHERE id = 'measuring.looseness.hand'"
        )
        shop.connection.execute("DELETE FROM sheet_size")
    (said,) = shop.samples.reread()
    assert "odd" in said
    assert shop.samples.get("odd").grammage_gsm == odd.grammage_gsm
    now, was = shop.samples.get("first").caliper_um, first.caliper_um
    assert now is not None
    assert was is not None
    rule = math.sqrt(1.1 * 1.2)
    assert now.value == pytest.approx(1000 * 11.2 / 100 / rule)


def test_adding_looks_up_and_never_scans(shop: Workshop) -> None:
    """O(log n): every statement that an added sample runs over the samples finds its rows by an index."""
    seen: list[str] = []
    kept = shop.samples.add("first", paper_class="ledger", **WEIGHED, **STACKED)
    shop.connection.set_trace_callback(seen.append)
    shop.samples.add("second", same_as="first", **STACKED)
    shop.samples.add("third", same_as=kept.id, **STACKED)
    shop.connection.set_trace_callback(None)
    personal_tables = ("sample", "pile_line", "sample_total")
    looked = [s for s in seen if s.lstrip().upper().startswith(("SELECT", "UPDATE", "DELETE"))]
    scans = [
        (statement, row["detail"])
        for statement in looked
        for row in shop.connection.execute(f"EXPLAIN QUERY PLAN {statement}")
        if row["detail"].split()[0] == "SCAN" and row["detail"].split()[1] in personal_tables
    ]
    # one row per class, however many samples
    assert [detail for _, detail in scans if "sample_total" not in detail] == []
    assert any("sample" in statement for statement in looked)


def test_a_sample_asked_about_does_not_speak_twice(shop: Workshop) -> None:
    """Data count once (Bayes): a pile's own readings speak as evidence, and its class line is the one without them."""
    before = shop.caliper(paper_class="ledger", **WEIGHED, **STACKED).caliper_um
    own = shop.samples.add(paper_class="ledger", **WEIGHED, **STACKED)
    assert shop.caliper(paper_class="ledger", grammage=100).rests_on[3].kind == "samples"
    asked = shop.caliper(sample=own.id).caliper_um
    assert (asked.value, asked.low, asked.high) == pytest.approx((before.value, before.low, before.high), rel=1e-12)
    assert not any(support.kind == "samples" for support in shop.caliper(sample=own.id).rests_on)


def test_a_label_in_use_is_told(shop: Workshop) -> None:
    first = shop.samples.add("loft leaves", size="A4", sheets=20, mass="98 g")
    assert first.warnings == ()
    second = shop.samples.add("loft leaves", size="A4", sheets=20, mass="99 g")
    (said,) = second.warnings
    assert first.id in said
    with pytest.raises(BadInput, match="2 samples are called"):  # what the warning is about
        shop.samples.edit("loft leaves", note="by the window")
    assert [shop.samples.add(size="A4", sheets=20, mass="98 g").warnings for _ in range(2)] == [(), ()]
