from __future__ import annotations

import hashlib
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import asdict
from pathlib import Path

import pytest
from small_data import SmallData

from matref.database import transaction
from matref.errors import FileTrouble
from matref.migrations import MIGRATIONS
from matref.workshop import backup, check, connect, default_path, info

pytestmark = pytest.mark.usefixtures("small_data")


def no_fit(connection: sqlite3.Connection) -> None:
    """Stand in for the estimator: these tests are about the file."""


@pytest.fixture
def shop(small_data: SmallData) -> Path:
    """A workshop file of the small data with one setting in it."""
    place = small_data.folder.parent / "workshop.db"
    with closing(connect(place, fit=no_fit)) as connection, transaction(connection):
        connection.execute("INSERT INTO setting VALUES ('machine_limit_mm', '3')")
    return place


def digest(place: Path) -> str:
    return hashlib.sha256(place.read_bytes()).hexdigest()


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir() if p.is_file())


def settings(place: Path) -> list[tuple[str, str]]:
    with closing(connect(place, fit=no_fit)) as connection:
        return [tuple(row) for row in connection.execute("SELECT key, value FROM setting")]


def test_a_new_file_is_complete_and_alone(tmp_path: Path) -> None:
    place = tmp_path / "Tide & Chart – Übung" / "pile 50%?#.db"
    place.parent.mkdir()
    with closing(connect(place, fit=no_fit)) as connection:
        assert connection.execute("SELECT count(*) FROM reading").fetchone()[0] == 3
        assert connection.execute("PRAGMA foreign_keys").fetchone()[0] == 1
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert connection.execute("SELECT * FROM reading").fetchone()["caliper_um"] == 100.0
    assert [p.name for p in place.parent.iterdir()] == [place.name]


def test_an_empty_file_is_filled(tmp_path: Path) -> None:
    place = tmp_path / "empty.db"
    place.touch()
    connect(place, fit=no_fit).close()
    assert info(place).rows["reading"] == 3


