"""Samples from hand to hand: export, import, conflicts, and whatever a spreadsheet does to a table."""

from __future__ import annotations

import csv
import io
import os
import threading
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from personal_shop import numbers

import matref
from matref.api import Workshop
from matref.errors import BadInput, FileTrouble
from matref.samples import ImportRefused, exporting, importing
from matref.samples.draft import EVIDENCE

HEAD = "label,size,sheets,mass,stack_sheets,stack\n"
GOOD = HEAD + "tide tables,A4,20,98 g,100,10.5 mm\nledger,A4,10,55 g,,\n"


def fill(shop: Workshop) -> None:
    first = shop.samples.add("ledger", note="price 2.50", paper_class="ledger", size="A4", sheets=20, mass="108 g")
    shop.samples.add(
        '8.5" sheets; "odd", cut', same_as=first.id, stack_sheets=50, stack="6 mm", measured_on="2024-02-29"
    )
    shop.samples.add("=SUM(A1)", paper_class="copier,bond_writing", grammage="20 lb bond", note="-2 of these\n@home")


def exported(shop: Workshop, **options: bool) -> str:
    text = io.StringIO()
    shop.samples.export_csv(text, **options)
    return text.getvalue()


def table(text: str) -> io.BytesIO:
    return io.BytesIO(text.encode())


def test_a_round_trip_is_exact(shop: Workshop, other_shop: Workshop, tmp_path: Path) -> None:
    fill(shop)
    target = tmp_path / "samples.csv"
    assert shop.samples.export_csv(target, with_notes=True) == 3
    report = other_shop.samples.import_csv(target)
    assert report.applied
    assert (report.encoding, report.separator, report.number("added")) == ("UTF-8", "comma", 3)
    for mine, theirs in zip(shop.samples.list(), other_shop.samples.list(), strict=True):
        assert (theirs.id, theirs.label, theirs.note, theirs.typed) == (mine.id, mine.label, mine.note, mine.typed)
        assert (theirs.pile_id, theirs.measured_on) == (mine.pile_id, mine.measured_on)
        assert (theirs.grammage_gsm, theirs.caliper_um) == (mine.grammage_gsm, mine.caliper_um)
    assert exported(other_shop, with_notes=True) == exported(shop, with_notes=True)
    assert numbers(other_shop) == numbers(shop)


def test_what_is_here_already_is_skipped(shop: Workshop) -> None:
    fill(shop)
    before = numbers(shop)
    for with_notes in (False, True):
        report = shop.samples.import_csv(table(exported(shop, with_notes=with_notes)))
        assert report.number("skipped") == 3
    assert numbers(shop) == before
    shop.samples.import_csv(table(GOOD))
    assert shop.samples.import_csv(table(GOOD)).number("skipped") == 2  # known by being the same, without an id


def test_a_withdrawn_sample_stays_withdrawn(shop: Workshop) -> None:
    kept = shop.samples.add("ledger", size="A4", sheets=20, mass="108 g")
    text = exported(shop)
    shop.samples.remove(kept.id)
    (row,) = shop.samples.import_csv(table(text)).rows
    assert row.outcome == "skipped"
    assert "withdrawn" in row.said[0]
    assert shop.samples.list() == []


def test_a_conflict_keeps_everything_out(shop: Workshop, other_shop: Workshop) -> None:
    fill(shop)
    other_shop.samples.import_csv(table(exported(shop)))
    other_shop.samples.edit("ledger", mass="109 g")
    text = exported(other_shop) + "kept-nowhere,new one,2024-01-01,,,80" + "," * (len(EVIDENCE) - 2) + "\r\n"
    before = [s.as_json() for s in shop.samples.list()]
    with pytest.raises(
        ImportRefused, match=r"nothing imported, 1 bad row of 4: line 2: .* with another mass"
    ) as caught:
        shop.samples.import_csv(table(text))
    assert [row.outcome for row in caught.value.report.rows] == ["conflict", "skipped", "skipped", "added"]
    assert [s.as_json() for s in shop.samples.list()] == before
    assert isinstance(caught.value, BadInput)


def test_a_preview_tells_every_row_and_writes_nothing(shop: Workshop) -> None:
    text = GOOD + "odd,A4,20,,,\nodder,A4,twenty,98 g,,\n\nfifth,A4,20,98 g,1,2,3\n"
    report = shop.samples.import_csv(table(text), apply=False)
    assert not report.applied
    assert [(row.line, row.outcome) for row in report.rows] == [
        (2, "added"),
        (3, "added"),
        (4, "refused"),
        (5, "refused"),
        (7, "refused"),
    ]
    assert "without their mass" in report.rows[2].said[0]
    assert "twenty" in report.rows[3].said[0]
    assert "column without a heading" in report.rows[4].said[0]
    assert all(row.sample_id is None for row in report.rows)
    assert shop.samples.list() == []
    with pytest.raises(ImportRefused, match=r"line 4: .* \| line 5: .* \| line 7: ") as caught:
        shop.samples.import_csv(table(text))
    assert "\n" not in str(caught.value)
    assert shop.samples.list() == []


