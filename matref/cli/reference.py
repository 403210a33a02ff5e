"""The command reference: every command with its arguments, options and examples, taken from the commands themselves.

Run `python -m matref.cli.reference` after every change of a command; it writes `REFERENCE.md` beside this module, and
the tests fail until it is done.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from inspect import cleandoc
from pathlib import Path

import click

from matref.cli.app import root

PLACE = Path(__file__).with_name("REFERENCE.md")

_HEAD = """# Command reference

Written by `python -m matref.cli.reference` from the commands themselves; `matref COMMAND --help` says the same.

Exit codes: 0 done, also when nothing was found; 2 for what makes no sense, with one line on the error stream that says
what was wrong and what was expected; 1 for anything else."""


def reference(command: click.Command = root) -> str:
    """Return the reference of a command and of all below it, as Markdown."""
    common = {_row(option) for option in root.params if isinstance(option, click.Option)}
    sections = [_section(path, one, common if one is not root else set()) for path, one in _walk(command)]
    return "\n\n".join([_HEAD, *sections]) + "\n"


def _walk(command: click.Command, above: str = "") -> Iterator[tuple[str, click.Command]]:
    """Yield a command and all below it, each with the words that call it."""
    path = f"{above} {command.name}".strip()
    yield path, command
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            if below is not None:
                yield from _walk(below, path)


def _section(path: str, command: click.Command, common: set[str]) -> str:
    """Return a heading, the call, what the command does, its own options and its examples."""
    arguments = [_argument(p) for p in command.params if isinstance(p, click.Argument)]
    rows = [_row(option) for option in command.params if isinstance(option, click.Option)]
    own = [row for row in rows if row not in common]
    call = " ".join([path, *(["COMMAND"] if isinstance(command, click.Group) else []), *arguments])
    parts = [f"{'#' * min(1 + len(path.split()), 4)} {path}", f"    {call}", _prose(command.help)]
    if own:
        parts.append("\n".join(["| option | meaning | default |", "|---|---|---|", *own]))
    if len(own) < len(rows):
        parts.append("Also the options of `matref` itself.")
    return "\n\n".join([*parts, *_epilog(command.epilog)])


def _argument(argument: click.Argument) -> str:
    name = (argument.metavar or str(argument.name).upper()).strip("[]")
    return name if argument.required else f"[{name}]"


def _row(option: click.Option) -> str:
    """Return an option as a row of a table: how it is typed, what for, what is taken when it is left out."""
    typed = ", ".join(f"`{name}`" for name in option.opts)
    if isinstance(option.type, click.Choice):
        typed += " " + " · ".join(f"`{choice}`" for choice in option.type.choices)
    elif not option.is_flag:
        typed += f" {option.metavar or option.type.name.upper()}"
    if option.multiple:
        typed += ", more than once"
    default = ""
    if isinstance(option.show_default, str):
        default = option.show_default
    elif option.show_default and option.default is not None:
        default = str(option.default)
    if option.required:
        default = "required"
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in (typed, option.help or "", default)) + " |"


def _prose(text: str | None) -> str:
    """Return paragraphs as they were written, one line each."""
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in cleandoc(text or "").split("\n\n"))


def _epilog(text: str | None) -> Iterable[str]:
    r"""Yield the paragraphs below a help text; those that begin with click's mark \b are examples, line by line."""
    for paragraph in cleandoc(text or "").split("\n\n"):
        lines = [line.strip() for line in paragraph.splitlines() if line.strip()]
        if lines and lines[0] == "\b":
            yield "\n".join(["```sh", *lines[1:], "```"])
        elif lines:
            yield " ".join(lines)


def main() -> int:
    """Write the reference where it belongs."""
    PLACE.write_text(reference(), encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
