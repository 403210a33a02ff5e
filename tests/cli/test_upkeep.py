"""backup, check, info, model fit."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from command_line import Run, refused

from matref.catalogue.package import edition


def test_info(run: Run, shop: Path) -> None:
    found = run("info", "--json").json()
    assert found["path"] == str(shop)
    assert found["edition"] == found["packaged_edition"] == edition()
    with closing(sqlite3.connect(shop)) as connection:
        assert found["rows"]["reading"] == connection.execute("SELECT count(*) FROM reading").fetchone()[0]
    text = run("info").out
    assert str(shop) in text
    assert edition() in text


def test_info_of_a_file_that_is_not_there(run: Run, tmp_path: Path) -> None:
    refused(run("info", "--db", str(tmp_path / "none.db")), "does not exist")
    assert not (tmp_path / "none.db").exists()


def test_backup_is_a_whole_file_and_never_written_over(run: Run, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    assert run("backup", str(copy)).code == 0
    assert run("check", "--db", str(copy), "--json").json()["ok"] is True
    before = copy.read_bytes()
    refused(run("backup", str(copy)), "exists already")
    assert copy.read_bytes() == before


def test_check_finds_lost_rows(run: Run, shop: Path) -> None:
    assert "nothing wrong" in run("check").out
    with closing(sqlite3.connect(shop)) as connection, connection:
        connection.execute("DELETE FROM caution WHERE rowid = (SELECT min(rowid) FROM caution)")
    found = run("check", "--json")
    assert found.code == 1
    assert found.json()["ok"] is False
    text = run("check")
    assert (text.code, text.err) == (1, "")
    assert "caution has" in text.out


@pytest.mark.parametrize("content", [b"Tide tables for the harbour, 1931\n" * 40, b"\x00" * 5000])
def test_a_file_that_is_no_database(run: Run, tmp_path: Path, content: bytes) -> None:
    other = tmp_path / "tides.db"
    other.write_bytes(content)
    for command in (["caliper", "--grammage", "80"], ["find", "linen"], ["info"], ["check"], ["backup", "x.db"]):
        refused(run(*command, "--db", str(other)), "tides.db")
    assert other.read_bytes() == content


def test_a_folder_is_no_file(run: Run, tmp_path: Path) -> None:
    refused(run("find", "linen", "--db", str(tmp_path)), "is a folder")
    refused(run("find", "linen", "--db", str(tmp_path / "no" / "such" / "x.db")), "folder")


def test_fitting_again_changes_nothing(run: Run) -> None:
    pile = ("caliper", "--class", "copier", "--grammage", "80", "--json")
    before = run(*pile).json()
    fitted = run("model", "fit", "--json").json()
    assert {one["family"] for one in fitted} == {"paper", "board", "cloth"}
    assert run(*pile).json()["caliper_um"] == pytest.approx(before["caliper_um"], rel=1e-6)


def test_report(run: Run) -> None:
    """The published readings are foretold about as often as stated (the estimator's own tests are stricter)."""
    found = run("model", "report", "--family", "paper", "--json").json()["families"]
    assert [one["family"] for one in found] == ["paper"]
    score = found[0]["methods"]["matref"]["all"]
    assert score["readings"] > 50
    assert 0.8 < score["cover_90"] <= 1
    text = run("model", "report", "--family", "paper")
    assert text.err == ""  # progress is for terminals
    assert f"{100 * score['cover_90']:.1f}" in text.out
    refused(run("model", "report", "--family", "vellum"), "--family", "paper")