def test_rows_are_counted_by_lines_of_the_file(shop: Workshop) -> None:
    """RFC 4180: a quoted cell may hold line ends; a row is named by the line it begins on."""
    text = '\n\nlabel,note,grammage\nfirst,"two\nlines",80\nsecond,,none\n'
    report = shop.samples.import_csv(table(text), apply=False)
    assert [(row.line, row.outcome) for row in report.rows] == [(4, "added"), (6, "refused")]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(shop: Workshop, separator: str, encoding: str, end: str) -> None:
    rows = (("Label", "Stack sheets", "STACK", "with", "Class"), ("café", "50", "0,55 cm", "vernier", "ledger"))
    text = "".join(separator.join(f'"{cell}"' if "," in cell else cell for cell in row) + end for row in rows)
    report = shop.samples.import_csv(io.BytesIO(text.encode(encoding)))
    (kept,) = shop.samples.list()
    assert (kept.label, kept.parsed["stack_mm"], kept.class_id) == ("café", 5.5, "ledger")
    assert kept.typed["with_"] == "vernier"
    assert bool(report.notes) == (encoding == "cp1252")
    assert report.encoding == {"cp1252": "Windows-1252", "utf-16": "UTF-16"}.get(encoding, "UTF-8")


@pytest.mark.parametrize(
    ("content", "match"),
    [
        (b"", "table is empty"),
        (b"\n ,;\n", "table is empty"),
        (HEAD.encode(), "no rows"),
        (b"label,masss\nx,1\n", '"masss", perhaps meant mass'),
        (b"label,klass\nx,copier\n", '"klass", perhaps meant class'),
        (b"label,label\nx,y\n", "two columns"),
        (b"label,class,paper_class\nx,y,z\n", "two columns"),
        (b"label,mass\nx\x00,1\n", "NUL"),
        ("label,mass\nx,1\n".encode("utf-16-le"), "NUL|headed"),
        (b"label,mass\n\x81\x8d,1\n", "not text in an encoding"),
        (b"SQLite format 3\x00" + bytes(4000), "NUL|headed"),
        (",".join(["label"] * 10_000).encode() + b"\n", "10000 columns"),
        (b"label" + b"," * 9_999 + b"\nx\n", "10000 columns"),
        (b"x" * 3_000_000, "longer than a million"),
    ],
)
def test_what_is_no_table_is_refused(shop: Workshop, content: bytes, match: str) -> None:
    with pytest.raises(BadInput, match=match) as caught:
        shop.samples.import_csv(io.BytesIO(content))
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("row", "match"),
    [
        ('"never closed,A4,20,98 g,,\n', "cannot be read from here on"),
        # what the csv module takes in one field is set for the whole process, and other libraries raise it
        ("x" * 200_000 + ",A4,20,98 g,,\n", "cannot be read from here on|line 4: the label has 200000 characters"),
        ("a\x00b,A4,20,98 g,,\n", "cannot be read from here on: .*NUL"),
    ],
)
def test_a_table_that_breaks_off_is_told_by_its_line(shop: Workshop, row: str, match: str) -> None:
    report = shop.samples.import_csv(table(GOOD + row), apply=False)
    assert [r.outcome for r in report.rows] == ["added", "added", "refused"]
    assert report.rows[2].line == 4
    with pytest.raises(ImportRefused, match=match):
        shop.samples.import_csv(table(GOOD + row))


class Endless(io.RawIOBase):
    """A stream without end, and how much of it was read."""

    def __init__(self) -> None:
        self.taken = 0

    def read(self, size: int = -1) -> bytes:
        self.taken += size
        return b"label,mass\n" if self.taken == size else b"x," + b"1" * (size - 3) + b"\n"


def test_more_than_100_mb_is_refused_without_reading_on(shop: Workshop) -> None:
    stream = Endless()
    with pytest.raises(BadInput, match="larger than 100 MB"):
        shop.samples.import_csv(stream)  # type: ignore[arg-type]
    assert stream.taken < 110_000_000


def test_too_many_rows_are_refused(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importing, "MOST_ROWS", 1)
    with pytest.raises(BadInput, match="more than 1 rows"):
        shop.samples.import_csv(table(GOOD))


