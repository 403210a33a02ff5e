"""What every command shares: the workshop file, the units a person reads, text or JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from matref.api import Workshop

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

_MAKING = "making the workshop file and compiling the catalogue: once, a few seconds …"


@dataclass
class Session:
    """The choices that hold for one call of the command line."""

    db: str | None = None
    units: str = "mm"
    as_json: bool = False
    debug: bool = False

    @property
    def path(self) -> Path:
        """The workshop file: `--db`, else `MATREF_DB`, else the user's own."""
        from matref.workshop import default_path

        return Path(self.db).expanduser() if self.db is not None else default_path()

    @contextmanager
    def open(self) -> Iterator[Workshop]:
        """Open the workshop file, made first if need be; damage met later is told in one line too."""
        from matref import api
        from matref.database import one_line_errors

        with self._patience(), one_line_errors(self.path):
            workshop = api.open(self.db)
        with workshop, one_line_errors(self.path):
            yield workshop

    def tell(self, plain: object, text: Callable[[], str]) -> None:
        """Print an answer: `plain` as JSON, or the text for people, which is only worked out when wanted."""
        if self.as_json:
            ascii_only = "utf" not in (getattr(sys.stdout, "encoding", "") or "").lower()
            click.echo(json.dumps(plain, indent=2, ensure_ascii=ascii_only, allow_nan=False))
        else:
            click.echo(text())

    @contextmanager
    def _patience(self) -> Iterator[None]:
        """Say on a terminal, while a new file is being made, what takes so long; wipe it out afterwards."""
        if not sys.stderr.isatty() or self.path.exists():
            yield
            return
        click.echo(_MAKING, nl=False, err=True)
        try:
            yield
        finally:
            click.echo("\r" + " " * len(_MAKING) + "\r", nl=False, err=True)


def _remember(context: click.Context, option: click.Parameter, value: Any) -> None:
    """Keep what was typed in the session; an option after the command outdoes the same one before it."""
    if value not in (None, False) and option.name:
        setattr(context.ensure_object(Session), option.name, value)


def common_options(command: Decorated) -> Decorated:
    """Give a command the options that every command has."""
    for option in (
        click.option(
            "--debug",
            is_flag=True,
            expose_value=False,
            callback=_remember,
            help="Show where an unexpected error arose.",
        ),
        click.option(
            "--units",
            type=click.Choice(["mm", "in"]),
            expose_value=False,
            callback=_remember,
            show_default="mm",
            help="Unit of lengths in the answers for people; JSON keys always carry their own unit.",
        ),
        click.option(
            "--db",
            metavar="FILE",
            expose_value=False,
            callback=_remember,
            show_default="MATREF_DB, else matref.db in your data folder",
            help="Workshop file to use; made when it does not exist.",
        ),
        click.option(
            "--json",
            "as_json",
            is_flag=True,
            expose_value=False,
            callback=_remember,
            help="Print JSON instead of text; keys carry units.",
        ),
    ):
        command = option(command)
    return command
