"""Disks that are full, folders that may not be written to, files that are something else or damaged.

Every time: one clear line, the original byte for byte as it was, and the way back named.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import random
import resource
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest
from command_line import Run, refused
from durability.attack import attack
from durability.scale import times, told
from durability.soundness import assert_sound, rooms, rows

import matref
from matref import workshop
from matref.cli import main
from matref.migrations import MIGRATIONS

ADD = ("sample", "add", "--grammage", "80", "--stack-sheets", "100", "--stack", "10.5 mm", "--class", "copier")
LOOKS = (("caliper", "--grammage", "80"), ("sample", "list"), ("find", "linen"), ("info",), ("check",), ADD)


def digest(place: Path) -> str:
    return hashlib.sha256(place.read_bytes()).hexdigest()


def fill(place: Path, samples: int, note: str = "") -> None:
    with matref.open(place) as shop:
        for i in range(samples):
            shop.samples.add(f"leaf {i}", note or f"note {i}", grammage=60 + i % 40, stack_sheets=100, stack=10.5)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 6 MB, where this system lets us have one."""
    disk = tmp_path / "stick"
    disk.mkdir()
    options = ["mount", "-t", "tmpfs", "-o", "size=6m", "tmpfs", str(disk)]
    try:
        mounted = subprocess.run(options, capture_output=True, check=False).returncode == 0
    except OSError:
        mounted = False
    if not mounted:
        pytest.skip("no leave to mount a small disk here; the limit on file sizes is tried instead")
    yield disk
    subprocess.run(["umount", "-l", str(disk)], check=True)


def test_a_full_disk_refuses_and_keeps_what_was_there(run: Run, compiled: Path, small_disk: Path) -> None:
    place = Path(shutil.copy(compiled, small_disk / "matref.db"))
    db = ("--db", str(place))
    fill(place, 20)
    before = rows(place, "sample")
    ballast = small_disk / "ballast"
    with suppress(OSError), ballast.open("wb", buffering=0) as file:
        while file.write(b"b" * 4096) == 4096:
            pass
    for command in (ADD, ("backup", str(small_disk / "copy.db")), ("sample", "export", str(small_disk / "out.csv"))):
        refused(run(*db, *command), "space")
    for look in (("sample", "list", "--json"), ("caliper", "--grammage", "80"), ("info",), ("check",)):
        outcome = run(*db, *look)
        assert outcome.code in (0, 2), outcome
        assert outcome.err.count("\n") <= 1
    assert sorted(p.name for p in small_disk.iterdir() if "-" not in p.name) == ["ballast", "matref.db"]
    ballast.unlink()
    assert rows(place, "sample") == before
    assert run(*db, *ADD).code == 0
    assert len(assert_sound(place)) == 21
    assert run(*db, "backup", str(small_disk / "copy.db")).code == 0
    assert rooms(small_disk) == []


def test_a_disk_that_fills_while_many_samples_are_added(compiled: Path, small_disk: Path) -> None:
    place = Path(shutil.copy(compiled, small_disk / "matref.db"))
    told_of = 0
    with matref.open(place) as shop:
        for _ in range(10_000):
            try:
                shop.samples.add("leaf", "n" * 9000, grammage=80)
            except matref.errors.FileTrouble as error:
                said = str(error)
                break
            told_of += 1
        else:
            pytest.fail("the disk never filled")
    assert "disk" in said
    assert told_of > 5
    with closing(sqlite3.connect(place)) as connection:
        assert connection.execute("SELECT count(*) FROM sample").fetchone()[0] == told_of
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the limit holds for a process, here a forked one")
@pytest.mark.parametrize("room", [0, 20_000, 90_000, 300_000])
def test_files_that_may_not_grow(place: Path, room: int) -> None:
    """As on a full disk or with a quota: the write fails somewhere in the middle of a file."""
    fill(place, 3)
    most = place.stat().st_size + room

    def work() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        for _ in range(60):
            code = main(["--db", str(place), *ADD, "--note", "n" * 9000, "--json"])
            if code:
                break

    heard = attack(work, None)
    lines = [line for line in heard.complaint.decode().splitlines() if line.startswith("error:")]
    kept = assert_sound(place)
    assert {a["id"] for a in heard.answers()} == set(kept) - {s for s, v in kept.items() if v.label}
    assert len(lines) <= 1
    assert all("disk" in line for line in lines), lines
    others = [line for line in heard.complaint.decode().splitlines() if not line.startswith("error:")]
    assert others == []