def test_a_pipe_will_do(shop: Workshop, tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = threading.Thread(target=pipe.write_text, args=(GOOD,))
    writer.start()
    assert shop.samples.import_csv(pipe).number("added") == 2
    writer.join()


def test_a_missing_file_is_told_in_a_line(shop: Workshop, tmp_path: Path) -> None:
    for path in (tmp_path / "nowhere.csv", tmp_path):
        with pytest.raises(FileTrouble, match=path.name):
            shop.samples.import_csv(path)


def test_piles_come_along(shop: Workshop) -> None:
    """same_as may name an id or a label of the table, before or after, or a sample here; or a pile left behind."""
    here = shop.samples.add("here", paper_class="ledger", size="A4", sheets=20, mass="108 g")
    text = (
        "id,label,same_as,grammage,stack_sheets,stack\n"
        ",second,FIRST-1,,100,12 mm\n"
        "first-1,first,,90,,\n"
        ",third,second,,100,12 mm\n"
        ",fourth,here,,100,13.6 mm\n"
        ",fifth,abcdefghijkl,80,,\n"
    )
    shop.samples.import_csv(table(text))
    piles = {s.label: s.pile_id for s in shop.samples.list()}
    assert piles["first"] == piles["second"] == piles["third"] == "first-1"
    assert piles["fourth"] == here.id
    assert piles["fifth"] == "abcdefghijkl"
    assert shop.connection.execute("SELECT count FROM sample_total WHERE class_id = 'ledger'").fetchone()[0] == 1


@pytest.mark.parametrize(
    ("rows", "match"),
    [
        ("aaaa,a,bbbb,80,,\nbbbb,b,aaaa,80,,\n", "circle"),
        (",a,nobody,80,,\n", "same_as names no sample"),
        ("aaaa,a,,80,,\naaaa,b,,80,,\n", "line 2 too, with other values"),
        ("a b,a,,80,,\n", "is no id"),
        (",a,,80,,\n,a,,80,,\n,b,a,90,,\n", "2 rows are called"),
        (",a,,80,100,10 mm\n,b,a,,100,31 mm\n", "line 3: .*does not fit the rest"),
        (",a,,80,100,310 mm\n", "line 2: .*(does not fit the rest|density)"),
    ],
)
def test_rows_that_contradict_each_other(shop: Workshop, rows: str, match: str) -> None:
    with pytest.raises(ImportRefused, match=match):
        shop.samples.import_csv(table("id,label,same_as,grammage,stack_sheets,stack\n" + rows))
    assert shop.samples.list() == []


def test_a_sample_named_as_its_own_pile_and_twice_the_same_row(shop: Workshop) -> None:
    rows = "aaaa,a,aaaa,80\naaaa,a,aaaa,80\n"
    report = shop.samples.import_csv(table("id,label,same_as,grammage\n" + rows))
    assert [row.outcome for row in report.rows] == ["added", "skipped"]
    assert shop.samples.get("aaaa").pile_id == "aaaa"


def test_a_pile_whose_first_sample_was_withdrawn_travels(shop: Workshop, other_shop: Workshop) -> None:
    first = shop.samples.add("first", paper_class="ledger", size="A4", sheets=20, mass="108 g")
    shop.samples.add("second", same_as="first", stack_sheets=100, stack="13.6 mm")
    shop.samples.remove("first")
    other_shop.samples.import_csv(table(exported(shop)))
    assert other_shop.samples.get("second").pile_id == first.id
    shop.samples.restore("first")
    other_shop.samples.import_csv(table(exported(shop)))
    assert numbers(other_shop) == numbers(shop)


def test_doubtful_rows_are_added_with_their_warning(shop: Workshop) -> None:
    text = "class,grammage,stack_sheets,stack\nledger,90,100,16.5 mm\n"
    (row,) = shop.samples.import_csv(table(text)).rows
    assert row.outcome == "added"
    assert "does not fit" in row.said[0]
    assert row.sample_id == shop.samples.list()[0].id
    (light,) = shop.samples.import_csv(table("size,sheets,mass\nA4,98,20 g\n")).rows
    assert light.outcome == "added"
    assert "sheets and mass are changed round" in light.said[0]


def test_a_crash_in_the_middle_of_an_import_leaves_nothing(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with matref.open(place) as shop:
        before = numbers(shop)
        real, calls = importing.insert, []

        def crash(*arguments: object) -> None:
            calls.append(arguments)
            if len(calls) == 2:
                raise OSError("the stick was pulled out")
            real(*arguments)  # type: ignore[arg-type]

        monkeypatch.setattr(importing, "insert", crash)
        with pytest.raises(FileTrouble, match="stick was pulled out"):
            shop.samples.import_csv(table(GOOD))
        assert len(calls) == 2
        assert shop.samples.list(withdrawn=True) == []
        assert numbers(shop) == before


def test_what_another_adds_meanwhile_counts(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between judging and writing another connection adds a row's sample: the import sees it and skips the row."""
    with matref.open(place) as shop, matref.open(place) as other:
        real, once = importing._refuse_bad, []

        def meanwhile(report: importing.ImportReport) -> None:
            if not once:
                once.append(report)
                other.samples.add("tide tables", size="A4", sheets=20, mass="98 g", stack_sheets=100, stack="10.5 mm")
            real(report)

        monkeypatch.setattr(importing, "_refuse_bad", meanwhile)
        report = shop.samples.import_csv(table(GOOD))
        assert [row.outcome for row in report.rows] == ["skipped", "added"]
        assert len(other.samples.list()) == 2


# export


def test_notes_stay_at_home_unless_asked_for(shop: Workshop) -> None:
    fill(shop)
    assert "price" not in exported(shop)
    assert "price 2.50" in exported(shop, with_notes=True)


def test_no_cell_is_a_formula(shop: Workshop) -> None:
    """OWASP, CSV injection: a cell must not begin with = + - @, tab or carriage return."""
    for label in ("=1+1", "+1", "-1", "@SUM(A1)", "'=1", "''@x", "tide = high", "＝1"):
        shop.samples.add(label, grammage=80, note="\t=2" + label)
    rows = list(csv.reader(io.StringIO(exported(shop, with_notes=True))))
    assert all(cell[:1] not in tuple("=+-@\t\r＝") for row in rows for cell in row if cell)
    assert [row[1] for row in rows[1:]] == [
        "'=1+1",
        "'+1",
        "'-1",
        "'@SUM(A1)",
        "''=1",
        "'''@x",
        "tide = high",
        "'＝1",
    ]


def test_an_export_writes_over_nothing_unasked(shop: Workshop, tmp_path: Path) -> None:
    fill(shop)
    target = tmp_path / "samples.csv"
    target.write_text("somebody's")
    with pytest.raises(FileTrouble, match="exists already"):
        shop.samples.export_csv(target)
    assert target.read_text() == "somebody's"
    shop.samples.export_csv(target, overwrite=True)
    assert "ledger" in target.read_text(encoding="utf-8-sig")
    with pytest.raises(FileTrouble, match="existing folder"):
        shop.samples.export_csv(tmp_path / "no folder" / "x.csv")


@pytest.mark.parametrize("overwrite", [False, True])
def test_a_crash_leaves_no_half_written_file(
    shop: Workshop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, overwrite: bool
) -> None:
    fill(shop)
    target = tmp_path / "shelf" / "samples.csv"
    target.parent.mkdir()
    if overwrite:
        target.write_text("the former table")
    calls = []

    def crash(cell: str) -> str:
        calls.append(cell)
        if len(calls) > 30:
            raise OSError(28, "No space left on device")
        return cell

    monkeypatch.setattr(exporting, "outgoing", crash)
    with pytest.raises(FileTrouble, match="No space left"):
        shop.samples.export_csv(target, overwrite=overwrite)
    assert [p.name for p in target.parent.iterdir()] == (["samples.csv"] if overwrite else [])
    assert not overwrite or target.read_text() == "the former table"


# whatever text there is

PLAIN = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(PLAIN, PLAIN), min_size=1, max_size=3))
@example([("'=", ";"), ('"', ",\t"), ("\ufeff=", "''")])
def test_any_words_survive_the_round_trip(shop: Workshop, other_shop: Workshop, words: list[tuple[str, str]]) -> None:
    added = [shop.samples.add(label, note=note, grammage=80) for label, note in words]
    try:
        text = exported(shop, with_notes=True)
        other_shop.samples.import_csv(table(text))
        for mine in added:
            theirs = other_shop.samples.get(mine.id)
            assert (theirs.label, theirs.note) == (mine.label, mine.note)
        assert shop.samples.import_csv(table(text)).number("skipped") == len(added)
    finally:
        for mine in added:
            shop.samples.remove(mine.id)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.binary(max_size=300) | st.text(max_size=200).map(lambda t: ("label,mass,size\n" + t).encode("utf-8", "replace"))
)
@example(b"\xff\xfe\x00")
@example(b"\xef\xbb\xbf")
@example(b'label,note\n"')
def test_any_bytes_are_taken_or_refused_in_one_line(shop: Workshop, content: bytes) -> None:
    said: list[str] = []
    try:
        report = shop.samples.import_csv(io.BytesIO(content), apply=False)
        said += [line for row in report.rows for line in row.said]
    except BadInput as error:
        said.append(str(error))
    assert not any("\n" in line for line in said)
