"""`plan`: the whole book from a plan file: sections, spine, what to cut, how to sew, what to buy."""

from __future__ import annotations

from typing import Any

import click

from matref.cli.session import Session, common_options
from matref.cli.sheet import Outputs, html_option, output_options, write_sheets
from matref.errors import BadInput, FileTrouble

_EXAMPLE = "matref plan --starter logbook.toml"


@click.command(
    epilog="""Examples:

    \b
      matref plan --starter logbook.toml
      matref plan logbook.toml
      matref plan logbook.toml --json
      matref plan --demo quarter-cloth-case
      matref plan logbook.toml --pdf logbook.pdf --svg logbook.svg --html logbook.html

    Two plan files side by side: matref plan logbook.toml --compare ledger.toml

    Each step comes with its usual cautions; the maker's instructions, local rules and qualified advice come first."""
)
@click.argument("file", metavar="FILE.toml", required=False)
@click.option(
    "--starter",
    metavar="FILE.toml",
    show_default="none",
    help="Write a commented plan file to begin with, under a new name.",
)
@click.option(
    "--demo",
    metavar="NAME",
    show_default="none",
    help="Plan a demo book instead, of invented values: pocket-logbook, long-stitch-ledger, quarter-cloth-case.",
)
@click.option(
    "--compare",
    metavar="FILE2.toml",
    multiple=True,
    show_default="none",
    help="Another plan file to set beside FILE.toml, in figures that decide; may be given several times.",
)
@output_options
@html_option
@common_options
@click.pass_obj
def plan(
    session: Session,
    /,
    file: str | None,
    starter: str | None,
    demo: str | None,
    compare: tuple[str, ...],
    pdf: str | None,
    svg: str | None,
    html: str | None,
    page: str | None,
) -> None:
    """Plan a whole book from FILE.toml: sections, spine, cutting list, sewing, shopping and cautions, with ranges.

    Lengths in the file are mm, or inches with _in. Candidates under [[compare]] are set side by side.
    """
    if sum(given is not None for given in (file, starter, demo)) != 1:
        raise BadInput(
            "give a plan file, --starter or --demo, one of the three",
            expected="a file written by --starter",
            example=_EXAMPLE,
        )
    outputs = Outputs(pdf, svg, html, page)
    outputs.check()
    if outputs.files and (starter is not None or compare):
        raise BadInput(
            f"{outputs.files[0]} is to hold one plan, not a starter file or a comparison",
            expected="a plan file or a demo alone",
            example="matref plan logbook.toml --pdf logbook.pdf",
        )
    if starter is not None:
        _write_starter(starter)
        session.tell(
            {"starter": starter}, lambda: f"{starter} is a plan to begin with; change it, then: matref plan {starter}"
        )
        return
    _answer(session, _source(file, demo), compare, outputs)


def _answer(session: Session, source: Any, others: tuple[str, ...], outputs: Outputs) -> None:
    from matref.cli.plan_text import as_table, as_text

    with session.open() as workshop:
        if others:
            from matref.planning import compare

            table = compare(workshop.connection, [source, *others])
            session.tell(table.as_json(), lambda: as_table(table, session.units))
            return
        found = workshop.plan(source)
    write_sheets(found, outputs, session.units)
    session.tell(found.as_json(), lambda: as_text(found, session.units) + outputs.told())


def _source(file: str | None, name: str | None) -> Any:
    if name is None:
        return file or ""
    from matref.demo import demo

    return demo(name)


def _write_starter(name: str) -> None:
    from pathlib import Path

    from matref.planning import starter

    place = Path(name).expanduser()
    try:
        with place.open("x", encoding="utf-8") as file:
            file.write(starter())
    except FileExistsError as error:
        raise FileTrouble(f"{place} exists already", expected="a new name; nothing is written over") from error
    except OSError as error:
        raise FileTrouble(
            f"{place} cannot be written: {error.strerror or error}", expected="a name in a folder"
        ) from error
