"""The reader of pages agrees with SQLite on whole files, and saves what is left of damaged ones."""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from durability.scale import times
from durability.soundness import PERSONAL, assert_nothing_half_counted, assert_sound, rows

import matref
from matref.errors import FileTrouble
from matref.finished import FinishedBooks
from matref.pages import Pages, Unreadable, record, varint
from matref.salvage import salvage


@pytest.fixture
def busy(place: Path) -> Path:
    """A file with something in every personal table, long notes and former versions included."""
    with matref.open(place) as shop:
        for i in range(120):
            shop.samples.add(
                f"Ölzeug {i}",
                "n\n" * (i * 37),
                paper_class="copier",
                grammage=77 + i % 7,
                stack_sheets=100,
                stack="1 cm",
            )
        shop.samples.edit("Ölzeug 5", mass="98 g", sheets=20, size="A4")
        shop.samples.edit("Ölzeug 5", note="again")
        shop.samples.remove("Ölzeug 6")
        shop.stock.add("cloth", "600 x 450 mm", price=12.7, note="x" * 1500)
        FinishedBooks(shop.connection).add(
            sheets_per_section=4, sections=8, thread="30/3 linen", caliper_um=104, fore_edge_mm=6.4, note="k" * 9000
        )
        shop.connection.execute("INSERT INTO setting VALUES ('habit', 'clips')")
        shop.connection.commit()
    return place


