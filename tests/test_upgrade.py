from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from small_data import SmallData

from matref import upgrade
from matref.database import transaction
from matref.errors import BadInput, FileTrouble
from matref.migrations import CATALOGUE_FORMAT, MIGRATIONS
from matref.workshop import backup, check, connect, info

pytestmark = pytest.mark.usefixtures("small_data")


def no_fit(connection: sqlite3.Connection) -> None:
    """Stand in for the estimator: these tests are about the file."""


@pytest.fixture
def shop(small_data: SmallData) -> Path:
    place = small_data.folder.parent / "workshop.db"
    with closing(connect(place, fit=no_fit)) as connection, transaction(connection):
        connection.execute("INSERT INTO setting VALUES ('habit', 'clips, no pins')")
    return place


def refused(place: Path, match: str) -> None:
    """Every way of opening the file says the same in one line and leaves the file as it was."""
    before = hashlib.sha256(place.read_bytes()).hexdigest()
    neighbours = sorted(p.name for p in place.parent.iterdir())
    for use in (
        lambda: connect(place, fit=no_fit).close(),
        lambda: connect(place, read_only=True).close(),
        lambda: info(place),
        lambda: backup(place, place.with_name("copy.db")),
    ):
        with pytest.raises(FileTrouble, match=match) as caught:
            use()
        assert isinstance(caught.value, BadInput)  # the command line exits with 2
        assert "\n" not in str(caught.value)
        assert place.name in str(caught.value)
    assert hashlib.sha256(place.read_bytes()).hexdigest() == before
    assert sorted(p.name for p in place.parent.iterdir()) == neighbours


def test_text_is_not_a_database(tmp_path: Path) -> None:
    place = tmp_path / "notes.db"
    place.write_text("four sheets of ledger paper, 2 mm apart\n" * 40)
    refused(place, "is not a matref file")


def test_the_database_of_another_program_is_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "other.db"
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("CREATE TABLE reading (tide TEXT)")
    refused(place, "is not a matref file")
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("PRAGMA application_id = 12345")
    refused(place, "is not a matref file")


@pytest.mark.parametrize("share", [0.9, 0.5, 0.02])
def test_a_file_cut_short(shop: Path, share: float) -> None:
    content = shop.read_bytes()
    shop.write_bytes(content[: int(len(content) * share)])
    refused(shop, "is damaged or cut short")


def test_a_file_of_a_newer_matref(shop: Path) -> None:
    with closing(sqlite3.connect(shop)) as connection:
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    refused(shop, f"newer matref \\(layout {len(MIGRATIONS) + 1}, this one knows {len(MIGRATIONS)}\\)")


def test_a_folder_or_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match="is a folder"):
        connect(tmp_path, fit=no_fit)
    with pytest.raises(FileTrouble, match="existing folder"):
        connect(tmp_path / "nowhere" / "x.db", fit=no_fit)
    for look in (lambda p: connect(p, read_only=True), info, check):
        with pytest.raises(FileTrouble, match="does not exist"):
            look(tmp_path / "none.db")
    assert not (tmp_path / "none.db").exists()


def test_an_older_layout_is_upgraded_after_a_copy(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fill(connection: sqlite3.Connection) -> None:
        connection.execute("INSERT INTO shelf SELECT key FROM setting")

    steps = (*MIGRATIONS, "CREATE TABLE shelf (name TEXT) STRICT;", fill)
    monkeypatch.setattr(upgrade, "MIGRATIONS", steps)
    with pytest.raises(FileTrouble, match="older matref"):
        connect(shop, read_only=True)
    with closing(connect(shop, fit=no_fit)) as connection:
        assert [row[0] for row in connection.execute("SELECT name FROM shelf")] == ["habit"]
        assert connection.execute("PRAGMA user_version").fetchone()[0] == len(steps)
        assert connection.execute("PRAGMA busy_timeout").fetchone()[0] == 10_000
    connect(shop, fit=no_fit).close()  # once is enough
    copies = [p for p in shop.parent.iterdir() if p.suffix == ".db" and p != shop]
    assert [p.name for p in copies] == [f"workshop.layout-{len(MIGRATIONS)}.db"]
    monkeypatch.undo()
    monkeypatch.setattr("matref.catalogue.package.data_folder", lambda: shop.parent / "small data")
    with closing(connect(copies[0], fit=no_fit)) as connection:
        assert connection.execute("SELECT value FROM setting").fetchone()[0] == "clips, no pins"


def test_a_failing_upgrade_leaves_the_old_layout_and_may_be_tried_again(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(connection: sqlite3.Connection) -> None:
        connection.execute("DELETE FROM setting")
        raise ArithmeticError("half way")

    monkeypatch.setattr(upgrade, "MIGRATIONS", (*MIGRATIONS, "CREATE TABLE shelf (x TEXT) STRICT;", broken))
    for _ in range(2):
        with pytest.raises(ArithmeticError, match="half way"):
            connect(shop, fit=no_fit)
    with closing(sqlite3.connect(shop)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone()[0] == len(MIGRATIONS)
        assert connection.execute("SELECT count(*) FROM setting").fetchone()[0] == 1
        assert not connection.execute("SELECT * FROM sqlite_schema WHERE name = 'shelf'").fetchall()
    first = f"workshop.layout-{len(MIGRATIONS)}"
    assert (shop.parent / f"{first}.db").exists()
    assert (shop.parent / f"{first}-2.db").exists()


def test_a_new_layout_of_the_catalogue_compiles_it_again(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(upgrade, "CATALOGUE_FORMAT", CATALOGUE_FORMAT + 1)
    fitted: list[sqlite3.Connection] = []
    with pytest.raises(FileTrouble, match="older matref"):
        connect(shop, read_only=True)
    connect(shop, fit=fitted.append).close()
    assert len(fitted) == 1


def test_an_older_edition_may_still_be_read(shop: Path, small_data: SmallData) -> None:
    small_data.add("source", id="harbour-almanac", title="An invented almanac")
    with closing(connect(shop, read_only=True)) as connection:
        assert connection.execute("SELECT count(*) FROM source").fetchone()[0] == 1
