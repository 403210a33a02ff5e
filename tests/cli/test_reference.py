"""The command reference says what the commands say."""

from __future__ import annotations

import re

import click
import pytest
from test_examples import COMMANDS

from matref.cli.reference import PLACE, reference
from matref.cli.trouble import examples

KEPT = PLACE.read_text(encoding="utf-8")


def test_it_is_as_written_now() -> None:
    assert reference() == KEPT, "run: python -m matref.cli.reference"


@pytest.mark.parametrize("path", COMMANDS)
def test_each_command_is_in_it_with_its_options_and_examples(path: str) -> None:
    """Looked up in the commands by another way than the one that wrote it."""
    command = COMMANDS[path]
    section = re.search(rf"^#+ {re.escape(path)}\n(.*?)(?=^#+ matref|\Z)", KEPT, re.MULTILINE | re.DOTALL)
    assert section
    common = {"json", "db", "units", "debug"}
    for option in command.params:
        if isinstance(option, click.Option) and (path == "matref" or option.opts[0].strip("-") not in common):
            assert f"| `{option.opts[0]}`" in section[1]
    assert [line for line in section[1].splitlines() if line.startswith("matref ")] == list(examples(command))


def test_a_change_of_a_command_shows() -> None:
    @click.command("fold", epilog="Examples:\n\n\b\n  matref fold --times 2")
    @click.argument("leaf")
    @click.option("--times", type=int, default=1, show_default=True, help="How often | at most.")
    @click.option("--grain", type=click.Choice(["long", "short"]), required=True, help="Which way.")
    def fold(leaf: str, times: int, grain: str) -> None:
        """Fold a leaf.

        Once
        or more.
        """

    text = reference(fold)
    assert "# fold\n\n    fold LEAF\n\nFold a leaf.\n\nOnce or more.\n" in text
    assert "| `--times` INTEGER | How often \\| at most. | 1 |" in text
    assert "| `--grain` `long` · `short` | Which way. | required |" in text
    assert "```sh\nmatref fold --times 2\n```" in text