@pytest.mark.parametrize("page_size", [512, 1024, 4096, 65536])
@pytest.mark.parametrize("by_rowid", [False, True])
def test_pages_are_read_as_sqlite_reads_them(tmp_path: Path, page_size: int, by_rowid: bool) -> None:
    """SQLite itself is the reference: all kinds of values, rows that overflow their page, both kinds of table."""
    chance = random.Random(page_size)
    place = tmp_path / "x.db"
    tail = "" if by_rowid else ", WITHOUT ROWID"
    lines = []
    for i in range(times(300, 3000)):
        long = chance.choice([0, 3, 60, 128, 400, page_size, 3 * page_size + chance.randrange(90), 9 * page_size])
        number = chance.choice([0, 1, -1, 127, -129, 2**15, -(2**23), 2**31, 2**47, -(2**63), 2**63 - 1])
        real = chance.choice([0.1 + 0.2, 1e300, -5e-324, 2.5, None])
        lines.append((f"key {i}", number, real, "é" * (long // 2), chance.randbytes(long) if i % 3 else None))
    with closing(sqlite3.connect(place)) as connection:
        connection.execute(f"PRAGMA page_size = {page_size}")
        connection.execute(f"CREATE TABLE pile (id TEXT PRIMARY KEY, n INTEGER, r REAL, t TEXT, b BLOB) STRICT{tail}")
        connection.executemany("INSERT INTO pile VALUES (?, ?, ?, ?, ?)", lines)
        connection.execute("DELETE FROM pile WHERE n = 127")
        connection.execute("UPDATE pile SET t = t || 'longer' WHERE n = -1")
        connection.commit()
        root = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'pile'").fetchone()[0]
        expected = connection.execute("SELECT * FROM pile ORDER BY id").fetchall()
    pages = Pages(place.read_bytes())
    assert sorted(pages.rows(root), key=repr) == sorted(expected, key=repr)
    assert (pages.lost, pages.torn) == (set(), 0)


def test_the_log_is_read_as_sqlite_reads_it(busy: Path, tmp_path: Path) -> None:
    """Committed pages of the write-ahead log count; what follows a broken frame does not."""
    with closing(sqlite3.connect(busy)) as connection:
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        for i in range(5):
            connection.execute("INSERT INTO setting VALUES (?, ?)", (f"k{i}", "v" * 900))
            connection.commit()
        connection.execute("INSERT INTO setting VALUES ('not committed', 'x')")
        content, log = busy.read_bytes(), busy.with_name(busy.name + "-wal").read_bytes()
        connection.rollback()
        root = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'setting'").fetchone()[0]
    settings = sorted(str(key) for key, _ in Pages(content, log).rows(root))
    assert settings == ["habit", *(f"k{i}" for i in range(5))]
    for cut in (len(log) - 100, len(log) // 2, 40, 0):
        (tmp_path / "cut.db").write_bytes(content)
        (tmp_path / "cut.db-wal").write_bytes(log[:cut])
        ours = sorted(Pages(content, log[:cut]).rows(root), key=repr)
        with closing(sqlite3.connect(tmp_path / "cut.db")) as connection:
            assert ours == connection.execute("SELECT * FROM setting ORDER BY key").fetchall()
    spoilt = bytearray(log)
    spoilt[len(log) // 2] ^= 4
    assert len(list(Pages(content, bytes(spoilt)).rows(root))) < 6


def test_a_whole_file_is_saved_exactly(busy: Path, tmp_path: Path) -> None:
    target = tmp_path / "saved.db"
    before = busy.read_bytes()
    saved = salvage(busy, target)
    assert busy.read_bytes() == before
    for table in (*PERSONAL, "pile_line", "sample_total", "held_both_ways"):
        assert rows(target, table) == rows(busy, table), table
    assert saved.rows == {name: len(rows(busy, name)) for name in saved.rows}
    assert set(saved.rows) == set(PERSONAL)
    assert (saved.pages_unreadable, saved.rows_unreadable, saved.rows_from_loose_pages) == (0, 0, 0)
    assert_sound(target)
    assert_nothing_half_counted(target)


def test_what_only_the_log_holds_is_saved(busy: Path, tmp_path: Path) -> None:
    with matref.open(busy) as shop:
        shop.samples.add("last of all", grammage=80)
        for end in ("", "-wal"):
            shutil.copy(f"{busy}{end}", tmp_path / f"copy.db{end}")
    with (tmp_path / "copy.db").open("r+b") as file:
        file.write(b"?" * 90)
    salvage(tmp_path / "copy.db", tmp_path / "saved.db")
    assert "last of all" in {s.label for s in assert_sound(tmp_path / "saved.db").values()}


def test_without_its_first_page_every_row_is_found_and_no_other(busy: Path, tmp_path: Path) -> None:
    """The list of tables is gone: rows are known by their shape, and none of the catalogue's is taken for one."""
    content = bytearray(busy.read_bytes())
    content[:4096] = bytes(4096)
    broken = tmp_path / "broken.db"
    broken.write_bytes(content)
    saved = salvage(broken, tmp_path / "saved.db")
    for table in ("sample", "sample_history", "stock", "finished_book"):
        assert rows(tmp_path / "saved.db", table) == rows(busy, table), table
    assert saved.rows_from_loose_pages == sum(saved.rows.values())


def test_what_is_saved_was_there(busy: Path, tmp_path: Path) -> None:
    """However the file is damaged: every row saved is a row that was, but for flipped bits within its text."""
    chance = random.Random(7)
    content = busy.read_bytes()
    before = {row[0]: row for row in rows(busy, "sample")}
    for i in range(times(3, 120)):
        spoilt = bytearray(content)
        for _ in range(chance.choice([1, 3, 12])):
            start = chance.randrange(len(spoilt) - 4096)
            spoilt[start : start + 4096] = bytes(4096)
        if chance.random() < 0.5:
            del spoilt[int(len(spoilt) * (1 - chance.random() / 20)) :]
        broken, target = tmp_path / f"broken {i}.db", tmp_path / f"saved {i}.db"
        broken.write_bytes(spoilt)
        said = ""
        try:
            garbled = salvage(broken, target).rows_garbled
        except FileTrouble as error:
            said = str(error)
        assert target.exists() != ("can be read" in said), said
        gaps = 0
        for row in rows(target, "sample") if target.exists() else []:
            then = before[row[0]]
            if row != then:
                gaps += 1
                assert all("\ufffd" in str(now) for now, was in zip(row, then, strict=True) if now != was)
        if target.exists():
            assert gaps <= garbled


def test_nothing_to_save_makes_nothing(place: Path, tmp_path: Path) -> None:
    for content in (b"", b"tide tables", place.read_bytes(), bytes(100_000)):
        broken = tmp_path / "broken.db"
        broken.write_bytes(content)
        with pytest.raises(FileTrouble, match="can be read"):
            salvage(broken, tmp_path / "saved.db")
        assert not (tmp_path / "saved.db").exists()


def test_numbers_and_rows_that_do_not_add_up() -> None:
    assert varint(b"\xff" * 9, 0) == (2**64 - 1, 9)
    for payload in (b"", b"\x05\x01", b"\x02\x0a\x00", b"\x02\x06\x00", b"\x02\x01\x07\x07"):
        with pytest.raises((Unreadable, IndexError)):
            record(payload)
