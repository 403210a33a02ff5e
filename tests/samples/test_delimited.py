"""Tables as text: what the standard library's and pandas' readers make of them, and what is refused."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.errors import BadInput
from matref.samples import delimited
from matref.samples.delimited import Row, open_table

CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
FILLED = st.lists(st.lists(CELL, min_size=3, max_size=3).filter(lambda row: any(c.strip() for c in row)), max_size=5)


def rows_of(content: bytes) -> tuple[tuple[str, ...], list[Row]]:
    with open_table(io.BytesIO(content)) as table:
        return table.heading, list(table.rows)


def written(rows: list[list[str]], separator: str) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=separator).writerows(rows)
    return text.getvalue()


@settings(deadline=None)
@given(FILLED, st.sampled_from([",", ";", "\t"]), st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
def test_cells_come_back_exactly_as_the_standard_library_wrote_them(
    rows: list[list[str]], separator: str, encoding: str
) -> None:
    heading, found = rows_of(written([["label", "note", "mass"], *rows], separator).encode(encoding))
    assert heading == ("label", "note", "mass")
    assert [list(row.cells) for row in found] == rows


@settings(deadline=None)
@given(FILLED)
def test_lines_are_where_a_text_editor_shows_them(rows: list[list[str]]) -> None:
    """A row begins on the line after all the line ends that come before it, those within cells included."""
    text = written([["label", "note", "mass"]], ",")
    begins = []
    for row in rows:
        before = text.replace("\r\n", "\n").replace("\r", "\n")
        begins.append(before.count("\n") + 1)
        text += written([row], ",")
    _, found = rows_of(text.encode())
    assert [row.line for row in found] == begins


def test_pandas_reads_the_same(tmp_path: Path) -> None:
    """pandas.read_csv as a second reader of quotes within quotes and separators within cells."""
    text = 'label;size;note\n"a; b";"8.5"" x 11""";"two\nlines"\nplain;A4;\n'
    (place := tmp_path / "table.csv").write_bytes(text.encode("utf-8-sig"))
    frame = pd.read_csv(place, sep=";", keep_default_na=False)
    with open_table(place) as table:
        assert list(table.heading) == list(frame.columns)
        assert [list(row.cells) for row in table.rows] == frame.to_numpy().tolist()
        assert (table.separator, table.encoding) == ("semicolon", "UTF-8")


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        ("µ".encode(), "UTF-8"),
        ("µ".encode("utf-8-sig"), "UTF-8"),
        ("µ".encode("utf-16"), "UTF-16"),
        (b"\xfe\xff" + "µ".encode("utf-16-be"), "UTF-16"),
        ("µ".encode("cp1252"), "Windows-1252"),
        (b"plain", "UTF-8"),
    ],
)
def test_the_encoding_is_found(content: bytes, encoding: str) -> None:
    with open_table(io.BytesIO(content)) as table:
        assert table.encoding == encoding
        assert table.heading in (("µ",), ("plain",))


def test_a_sign_cut_by_the_end_of_a_chunk_stays_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delimited, "_CHUNK", 3)
    for encoding in ("utf-8", "utf-16"):
        heading, rows = rows_of("aµ,b\nµµ,€µ\n".encode(encoding))
        assert (heading, rows[0].cells) == (("aµ", "b"), ("µµ", "€µ"))


def test_utf_16_cut_short_is_no_text() -> None:
    with pytest.raises(BadInput, match="not text in an encoding"):
        rows_of("label,mass\n".encode("utf-16")[:-1])


def test_bytes_that_are_not_utf_8_only_late_in_the_file_make_all_of_it_windows_1252() -> None:
    _, rows = rows_of(b"label\n" + b"plain\n" * 300_000 + "Schöpfbütte\n".encode("cp1252"))
    assert len(rows) == 300_001
    assert rows[-1].cells == ("Schöpfbütte",)


def test_blank_rows_count_as_lines_but_not_as_rows() -> None:
    _, rows = rows_of(b"a,b\n,\n\nx,y\n , \nz,\n")
    assert [(row.line, row.cells) for row in rows] == [(4, ("x", "y")), (6, ("z", ""))]


def test_rows_are_read_as_they_are_asked_for() -> None:
    with open_table(io.BytesIO(b"a,b\n1,2\n3,4\n")) as table:
        assert next(table.rows).cells == ("1", "2")


def test_the_largest_table(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delimited, "MOST_BYTES", 10)
    assert rows_of(b"a,b\n1,2\n34")[1][-1].cells == ("34",)
    with pytest.raises(BadInput, match="larger than"):
        rows_of(b"a,b\n1,2\n345")


def test_a_heading_that_cannot_be_read() -> None:
    with pytest.raises(BadInput, match="line 2: the heading cannot be read"):
        rows_of(b'\n"label,mass\n')
