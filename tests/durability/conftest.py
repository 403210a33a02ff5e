"""A compiled workshop file that the tests of this folder copy, and a call of the command line inside the process."""

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
    matref.open(place).close()
    return place


@pytest.fixture
def place(compiled: Path, tmp_path: Path) -> Path:
    """A file that a test may change, in a folder of its own with a name that is hard to write."""
    folder = tmp_path / "Ebbe & Flut – Ω 50%"
    folder.mkdir()
    return Path(shutil.copy(compiled, folder / "loft piles #1?.db"))


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Call the command line."""

    def call(*arguments: str) -> Outcome:
        capsys.readouterr()
        code = main([*arguments])
        return Outcome(code, *capsys.readouterr())

    return call