@pytest.mark.parametrize("pages", [1, 5, 40])
def test_every_write_past_a_limit_is_taken_back_whole(place: Path, pages: int) -> None:
    """SQLite's own limit (PRAGMA max_page_count) gives SQLITE_FULL at any point of a transaction."""
    fill(place, 5)
    with matref.open(place) as shop:
        now = shop.connection.execute("PRAGMA page_count").fetchone()[0]
        shop.connection.execute(f"PRAGMA max_page_count = {now + pages}")
        kept = 5
        said = ""
        while not said:
            try:
                shop.samples.add("leaf", "n" * 9000, grammage=80)
                kept += 1
            except matref.errors.FileTrouble as error:
                said = str(error)
        assert "does not fit on the disk" in said
        assert shop.samples.list()  # and the shop goes on
    assert len(assert_sound(place)) == kept


@pytest.mark.skipif(os.name != "posix" or not hasattr(os, "fork"), reason="modes and users of POSIX")
@pytest.mark.parametrize("log", [False, True])
def test_a_folder_without_leave_to_write(place: Path, log: bool) -> None:
    fill(place, 3)
    if log:  # somebody else has it open
        other = sqlite3.connect(place)
        other.execute("INSERT INTO setting VALUES ('a', 'b')")
        other.commit()
    for parent in list(place.parents)[:-2]:
        parent.chmod(0o755)
    place.chmod(0o644)
    place.parent.chmod(0o555)
    before = digest(place)

    def work() -> None:
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
        print([main(["--db", str(place), *words]) for words in (("sample", "list"), ADD, ("check",))])

    # as root the work is done by another user, who must be able to read the program itself
    readable = all(folder.stat().st_mode & 0o005 == 0o005 for folder in Path(matref.__file__).parents)
    if os.geteuid() == 0 and readable:
        heard = attack(work, None)
        place.parent.chmod(0o755)
        lines = heard.complaint.decode().splitlines()
        assert all(line.startswith("error:") for line in lines), lines
        assert "leave to write" in lines[-1] or "leave to write" in lines[0]
        assert any("matref backup" in line or "leave to write" in line for line in lines)
        assert heard.said.decode().splitlines()[-1] in ("[0, 2, 0]", "[2, 2, 2]")
    place.parent.chmod(0o755)
    assert digest(place) == before
    if log:
        other.close()


def damaged(place: Path, how: str, chance: random.Random) -> None:
    content = bytearray(place.read_bytes())
    if how == "cut":
        del content[int(len(content) * chance.choice([chance.random(), 1 - chance.random() / 100])) :]
    elif how == "bits":
        for _ in range(chance.choice([1, 10, 300])):
            content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    elif how == "zeros":
        start = chance.randrange(len(content))
        content[start : start + 20_000] = bytes(len(content[start : start + 20_000]))
    elif how == "header":
        many = chance.choice([16, 100, 4096])
        content[:many] = chance.randbytes(many)
    elif how == "text":
        content = bytearray(b"tide tables, four sheets a section\n" * 300)
    else:
        content = bytearray(chance.randbytes(len(content)))
    place.write_bytes(content)


