"""What killed processes leave behind is cleared away by the next one, and nothing else is."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from durability.soundness import rooms

from matref import workshop
from matref.database import sweep, workroom

HOLD = """
import sys
from pathlib import Path
from matref.database import workroom
with workroom(Path(sys.argv[1])) as room:
    (room / "part.db").touch()
    print(room, flush=True)
    sys.stdin.read()
"""


def age(room: Path) -> None:
    os.utime(room, (time.time() - 3600,) * 2)


def test_a_room_goes_when_its_process_was_killed_and_not_before(tmp_path: Path) -> None:
    command = [sys.executable, "-c", HOLD, str(tmp_path / "copy.db")]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        room = Path(process.stdout.readline().strip())
        age(room)
        sweep(tmp_path)
        assert (room / "part.db").exists(), "somebody is at work in it"
        process.kill()
        process.wait()
        (room / "part.db-wal").touch()
        age(room)
        sweep(tmp_path)
        assert rooms(tmp_path) == []


def test_a_new_room_is_left_alone(tmp_path: Path) -> None:
    with workroom(tmp_path / "copy.db") as room:
        left = tmp_path / ".matref-abcd1234"
        left.mkdir()
        sweep(tmp_path)
        assert left.exists()
        assert room.exists()
    age(left)
    sweep(tmp_path)
    assert rooms(tmp_path) == []


def test_nothing_that_is_not_ours_is_deleted(tmp_path: Path) -> None:
    ours, theirs, file = tmp_path / ".matref-abcd1234", tmp_path / ".matref-notes", tmp_path / ".matref-efgh5678"
    for folder in (ours, theirs):
        folder.mkdir()
        (folder / "letter.txt").write_text("mine")
        age(folder)
    file.write_text("mine")
    age(file)
    sweep(tmp_path)
    assert (ours / "letter.txt").read_text() == (theirs / "letter.txt").read_text() == file.read_text() == "mine"


def test_opening_clears_what_was_left_beside_the_file(place: Path) -> None:
    left = place.parent / ".matref-abcd1234"
    left.mkdir()
    (left / "part.db").write_bytes(b"half a copy")
    age(left)
    workshop.connect(place).close()
    assert [path.name for path in place.parent.iterdir()] == [place.name]


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_a_folder_that_cannot_be_listed_is_no_hindrance(tmp_path: Path) -> None:
    sweep(tmp_path / "nowhere")


def test_a_commit_is_on_the_disk_before_it_is_acknowledged(place: Path) -> None:
    """SQLite waits for the disk at every commit (PRAGMA synchronous, 2 is FULL): a power cut takes back none."""
    with closing(workshop.connect(place)) as connection:
        assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
