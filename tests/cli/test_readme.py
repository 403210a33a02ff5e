"""README.md says what is so: its commands are those that the checks run, its answers are those that matref gives."""

from __future__ import annotations

import doctest
import re
import shlex
import subprocess
import tomllib
from difflib import unified_diff

import pytest
import readme

from matref.cli import main


def test_the_checks_run_the_commands_of_the_readme() -> None:
    """`.ci/run --list` prints what it would run; anything else than README's own words is drift."""
    listed = subprocess.run([str(readme.ROOT / ".ci" / "run"), "--list"], capture_output=True, text=True, check=True)
    commands = readme.commands()
    assert list(commands) == ["job", "test"]
    assert listed.stdout.startswith(commands["job"] + commands["test"])
    rest = listed.stdout.removeprefix(commands["job"] + commands["test"]).splitlines()
    assert [line.split()[0] for line in rest] == [".venv-test/bin/ruff", ".venv-test/bin/ruff", ".venv-test/bin/mypy"]


def test_the_first_command_asks_for_the_whole_job(tmp_path_factory: pytest.TempPathFactory) -> None:
    """The commands of matref in it run here too, in a folder of their own."""
    script = readme.commands()["job"].replace("\\\n", " ")
    lines = [line.removesuffix("&&").strip() for line in script.splitlines()]
    asked = [shlex.split(line)[1:] for line in lines if line.startswith(".venv/bin/matref ")]
    assert [words[0] for words in asked] == ["caliper", "spine"]
    for words in asked:
        assert main([*words, "--db", str(tmp_path_factory.getbasetemp() / "readme.db")]) == 0


@pytest.mark.parametrize(("line", "shown"), readme.answers())
def test_the_answers_shown_are_those_given(line: str, shown: str) -> None:
    now = readme.answer(line)
    drift = "".join(unified_diff(shown.splitlines(True), now.splitlines(True), "README.md", "now"))
    assert not drift, f"run: python tests/cli/readme.py\n{drift}"


def test_there_are_three_answers() -> None:
    assert len(readme.answers()) == 3


def test_version_and_changes_are_those_of_the_project() -> None:
    """The version is kept in pyproject.toml; the citation and the newest change name the same one."""
    version = tomllib.loads((readme.ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    text = readme.README.read_text(encoding="utf-8")
    assert re.findall(r"^  version = \{(.*)\}", text, re.MULTILINE) == [version]
    assert re.findall(r"^\*\*(\d[^*]*)\*\*", text, re.MULTILINE)[0] == version


def test_what_the_readme_points_to_is_there() -> None:
    text = readme.README.read_text(encoding="utf-8")
    places = re.findall(r"\]\((?!https?:)([^)#]+)\)", text)
    assert len(places) >= 8
    assert [place for place in places if not (readme.ROOT / place).exists()] == []


def test_the_python_example_runs() -> None:
    failed, tried = doctest.testfile(str(readme.README), module_relative=False, encoding="utf-8")
    assert tried >= 3
    assert failed == 0