def test_the_users_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("MATREF_DB", raising=False)
    for variable in ("XDG_DATA_HOME", "HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(variable, str(tmp_path / "home"))
    place = default_path()
    assert (tmp_path / "home") in place.parents or sys.platform == "win32"
    monkeypatch.setenv("MATREF_DB", str(tmp_path / "chosen.db"))
    assert default_path() == tmp_path / "chosen.db"
    connect(fit=no_fit).close()
    assert (tmp_path / "chosen.db").exists()
    monkeypatch.setenv("MATREF_DB", str(tmp_path / "no such folder" / "x.db"))
    with pytest.raises(FileTrouble, match="existing folder"):
        connect(fit=no_fit)


@pytest.mark.skipif(sys.platform != "linux", reason="the data directory is moved by XDG_DATA_HOME")
def test_the_default_folder_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("MATREF_DB", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    connect(fit=no_fit).close()
    assert (tmp_path / "share" / "matref" / "matref.db").exists()


def test_opening_a_current_file_changes_nothing_and_loads_nothing_heavy(shop: Path) -> None:
    before = digest(shop)
    script = (
        "import sys; from matref.catalogue import package; from pathlib import Path;"
        "package.data_folder = lambda: Path(sys.argv[2]);"
        "from matref.workshop import connect; connect(sys.argv[1]).close();"
        "heavy = {'numpy', 'scipy', 'pandas', 'sqlite_utils', 'click',"
        " 'matref.catalogue.compile', 'matref.estimator.fit'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, shop, shop.parent / "small data"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout.strip() == "[]"
    assert digest(shop) == before


def test_another_edition_replaces_the_catalogue_and_keeps_what_is_personal(shop: Path, small_data: SmallData) -> None:
    first = info(shop)
    small_data.add(
        "reading", id="chart-140", class_id="chart_paper", grammage_gsm="140", caliper_um="170",
        used_in_fit="1", source_id="chandler-ledger",
    )  # fmt: skip
    assert info(shop).edition == first.edition != info(shop).packaged_edition
    assert settings(shop) == [("machine_limit_mm", "3")]
    second = info(shop)
    assert second.edition == second.packaged_edition != first.edition
    assert second.rows["reading"] == 4
    assert second.rows["entry"] == first.rows["entry"] + 1
    assert names(shop.parent) == ["workshop.db"]


def test_a_class_that_goes_away_does_not_hold_up_the_next_edition(shop: Path, small_data: SmallData) -> None:
    with closing(connect(shop, fit=no_fit)) as connection, transaction(connection):
        connection.execute("INSERT INTO setting VALUES ('favourite_class', 'sailcloth')")
    rows = [row for row in small_data.rows("material_class") if row["id"] != "sailcloth"]
    small_data.write("material_class", rows)
    small_data.add("source", id="harbour-almanac", title="An invented almanac")
    assert ("favourite_class", "sailcloth") in settings(shop)
    assert info(shop).rows["material_class"] == 1


def test_a_failing_fit_leaves_the_old_catalogue(shop: Path, small_data: SmallData) -> None:
    before = info(shop)
    small_data.add("source", id="harbour-almanac", title="An invented almanac")

    def broken(connection: sqlite3.Connection) -> None:
        assert connection.execute("SELECT count(*) FROM source").fetchone()[0] == 2
        raise ArithmeticError("no fit today")

    with pytest.raises(ArithmeticError, match="no fit today"):
        connect(shop, fit=broken)
    after = info(shop)
    assert asdict(after) | {"bytes": 0, "packaged_edition": ""} == asdict(before) | {
        "bytes": 0, "packaged_edition": ""
    }  # fmt: skip
    assert check(shop).ok
    assert settings(shop) == [("machine_limit_mm", "3")]


def test_a_process_that_dies_while_replacing_leaves_the_old_catalogue(shop: Path, small_data: SmallData) -> None:
    small_data.add("source", id="harbour-almanac", title="An invented almanac")
    script = (
        "import os, sys; from matref.catalogue import package; from pathlib import Path;"
        "package.data_folder = lambda: Path(sys.argv[2]);"
        "from matref.workshop import connect; connect(sys.argv[1], fit=lambda connection: os._exit(9))"
    )
    done = subprocess.run([sys.executable, "-c", script, shop, small_data.folder], check=False)
    assert done.returncode == 9
    assert info(shop).rows["source"] == 1
    assert check(shop).ok
    assert settings(shop) == [("machine_limit_mm", "3")]
    assert info(shop).rows["source"] == 2


def test_two_processes_that_start_together_both_end_well(tmp_path: Path, small_data: SmallData) -> None:
    place = tmp_path / "together.db"
    script = (
        "import sys, time; from matref.catalogue import package; from pathlib import Path;"
        "package.data_folder = lambda: Path(sys.argv[2]);"
        "from matref.workshop import connect;"
        "c = connect(sys.argv[1], fit=lambda connection: time.sleep(0.4));"
        "c.execute('INSERT INTO setting VALUES (?, 1)', (sys.argv[3],)); c.commit(); c.close()"
    )

    def start_both(prefix: str) -> None:
        running = [
            subprocess.Popen([sys.executable, "-c", script, place, small_data.folder, f"{prefix}{number}"])
            for number in (1, 2)
        ]
        assert [process.wait(timeout=60) for process in running] == [0, 0]

    start_both("created by ")
    small_data.add("source", id="harbour-almanac", title="An invented almanac")
    start_both("replaced by ")
    assert len(settings(place)) == 4
    assert check(place).ok
    assert names(tmp_path) == ["together.db"]


def test_backup_while_another_connection_writes(shop: Path, tmp_path: Path) -> None:
    with closing(connect(shop, fit=no_fit)) as connection:
        with transaction(connection):
            connection.execute("INSERT INTO setting VALUES ('done', '1')")
        with transaction(connection):
            connection.execute("INSERT INTO setting VALUES ('half done', '1')")
            copy = backup(shop, tmp_path / "copy of the workshop.db")
            connection.execute("INSERT INTO setting VALUES ('the other half', '1')")
    assert [key for key, _ in settings(copy)] == ["done", "machine_limit_mm"]
    assert check(copy).ok
    assert len(settings(shop)) == 4


def test_backup_refuses_to_write_over_a_file(shop: Path, tmp_path: Path) -> None:
    target = tmp_path / "letter.txt"
    target.write_text("mine")
    for taken in (target, shop):
        with pytest.raises(FileTrouble, match="exists already"):
            backup(shop, taken)
    assert target.read_text() == "mine"
    with pytest.raises(FileTrouble, match="existing folder"):
        backup(shop, tmp_path / "nowhere" / "copy.db")
    with pytest.raises(FileTrouble, match="does not exist"):
        backup(tmp_path / "none.db", tmp_path / "copy.db")
    assert names(tmp_path) == ["letter.txt", "workshop.db"]


def test_check_finds_lost_rows_and_broken_references(shop: Path) -> None:
    assert check(shop).problems == ()
    with closing(sqlite3.connect(shop)) as connection:
        connection.execute("DELETE FROM reading WHERE id = 'chart-80'")
        connection.execute("UPDATE material_class SET source_id = 'gone' WHERE id = 'sailcloth'")
        connection.commit()
    found = check(shop)
    assert not found.ok
    assert found.problems == (
        "material_class row 2 points to a missing row of source",
        "reading has 2 rows where the data has 3",
    )


@pytest.mark.parametrize("part", ["reading_class_id", "codebook", "setting"])
def test_check_reports_damage_inside_the_file(shop: Path, part: str) -> None:
    with closing(sqlite3.connect(shop)) as connection:
        page = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = ?", (part,)).fetchone()[0]
        size = connection.execute("PRAGMA page_size").fetchone()[0]
    content = bytearray(shop.read_bytes())
    content[(page - 1) * size : (page - 1) * size + 64] = b"\xff" * 64
    shop.write_bytes(content)
    found = check(shop)
    assert not found.ok
    assert all("\n" not in problem for problem in found.problems)


def test_info_tells_the_layout_and_the_licence(shop: Path) -> None:
    found = info(shop)
    assert found.schema_version == len(MIGRATIONS)
    assert found.data_licence == "CC0-1.0"
    assert found.compiled_at.endswith("+00:00")
    assert found.rows["setting"] == 1
    assert found.path == str(shop)
    assert not any(name.startswith("entry_fts") for name in found.rows)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that every user of the machine may look into."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder
        folder.chmod(0o755)


def as_ordinary_user(script: str, *arguments: Path) -> subprocess.CompletedProcess[str]:
    """Run Python as a user whom read-only folders stop; the system's own account knows no such thing."""
    start = (
        "import hashlib, os, sys, tempfile; from pathlib import Path; from matref.catalogue import package;"
        "from matref.workshop import connect\n"
        "if os.geteuid() == 0: os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
    )
    return subprocess.run(
        [sys.executable, "-c", start + script, *arguments], capture_output=True, text=True, check=False
    )


_LOOK_UP = """
package.data_folder = lambda: Path(sys.argv[2])
try:
    connection = connect(sys.argv[1])
    print(connection.execute("SELECT count(*) FROM reading").fetchone()[0])
    connection.execute("INSERT INTO setting VALUES ('a', 'b')")
except Exception as error:
    print(type(error).__name__, error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="folders are not write-protected by mode on Windows")
@pytest.mark.parametrize("journal", ["wal", "delete"])
def test_a_read_only_folder_serves_look_ups(shop: Path, small_data: SmallData, open_folder: Path, journal: str) -> None:
    data, place = open_folder / "data", open_folder / "workshop.db"
    small_data.folder.rename(data)
    shop.rename(place)
    with closing(sqlite3.connect(place)) as connection:
        connection.execute(f"PRAGMA journal_mode = {journal}")
    place.chmod(0o444)
    open_folder.chmod(0o555)
    before = digest(place)
    done = as_ordinary_user(_LOOK_UP, place, data)
    assert done.stdout.splitlines() == ["3", "OperationalError attempt to write a readonly database"], done
    assert digest(place) == before
    assert names(open_folder) == ["workshop.db"]


@pytest.mark.skipif(sys.platform == "win32", reason="folders are not write-protected by mode on Windows")
def test_a_read_only_folder_cannot_take_a_new_file(small_data: SmallData, open_folder: Path) -> None:
    data = open_folder / "data"
    small_data.folder.rename(data)
    open_folder.chmod(0o555)
    done = as_ordinary_user(_LOOK_UP, open_folder / "new.db", data)
    assert done.stdout.startswith("FileTrouble ")
    assert "Permission denied; expected an existing folder with leave to write" in done.stdout
    assert len(done.stdout.splitlines()) == 1