@pytest.mark.parametrize("how", ["cut", "bits", "zeros", "header", "text", "noise"])
def test_damage_is_told_in_one_line_and_never_made_worse(run: Run, compiled: Path, tmp_path: Path, how: str) -> None:
    chance = random.Random(how)
    sound = Path(shutil.copy(compiled, tmp_path / "sound.db"))
    fill(sound, 40)
    saved_all = refusals = 0
    for i in range(times(3, 40)):
        place = Path(shutil.copy(sound, tmp_path / f"shop {i}.db"))
        damaged(place, how, chance)
        before = digest(place)
        for look in LOOKS[:-1]:
            outcome = run("--db", str(place), *look)
            assert outcome.code in (0, 1, 2), outcome
            if outcome.code == 2:
                assert outcome.err.count("\n") == 1
                assert "shop" in outcome.err
                refusals += 1
            elif outcome.code == 1:
                assert outcome.err.count("\n") <= 1
                assert "unexpected" not in outcome.err, outcome
        assert digest(place) == before, "looking at a damaged file changed it"
        target = tmp_path / f"saved {i}.db"
        saved = run("--db", str(place), "check", "--salvage", str(target), "--json")
        if saved.code == 2:
            assert saved.err.count("\n") == 1
            assert not target.exists()
        else:
            kept = assert_sound(target)
            assert saved.json()["rows"]["sample"] == len(kept) <= 40
            saved_all += len(kept)
        assert digest(place) == before, "salvaging changed the file"
    if how in ("text", "noise"):
        assert saved_all == 0
        assert refusals > 0
    if how in ("bits", "zeros", "header"):
        assert saved_all > 0.6 * 40 * times(3, 40)
    told(f"damage {how}: {saved_all} of {40 * times(3, 40)} samples saved, {refusals} refusals")
    assert rooms(tmp_path) == []


def test_the_lines_name_the_way_back(run: Run, place: Path, tmp_path: Path) -> None:
    fill(place, 2)
    content = place.read_bytes()
    place.write_bytes(content[:-9000])
    refused(run("--db", str(place), "sample", "list"), "damaged or cut short", "backup", "check --salvage")
    place.write_bytes(b"x" * 100 + content[100:])
    refused(run("--db", str(place), *ADD), "is not a matref file", "backup", "check --salvage")
    place.write_bytes(content)
    refused(run("--db", str(place), "check", "--salvage", str(place)), "exists already")
    with closing(sqlite3.connect(place)) as connection:
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 3}")
    before = digest(place)
    for look in (*LOOKS, ("check", "--salvage", str(tmp_path / "new.db")), ("backup", str(tmp_path / "b.db"))):
        refused(run("--db", str(place), *look), "newer matref", "brought up to date")
    assert digest(place) == before
    refused(run("--db", str(tmp_path / "no" / "folder" / "x.db"), *ADD), "existing folder")
    refused(run("--db", str(tmp_path / "none.db"), "check", "--salvage", "x.db"), "none.db")
    assert sorted(p.name for p in tmp_path.iterdir()) == [place.parent.name]


def test_a_packed_file_is_told_too(run: Run, place: Path) -> None:
    place.write_bytes(gzip.compress(place.read_bytes()))
    refused(run("--db", str(place), "sample", "list"), "is not a matref file")


def test_awkward_names_work_throughout(run: Run, place: Path) -> None:
    folder = place.parent
    assert run("--db", str(place), *ADD, "--label", "Ölzeug – κύμα").code == 0
    copy, table = folder / "Sicherung ñ (2).db", folder / "Liste 50%#?.csv"
    assert run("--db", str(place), "backup", str(copy)).code == 0
    assert run("--db", str(copy), "sample", "export", str(table)).code == 0
    assert run("--db", str(copy), "sample", "import", str(table)).code == 0
    assert run("--db", str(copy), "check", "--salvage", str(folder / "gerettet – ß.db")).code == 0
    assert [s.label for s in assert_sound(folder / "gerettet – ß.db").values()] == ["Ölzeug – κύμα"]


def test_check_tells_the_way_back_for_damage_inside(run: Run, place: Path) -> None:
    fill(place, 60, "n" * 2000)
    with closing(sqlite3.connect(place)) as connection:
        root = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'sample'").fetchone()[0]
    with place.open("r+b") as file:
        file.seek((root - 1) * 4096)
        file.write(b"\xff" * 64)
    assert not workshop.check(place).ok
    outcome = run("--db", str(place), "check")
    assert (outcome.code, outcome.err) == (1, "")
    assert "check --salvage" in outcome.out
    target = place.with_name("saved.db")
    saved = run("--db", str(place), "check", "--salvage", str(target), "--json").json()
    assert saved["rows"]["sample"] == saved["rows_from_loose_pages"] == 60
    assert saved["pages_unreadable"] == 1
