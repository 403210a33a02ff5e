"""The `matref` command: its commands by name, and what becomes of an error.

Exit code 0: done. 2: what was typed, or what a file holds, makes no sense. 1: anything else. Both with one line on
stderr.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress

import click

from matref.cli.group import LazyGroup, asks_for_help
from matref.cli.session import Session, common_options
from matref.cli.trouble import usage_line
from matref.errors import BadInput, MatrefError

COMMANDS = {
    "find": "matref.cli.lookup:find",
    "show": "matref.cli.lookup:show",
    "convert": "matref.cli.lookup:convert",
    "caliper": "matref.cli.caliper:caliper",
    "sample": "matref.cli.sample:sample",
    "stock": "matref.cli.stock:stock",
    "spine": "matref.cli.spine:spine",
    "plan": "matref.cli.plan:plan",
    "layout": "matref.cli.layout:layout",
    "finished": "matref.cli.finished:finished",
    "serve": "matref.cli.serve:serve",
    "model": "matref.cli.model:model",
    "backup": "matref.cli.upkeep:backup",
    "check": "matref.cli.upkeep:check",
    "info": "matref.cli.upkeep:info",
}
"""Where each command is kept; a module is imported when its command is called or its help is shown."""


@click.group(
    "matref",
    cls=LazyGroup,
    places=COMMANDS,
    invoke_without_command=True,
    epilog="""Examples:

    \b
      matref caliper --size A4 --sheets 20 --mass "98 g"
      matref find linen thread
      matref convert 20 lb bond

    Every command has its own --help.""",
)
@click.version_option(package_name="matref", prog_name="matref", help="Show the version and exit.")
@common_options
@click.pass_context
def root(context: click.Context) -> None:
    """What is this paper, how thick is it, how wide will the spine be.

    A catalogue with sources, and an estimator, for people who make notebooks and small books from salvaged paper,
    cloth and card. The options below may stand before or after the command.
    """
    if asks_for_help(context):
        click.echo(context.get_help())


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line on `arguments` (None: those of the process); return the exit code."""
    if arguments is None:
        gc.set_threshold(100_000, 50, 50)  # one command makes little rubbish: looking for it takes a tenth of the time
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: threads would only wait
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError):  # a terminal that lacks a letter shows '?' instead of failing
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    session = Session()
    try:
        code = root.main(
            args=None if arguments is None else list(arguments), prog_name="matref", standalone_mode=False, obj=session
        )
    except click.UsageError as error:
        return _fail(2, usage_line(error))
    except BadInput as error:
        return _fail(2, str(error))
    except (MatrefError, click.ClickException) as error:
        return _fail(1, str(error))
    except (click.Abort, KeyboardInterrupt):
        return 1
    except Exception as error:  # the last resort: nobody at a bench is helped by a traceback
        if session.debug:
            raise
        return _fail(1, f"unexpected {type(error).__name__}: {error} (--debug shows where)")
    return code if isinstance(code, int) else 0


def _fail(code: int, line: str) -> int:
    click.echo("error: " + " ".join(line.split()), err=True)
    return code
