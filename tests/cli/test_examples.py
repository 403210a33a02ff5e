"""Every example in every help text is run as it stands, and every option says what it is for."""

from __future__ import annotations

import shlex
from collections.abc import Iterator

import click
import pytest
from command_line import Run

from matref.cli.app import root
from matref.cli.trouble import examples

SERVERS = ("matref serve",)
TIDES = 'matref sample add --label "tide tables" --size A4 --sheets 20 --mass "98 g"'
LOFT = 'matref stock add --material paper --size A4 --count 60 --label "loft pile"'
OFFCUTS = 'matref sample add --label "chart offcuts" --size A5 --sheets 10 --mass "21 g"'
SCENE = {
    "matref check": [TIDES],
    "matref sample show": [TIDES],
    "matref sample edit": [TIDES],
    "matref sample remove": [TIDES],
    "matref sample restore": [OFFCUTS, 'matref sample remove "chart offcuts"'],
    "matref sample import": [OFFCUTS, "matref sample export loft.csv"],
    "matref stock show": [LOFT],
    "matref stock remove": [LOFT],
}
"""What has happened in the shop before a command's examples are run."""


def commands(group: click.Group = root, path: str = "matref") -> Iterator[tuple[str, click.Command]]:
    yield path, group
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from commands(command, f"{path} {name}")
        else:
            yield f"{path} {name}", command


COMMANDS = dict(commands())


@pytest.mark.parametrize("path", COMMANDS)
def test_every_example_runs(run: Run, path: str) -> None:
    """In the order in which they stand: what one example makes, the next may use."""
    lines = examples(COMMANDS[path])
    assert lines, f"{path} has no example"
    for line in SCENE.get(path, ()):
        assert run(*shlex.split(line)[1:]).code == 0
    for line in lines:
        if line.startswith(SERVERS):
            continue  # test_serve starts one
        outcome = run(*shlex.split(line)[1:])
        assert outcome.code == 0, (line, outcome)
        assert outcome.err == "", (line, outcome)
        assert outcome.out.strip(), line


@pytest.mark.parametrize("path", COMMANDS)
def test_examples_are_of_the_command_itself(path: str) -> None:
    for line in examples(COMMANDS[path]):
        assert path == "matref" or line.startswith(path) or path.startswith(" ".join(line.split()[:2]))


@pytest.mark.parametrize("path", COMMANDS)
def test_every_option_has_help(path: str) -> None:
    command = COMMANDS[path]
    assert command.help
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, option.name
            assert option.help.endswith("."), option.help


@pytest.mark.parametrize("path", COMMANDS)
def test_the_help_can_be_read(run: Run, path: str) -> None:
    outcome = run(*path.split()[1:], "--help")
    assert outcome.code == 0
    assert outcome.out.startswith(f"Usage: {path}")
    assert "--json" in outcome.out or isinstance(COMMANDS[path], click.Group)


def test_groups_without_a_command_show_their_help(run: Run) -> None:
    for path, command in COMMANDS.items():
        if isinstance(command, click.Group):
            outcome = run(*path.split()[1:])
            assert (outcome.code, outcome.err) == (0, ""), path
            assert "Commands:" in outcome.out
