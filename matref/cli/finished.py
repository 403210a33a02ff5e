"""`finished`: how a book came out, beside what was predicted; later spines learn from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from matref.book.swell import SEWINGS
from matref.cli.group import Group, asks_for_help
from matref.cli.options import evidence_of, evidence_options, sample_option
from matref.cli.session import Session, common_options
from matref.estimator.assumptions import INSTRUMENT

if TYPE_CHECKING:
    from matref.finished import Compared, FinishedBook


@click.group(
    cls=Group,
    invoke_without_command=True,
    epilog="""Examples:

    \b
      matref finished list""",
)
@click.pass_context
def finished(context: click.Context) -> None:
    """Record finished books; the pressing and the swell of later ones are learnt from them."""
    if asks_for_help(context):
        click.echo(context.get_help())


@finished.command(
    epilog="""Examples (a pocket logbook, its bare block measured under a board at fore-edge and spine):

    \b
      matref finished add --label "first logbook" --sheets-per-section 4 --sections 8 --thread "30/3 linen" --caliper 104 --fore-edge 6.4 --spine 9.0 --measured-with vernier
      matref finished add --sheets-per-section 4 --sections 5 --thread "0.5 mm" --class ledger --grammage 90 --fore-edge "4 mm" --json"""  # noqa: E501
)
@click.option("--label", metavar="TEXT", default="", show_default="none", help="Name to find it by.")
@click.option("--note", metavar="TEXT", default="", show_default="none", help="Anything worth remembering.")
@click.option("--measured-on", metavar="DAY", show_default="today", help="Day of the measurement: year-month-day.")
@click.option(
    "--fore-edge",
    "fore_edge_mm",
    metavar="LENGTH",
    show_default="not measured",
    help="Thickness of the bare block at the fore-edge, before rounding: mm if a bare number. This or --spine.",
)
@click.option(
    "--spine",
    "spine_mm",
    metavar="LENGTH",
    show_default="not measured",
    help="Thickness of the bare block at the spine, before rounding: mm if a bare number.",
)
@click.option(
    "--measured-with",
    type=click.Choice(tuple(INSTRUMENT)),
    default="ruler",
    show_default=True,
    help="What the block was measured with.",
)
@click.option(
    "--plan", metavar="FILE", show_default="none", help="The book's plan file; what is not given here is taken from it."
)
@click.option("--sheets-per-section", type=int, metavar="N", show_default="from --plan", help="Sheets in one section.")
@click.option("--sections", type=int, metavar="N", show_default="from --plan", help="Number of sections.")
@click.option(
    "--endpaper-leaves",
    type=int,
    metavar="N",
    default=0,
    show_default=True,
    help="Leaves of endpaper that count into the thickness.",
)
@click.option(
    "--thread",
    metavar="TEXT",
    show_default="from --plan",
    help='Thread: a count with its fibre ("30/3 linen"), an id that `find` lists, or a diameter ("0.5 mm").',
)
@click.option(
    "--sewing",
    type=click.Choice(tuple(SEWINGS)),
    show_default="from --plan, else all-along",
    help="How the sections are sewn.",
)
@click.option(
    "--pressing",
    type=click.Choice(["pressed", "nipped", "unpressed"]),
    default="pressed",
    show_default=True,
    help="What was done to the block before it was measured.",
)
@click.option(
    "--caliper",
    "caliper_um",
    metavar="LENGTH",
    show_default="from the evidence",
    help="Measured thickness of one sheet, instead of other evidence: µm if a bare number.",
)
@evidence_options
@sample_option
@common_options
@click.pass_obj
def add(session: Session, /, plan: str | None, **given: Any) -> None:
    """Record a finished book: what it is made of, and its measured thickness at fore-edge, spine or both."""
    from matref.finished import FinishedBooks

    facts = None
    if plan is not None:
        from matref.planning.document import load

        facts = load(plan)
    with session.open() as workshop:
        book = FinishedBooks(workshop.connection).add(plan=facts, **evidence_of(given))
    session.tell(book.as_json(), lambda: _as_text(book, session.units))


@finished.command(
    "list",
    epilog="""Examples:

    \b
      matref finished list
      matref finished list --json""",
)
@click.option("--all", "withdrawn", is_flag=True, help="Withdrawn books too.")
@common_options
@click.pass_obj
def list_(session: Session, withdrawn: bool) -> None:
    """List the finished books, predicted against measured, and what they teach."""
    from matref.estimator.estimate import Estimate
    from matref.finished import FinishedBooks, flattening_posterior, pressing_posterior

    with session.open() as workshop:
        books = FinishedBooks(workshop.connection).list(withdrawn=withdrawn)
        pressing = Estimate.of(pressing_posterior(workshop.connection))
        flattening = Estimate.of(flattening_posterior(workshop.connection, "mixed", ""))

    def text() -> str:
        from matref.cli.text import labelled, ranged

        if not books:
            return "no finished books yet; matref finished add --help shows how to record one"
        listed = "\n\n".join(_as_text(book, session.units) for book in books)
        learnt = labelled(
            [
                (
                    "Pressing",
                    f"{ranged(pressing, '')} of a sheet's caliper is what a leaf takes up in the pressed block",
                ),
                ("Flattening", f"{ranged(flattening, '')} of the thread's thickness is left after nipping"),
            ]
        )
        return f"{listed}\n\nWhat to expect of the next book:\n{learnt}"

    session.tell([book.as_json() for book in books], text)


def _as_text(book: FinishedBook, preference: str) -> str:
    from matref.cli.text import labelled

    made_of = f"{book.sections} sections of {book.sheets_per_section} sheets, {book.sewing}, {book.thread}"
    alone = []
    if book.pressing_factor is not None:
        alone.append(f"pressing {book.pressing_factor:.2f}")
    if book.flattening is not None:
        alone.append(f"flattening {book.flattening:.2f}")
    return labelled(
        [
            ("Book", f"{book.id} {book.label}".strip() + (" (withdrawn)" if book.withdrawn_at else "")),
            ("Made of", f"{made_of}, {book.pressing}, measured on {book.measured_on}"),
            ("Fore-edge", _compared(book.fore_edge_mm, preference)),
            ("Spine", _compared(book.spine_mm, preference)),
            ("It alone says", ", ".join(alone)),
            ("Note", book.note.splitlines()),
            ("Warning", list(book.warnings)),
        ]
    )


def _compared(one: Compared, preference: str) -> str:
    from matref.cli.text import give_or_take, ranged

    predicted = f"predicted {ranged(one.predicted, 'mm', preference)}"
    if one.measured is None or one.u is None:
        return f"{predicted}, not measured"
    verdict = "inside" if one.inside else "outside"
    return f"{predicted}, measured {give_or_take(one.measured, one.u, 'mm', preference)}: {verdict} the range"
