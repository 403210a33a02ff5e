"""A group of commands that are imported only when called, so that a look-up never waits for what a plot needs."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any

import click


class LazyGroup(click.Group):
    """A group whose commands are kept in modules: `places` maps a name to "module:attribute"."""

    def __init__(self, *args: Any, places: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places = dict(places)

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Return the names in the order of the work, not of the alphabet."""
        return list(self.places)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import the module of a command and return the command."""
        if cmd_name not in self.places:
            return None
        module, _, attribute = self.places[cmd_name].partition(":")
        command: click.Command = getattr(import_module(module), attribute)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command meant; say which names come near where there is none."""
        if args[0] not in self.places and not args[0].startswith("-"):
            raise click.UsageError(unknown_name("command", args[0], self.places), ctx)
        return super().resolve_command(ctx, args)


class Group(click.Group):
    """A group whose commands stand in the order in which they were defined."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Return the names as defined."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command meant; say which names come near where there is none."""
        if args[0] not in self.commands and not args[0].startswith("-"):
            raise click.UsageError(unknown_name(f"{ctx.info_name} command", args[0], self.commands), ctx)
        return super().resolve_command(ctx, args)


def asks_for_help(context: click.Context) -> bool:
    """Tell whether a group was called without a command."""
    return context.invoked_subcommand is None


def unknown_name(what: str, typed: str, known: Mapping[str, object]) -> str:
    """Return one line for a name that is not among the `known`: the nearest, or else all of them.

    >>> unknown_name("command", "calliper", {"find": 0, "caliper": 0})
    'no command called "calliper"; near: caliper'
    """
    from difflib import get_close_matches

    near = get_close_matches(typed, known, 3, 0.6)
    tail = f"near: {', '.join(near)}" if near else f"expected one of {', '.join(known)}"
    return f'no {what} called "{typed[:40]}"; {tail}'
