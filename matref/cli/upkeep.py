"""`backup`, `check` and `info`: looking after the workshop file."""

from __future__ import annotations

from dataclasses import asdict

import click

from matref.cli.session import Session, common_options
from matref.cli.text import labelled

_WAY_BACK = "a backup is opened with --db; matref check --salvage FILE copies what can be read into a new file"


@click.command(
    epilog="""Examples:

    \b
      matref backup logbooks-2024.db
      matref backup logbooks-copy.db --json"""
)
@click.argument("file", metavar="FILE")
@common_options
@click.pass_obj
def backup(session: Session, file: str) -> None:
    """Copy the workshop file to FILE, a new name, even while others are writing to it."""
    from matref import workshop

    copy = workshop.backup(session.path, file)
    size = copy.stat().st_size
    session.tell({"backup": str(copy), "bytes": size}, lambda: f"{copy} ({size / 1e6:.1f} MB)")


@click.command(
    epilog="""Examples:

    \b
      matref check
      matref check --json
      matref check --salvage saved.db"""
)
@click.option(
    "--salvage",
    "target",
    metavar="FILE",
    show_default="only look",
    help="Copy what can be read of your samples, books and stock out of a damaged file into FILE, a new one.",
)
@common_options
@click.pass_context
def check(context: click.Context, target: str | None) -> None:
    """Look for damage in the workshop file, and for catalogue rows lost or added by hand.

    The exit code is 1 if something is wrong. With --salvage the damaged file is only read, and the code is 0 if
    something of yours could be saved.
    """
    from matref import workshop

    session = context.ensure_object(Session)
    if target is not None:
        _salvage(session, target)
        return
    found = workshop.check(session.path)
    verdict = f"{found.path}: nothing wrong, {sum(found.rows.values())} rows"
    session.tell(
        {"ok": found.ok, **asdict(found)},
        lambda: verdict if found.ok else "\n".join((found.path, *found.problems, _WAY_BACK)),
    )
    context.exit(0 if found.ok else 1)


def _salvage(session: Session, target: str) -> None:
    from matref.salvage import salvage

    saved = salvage(session.path, target)

    def text() -> str:
        words = [f"{count} {name.replace('_', ' ')}" for name, count in saved.rows.items() if count]
        return labelled(
            [
                ("Saved", f"{saved.saved_to}: {', '.join(words)}"),
                ("Loose", f"{saved.rows_from_loose_pages} of them from pages that nothing led to any more"),
                ("Gaps", f"{saved.rows_garbled} of them have gaps in their words" if saved.rows_garbled else ""),
                ("Lost", f"{saved.rows_unreadable} rows and {saved.pages_unreadable} pages could not be read"),
                ("Now", f"look through it, then use it with --db {saved.saved_to}; {saved.path} is as it was"),
            ]
        )

    session.tell(saved.as_json(), text)


@click.command(
    epilog="""Examples:

    \b
      matref info
      matref info --json"""
)
@common_options
@click.pass_obj
def info(session: Session) -> None:
    """Say where the workshop file is, which edition of the data it holds, how many rows, and which matref this is."""
    from matref import workshop

    found = workshop.info(session.path)
    newer = "" if found.edition == found.packaged_edition else f" (this matref brings {found.packaged_edition})"

    def text() -> str:
        return labelled(
            [
                ("File", f"{found.path} ({found.bytes / 1e6:.1f} MB)"),
                ("Program", f"matref {found.program_version}"),
                ("Data", f"edition {found.edition}{newer}, {found.data_licence}"),
                ("Compiled", found.compiled_at),
                ("Layout", str(found.schema_version)),
                ("Rows", ", ".join(f"{name} {count}" for name, count in found.rows.items())),
            ]
        )

    session.tell(asdict(found), text)
