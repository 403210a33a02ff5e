"""Two people hand samples to and fro: identities stay, nothing comes twice, conflicts are shown, and all is exact."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from durability.hostile import OFTEN, cases
from durability.scale import times, told
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test

import matref
from matref.errors import BadInput
from matref.samples import ImportRefused, Sample

ENTERED = ("id", "label", "note", "measured_on", "pile_id", "typed", "parsed", "grammage_gsm", "caliper_um", "class_id")
WORDS = st.sampled_from([w for w in OFTEN if w.strip() and len(w) < 100]) | st.text(max_size=12)


def entered(sample: Sample) -> dict[str, object]:
    return {name: getattr(sample, name) for name in ENTERED}


def table(shop: matref.Workshop, notes: bool = True) -> bytes:
    text = io.StringIO(newline="")
    shop.samples.export_csv(text, with_notes=notes)
    return text.getvalue().encode("utf-8-sig")


class TwoPeople(RuleBasedStateMachine):
    """Both add, correct and withdraw as they like, and hand over their tables at any moment."""

    compiled: Path
    folder: Path
    handed = conflicts = 0

    def __init__(self) -> None:
        super().__init__()
        self.places = [self.folder / name for name in ("hers.db", "his.db")]
        for place in self.places:
            shutil.copy(self.compiled, place)
        self.shops = [matref.open(place) for place in self.places]

    def teardown(self) -> None:
        for shop, place in zip(self.shops, self.places, strict=True):
            assert matref.workshop.check(place).ok
            shop.close()
            for left in self.folder.glob(place.name + "*"):
                left.unlink()

    @rule(who=st.integers(0, 1), label=WORDS, note=WORDS, grams=st.integers(90, 106), same=st.booleans())
    def add(self, who: int, label: str, note: str, grams: int, same: bool) -> None:
        samples = self.shops[who].samples
        here = samples.list()
        try:
            samples.add(
                label, note, same_as=here[-1].id if same and here else None, size="A4", sheets=20, mass=f"{grams} g"
            )
        except BadInput:
            return

    @rule(who=st.integers(0, 1), which=st.integers(0, 9), grams=st.integers(90, 106), note=WORDS)
    def edit(self, who: int, which: int, grams: int, note: str) -> None:
        samples = self.shops[who].samples
        here = samples.list()
        if which < len(here):
            try:
                samples.edit(here[which].id, mass=f"{grams} g", note=note)
            except BadInput:
                return

    @rule(who=st.integers(0, 1), which=st.integers(0, 9))
    def withdraw(self, who: int, which: int) -> None:
        samples = self.shops[who].samples
        here = samples.list()
        if which < len(here):
            samples.remove(here[which].id)

    @rule(who=st.integers(0, 1), notes=st.booleans())
    def hand_over(self, who: int, notes: bool) -> None:
        giver, taker = self.shops[who].samples, self.shops[1 - who].samples
        content = table(self.shops[who], notes)
        before = {s.id: s for s in taker.list(withdrawn=True)}
        given = {s.id: s for s in giver.list()}
        type(self).handed += 1
        if not given:
            return
        try:
            report = taker.import_csv(io.BytesIO(content))
        except ImportRefused as refused:
            # Nothing is written, and every line at odds is named.
            assert {s.id: s for s in taker.list(withdrawn=True)} == before
            type(self).conflicts += 1
            for row in refused.report.bad:
                assert row.said
                if row.outcome == "conflict":
                    assert row.sample_id is not None
                    assert entered(before[row.sample_id]) != entered(given[row.sample_id])
            return
        after = {s.id: s for s in taker.list(withdrawn=True)}
        assert set(after) == set(before) | set(given)
        assert report.number("added") == len(set(given) - set(before))
        for name, sample in before.items():
            assert after[name] == sample, "what was here is not changed"
        for name in set(given) - set(before):
            mine, theirs = entered(given[name]), entered(after[name])
            if not notes:
                assert theirs["note"] == ""
                mine["note"] = ""
            assert theirs == mine
        again = taker.import_csv(io.BytesIO(content))
        assert again.number("skipped") == len(given)
        assert {s.id: s for s in taker.list(withdrawn=True)} == after


def test_two_people(compiled: Path, tmp_path: Path) -> None:
    machine = type("Machine", (TwoPeople,), {"compiled": compiled, "folder": tmp_path})
    run_state_machine_as_test(machine, settings=cases(times(12, 400)))
    assert machine.handed > 0  # type: ignore[attr-defined]
    told(f"tables handed over: {machine.handed}, with conflicts: {machine.conflicts}")  # type: ignore[attr-defined]


@pytest.fixture
def shop(place: Path) -> Iterator[matref.Workshop]:
    with matref.open(place) as opened:
        yield opened


def test_no_cell_that_leaves_is_a_formula(shop: matref.Workshop) -> None:
    """The signs that spreadsheets begin a formula with (OWASP, CSV injection): = + - @ tab and carriage return."""
    kept = {}
    for word in OFTEN:
        try:
            sample = shop.samples.add(word, word, grammage=80)
        except BadInput:
            continue
        kept[sample.id] = sample
    rows = list(csv.reader(io.StringIO(table(shop).decode("utf-8-sig"), newline="")))
    assert len(rows) == 1 + len(kept)
    for row in rows:
        for cell in row:
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
            assert not cell.lstrip().startswith(("=", "+", "-", "@"))
    report = shop.samples.import_csv(io.BytesIO(table(shop)))
    assert report.number("skipped") == len(kept)


def test_a_spreadsheet_may_have_been_at_it(shop: matref.Workshop) -> None:
    """Semicolons, decimal commas, columns in another order and blank rows: still the same samples."""
    kept = [shop.samples.add(f"leaf {i}", size="A4", sheets=20, mass=f"98,{i} g") for i in range(4)]
    rows = list(csv.DictReader(io.StringIO(table(shop).decode("utf-8-sig"), newline="")))
    out = io.StringIO(newline="")
    names = list(reversed(rows[0]))
    writer = csv.DictWriter(out, names, delimiter=";", lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow(row)
        out.write(";" * (len(names) - 1) + "\r\n")
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "cp1252"):
        report = shop.samples.import_csv(io.BytesIO(out.getvalue().encode(encoding)))
        assert report.number("skipped") == len(kept) == len(report.rows)
