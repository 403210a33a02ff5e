"""Very large input: refused or taken with little memory, and without waiting for ever."""

from __future__ import annotations

import json
import os
import resource
from collections.abc import Callable
from pathlib import Path

import pytest
from durability.attack import attack
from durability.scale import LONG, told
from durability.soundness import assert_sound

from matref.cli import main

MB = 1_000_000
_ROW = b"leaf,A4,20,98 g,copier\n"
_HEAD = b"label,size,sheets,mass,class\n"


def _repeat(head: bytes, row: bytes, size: int) -> Callable[[Path], None]:
    def write(place: Path) -> None:
        block = row * max(1, MB // len(row))
        with place.open("wb") as file:
            file.write(head)
            while file.tell() < size - len(block):
                file.write(block)

    return write


_WIDE = b",".join(b"c%d" % i for i in range(10_000)) + b"\n"
_PILE = _HEAD.replace(b"\n", b",same_as\n") + b"first,A4,20,98 g,copier,\n"
_GRADED = b"label,grammage,size,sheets,mass\n"
TABLES: dict[str, tuple[Callable[[Path], None], str]] = {
    "a hundred megabytes of rows": (_repeat(_HEAD, _ROW, 100 * MB), "more than 100000 rows"),
    "more than a hundred": (_repeat(_HEAD, _ROW, 103 * MB), "larger than 100 MB"),
    "one line without end": (_repeat(b"label,note\n", b"n" * MB, 90 * MB), "longer than a million"),
    "one heading without end": (_repeat(b"", b"n" * MB, 90 * MB), "longer than a million"),
    "ten thousand columns": (_repeat(_WIDE, b"1," * 99 + b"\n", MB), "10000 columns"),
    "ten thousand cells a row": (_repeat(_HEAD, b"x," * 10_000 + b"\n", 40 * MB), "without a heading"),
    "one open quote": (_repeat(_HEAD + b'"', _ROW, 60 * MB), "cannot be read"),
    "nothing but quotes": (_repeat(_HEAD, b'"' * 999 + b"\n", 30 * MB), "999 characters"),
    "blank lines": (_repeat(b"", b"\n", 60 * MB), "3000000 lines"),
    "blank rows": (_repeat(_HEAD, b",,,,\n", 60 * MB), "3000000 lines"),
    "zeros": (_repeat(b"", bytes(1000), 60 * MB), "NUL"),
    "contradictions": (_repeat(_GRADED, b"leaf,300,A4,20,98 g\n", 2 * MB), "bad rows of 50000"),
    "one pile": (_repeat(_PILE, _ROW.replace(b"\n", b",first\n"), 2 * MB), "more than 100 samples"),
}
_MOST_KB = 300_000


def peak_kb() -> int:
    """Return the most memory that this process has held so far, kB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the memory of a process is measured, here a forked one")
@pytest.mark.parametrize("name", TABLES)
def test_a_large_table(name: str, place: Path, tmp_path: Path) -> None:
    make, expected = TABLES[name]
    table = tmp_path / "large.csv"
    make(table)

    def work() -> None:
        before_kb = peak_kb()  # a forked process begins with what the tests before have left in memory
        code = main(["--db", str(place), "sample", "import", str(table), "--json"])
        print(json.dumps([code, peak_kb() - before_kb]))

    heard = attack(work, None)
    code, more_kb = json.loads(heard.said.decode().splitlines()[-1])
    line = heard.complaint.decode()
    assert code == 2, line[:500]
    assert line.count("\n") == 1
    assert expected in line
    assert len(line) < 20_000
    assert more_kb < _MOST_KB
    assert assert_sound(place) == {}
    told(f"{name}: {table.stat().st_size / MB:.0f} MB, {more_kb / 1000:.0f} MB of memory")


@pytest.mark.skipif(not LONG, reason="for the long run")
def test_a_hundred_thousand_rows_with_long_notes(place: Path, tmp_path: Path) -> None:
    table = tmp_path / "large.csv"
    with table.open("w", encoding="utf-8") as file:
        file.write("label,size,sheets,mass,class,note\n")
        for i in range(90_000):
            file.write(f"leaf {i},A4,20,{98 + i % 5} g,copier,{'n' * 1000}\n")

    def work() -> None:
        before_kb = peak_kb()
        code = main(["--db", str(place), "sample", "import", str(table)])
        print(json.dumps([code, peak_kb() - before_kb]))

    heard = attack(work, None)
    code, more_kb = json.loads(heard.said.decode().splitlines()[-1])
    assert code == 0, heard.complaint
    assert len(assert_sound(place)) == 90_000
    assert more_kb < 2 * _MOST_KB
    told(f"90000 rows, {table.stat().st_size / MB:.0f} MB: taken, {more_kb / 1000:.0f} MB of memory")
