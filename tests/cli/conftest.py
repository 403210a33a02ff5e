"""A shop for the command line: one compiled workshop file, copied for every test."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from command_line import Outcome, Run

import matref
from matref.cli import main


@pytest.fixture(scope="session")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("compiled") / "matref.db"
    with matref.open(place):
        pass
    return place


@pytest.fixture
def shop(compiled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own with a workshop file, which `MATREF_DB` names."""
    place = tmp_path / "shop" / "matref.db"
    place.parent.mkdir()
    shutil.copy(compiled, place)
    monkeypatch.setenv("MATREF_DB", str(place))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(place.parent)
    return place


@pytest.fixture
def run(shop: Path, capsys: pytest.CaptureFixture[str]) -> Run:  # noqa: ARG001 - the shop is what it works in
    """Call the command line inside this process."""

    def call(*arguments: str) -> Outcome:
        capsys.readouterr()
        code = main(arguments)
        return Outcome(code, *capsys.readouterr())

    return call
