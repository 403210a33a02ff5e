"""What click says about wrong usage, put in one line: what was wrong, what is near, a working example."""

from __future__ import annotations

from difflib import get_close_matches

import click


def usage_line(error: click.UsageError) -> str:
    """Return the one line for an error of usage, with the first example of the command's own help."""
    text = " ".join(_words(error).split()).rstrip(".")
    example = first_example(error.ctx.command) if error.ctx else ""
    return f"{text}, for example: {example}" if example else text


def first_example(command: click.Command) -> str:
    """Return the first line of a command's help that can be run as it stands ('' if there is none)."""
    found = examples(command)
    return found[0] if found else ""


def examples(command: click.Command) -> list[str]:
    """Return the lines of a command's help that can be run as they stand."""
    text = f"{command.help or ''}\n{command.epilog or ''}"
    return [line.strip() for line in text.splitlines() if line.strip().startswith("matref ")]


def _words(error: click.UsageError) -> str:
    if isinstance(error, click.NoSuchOption):
        return _no_such_option(error)
    if isinstance(error, click.MissingParameter):
        return f"{_name(error)} is missing"
    if isinstance(error, click.BadParameter) and error.param is not None:
        return f"{_name(error)}: {error.message}"
    return error.message


def _no_such_option(error: click.NoSuchOption) -> str:
    known = [name for p in error.ctx.command.params for name in p.opts] if error.ctx else []
    near = get_close_matches(error.option_name, [name for name in known if name.startswith("--")], 3, 0.5)
    return f"no option {error.option_name}; " + (
        f"near: {', '.join(near)}" if near else "expected one that --help lists"
    )


def _name(error: click.BadParameter) -> str:
    if error.param is None:
        return "a value"
    return error.param.opts[0] if isinstance(error.param, click.Option) else str(error.param.human_readable_name)
