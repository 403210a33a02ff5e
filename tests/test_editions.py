"""The edition of the data and the version of the code are two things: each changes, and is told, without the other."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import tomllib
from contextlib import closing
from importlib.metadata import version
from pathlib import Path

import pytest

from matref.catalogue.package import data_folder, edition, read_descriptor
from matref.catalogue.seal import seal
from matref.cli import main
from matref.web.shelf import metadata
from matref.workshop import connect, in_memory, info

ROOT = Path(__file__).parents[1]
CODE = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A copy of the packaged data that may be changed."""
    return Path(shutil.copytree(data_folder(), tmp_path / "data"))


def test_the_code_says_the_version_of_its_project_file() -> None:
    assert version("matref") == CODE


def test_the_edition_is_the_datas_own_version_and_a_digest() -> None:
    descriptor = read_descriptor(data_folder())
    assert re.fullmatch(r"\d+\.\d+\.\d+\+[0-9a-f]{8}", edition())
    assert edition().partition("+")[0] == descriptor["version"]


def test_a_changed_row_is_another_edition_of_the_same_version(data: Path) -> None:
    before = edition(data)
    with (data / "term.csv").open("a", encoding="utf-8", newline="") as file:
        file.write("trial,trial,,a word of this test,from-memory\n")
    assert seal(data) == ["term"]
    after = edition(data)
    assert after != before
    assert after.partition("+")[0] == before.partition("+")[0]


def test_a_new_version_of_the_data_leaves_the_code_alone(data: Path) -> None:
    described = json.loads((data / "datapackage.json").read_text(encoding="utf-8"))
    described["version"] = "7.8.9"
    (data / "datapackage.json").write_text(json.dumps(described), encoding="utf-8")
    assert edition(data).startswith("7.8.9+")
    assert edition(data).partition("+")[2] == edition().partition("+")[2]  # the same rows
    assert version("matref") == CODE


def test_a_file_holds_the_edition_and_no_version_of_the_code(tmp_path: Path) -> None:
    place = tmp_path / "matref.db"
    connect(place, fit=lambda _: None).close()
    with closing(sqlite3.connect(place)) as connection:
        facts = dict(connection.execute("SELECT key, value FROM info").fetchall())
    assert facts["edition"] == edition()
    assert "version" not in " ".join(facts)
    told = info(place)
    assert (told.edition, told.packaged_edition, told.program_version) == (edition(), edition(), CODE)


def test_both_are_told_apart_on_the_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "matref.db"
    connect(place, fit=lambda _: None).close()
    monkeypatch.setenv("MATREF_DB", str(place))
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"matref, version {CODE}\n"
    assert main(["info", "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert (plain["program_version"], plain["edition"]) == (CODE, edition())
    assert main(["info"]) == 0
    rows = dict(re.findall(r"^(Program|Data) +(.+)$", capsys.readouterr().out, re.MULTILINE))
    assert rows["Program"] == f"matref {CODE}"
    assert rows["Data"].startswith(f"edition {edition()}, ")


def test_an_older_edition_in_the_file_is_told_beside_the_packaged_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "matref.db"
    connect(place, fit=lambda _: None).close()
    with closing(sqlite3.connect(place)) as connection, connection:
        connection.execute("UPDATE info SET value = '0.0.1+00000000' WHERE key = 'edition'")
    monkeypatch.setenv("MATREF_DB", str(place))
    assert main(["info"]) == 0  # which only looks
    assert f"edition 0.0.1+00000000 (this matref brings {edition()})" in " ".join(capsys.readouterr().out.split())
    connect(place, fit=lambda _: None).close()
    assert info(place).edition == edition()


def test_the_pages_name_the_edition_of_the_data() -> None:
    with closing(in_memory(fit=lambda _: None)) as connection:
        assert f"edition {edition()}" in metadata(connection)["source"]
