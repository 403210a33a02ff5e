"""`spine`: how thick a sewn book is at fore-edge and spine, and what makes that doubtful."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from matref.book.swell import SEWINGS
from matref.cli.options import evidence_of, evidence_options, level_option, sample_option
from matref.cli.session import Session, common_options

if TYPE_CHECKING:
    from matref.answers import SpineAnswer


@click.command(
    epilog="""Examples (a pocket logbook from ledger leaves):

    \b
      matref spine --sheets-per-section 4 --sections 5 --caliper 104 --thread "30/3 linen"
      matref spine --sheets-per-section 4 --pages 80 --class ledger --grammage 90 --thread "0.5 mm"
      matref spine --sheets-per-section 6 --pages 144 --class copier --thread "18/3 linen" --sewing two-on
      matref spine --sheets-per-section 4 --sections 9 --caliper "0.104 mm" --thread "0.4 mm" --rounding 60 --json

    Needles and awls: put the awl into cork when it is not in the hand, and pierce away from the fingers."""
)
@click.option(
    "--sheets-per-section",
    type=int,
    metavar="N",
    required=True,
    help="Sheets folded together in one section. Required.",
)
@click.option("--sections", type=int, metavar="N", show_default="from --pages", help="Number of sections.")
@click.option("--pages", type=int, metavar="N", show_default="from --sections", help="Number of pages wanted instead.")
@click.option(
    "--thread",
    metavar="TEXT",
    required=True,
    help='Thread: a count with its fibre ("30/3 linen"), an id that `find` lists, or a diameter ("0.5 mm"). Required.',
)
@click.option(
    "--sewing",
    type=click.Choice(tuple(SEWINGS)),
    default="all-along",
    show_default=True,
    help="How the sections are sewn; it decides how much thread lies in the folds. Two-on: all of them in pairs, "
    "without endpapers; `plan` counts the ends that are sewn all along.",
)
@click.option(
    "--rounding",
    type=float,
    metavar="DEG",
    default=0.0,
    show_default=True,
    help="Angle of the round of the back in degrees: 0 flat, 120 a third of a circle, 180 half a circle.",
)
@click.option(
    "--caliper",
    metavar="LENGTH",
    show_default="from the evidence",
    help="Measured thickness of one sheet, instead of other evidence: µm if a bare number.",
)
@evidence_options
@sample_option
@level_option
@common_options
@click.pass_obj
def spine(
    session: Session,
    /,
    sheets_per_section: int,
    sections: int | None,
    pages: int | None,
    thread: str,
    sewing: str,
    rounding: float,
    caliper: str | None,
    sample: str | None,
    level: float,
    **typed: Any,
) -> None:
    """Tell how wide the spine of a sewn book will be: fore-edge, swell by thread, spine, creep, with ranges.

    The paper is given by --caliper or by the same evidence as the caliper command takes.
    """
    with session.open() as workshop:
        found = workshop.spine(
            sheets_per_section=sheets_per_section,
            sections=sections,
            pages=pages,
            thread=thread,
            caliper_um=caliper,
            sewing=sewing,
            rounding_deg=rounding,
            level=level,
            sample=sample,
            **evidence_of(typed),
        )
    session.tell(found.as_json(), lambda: as_text(found, session.units, rounding))


def as_text(found: SpineAnswer, preference: str, rounding_deg: float = 0.0) -> str:
    """Say the answer in a bookbinder's words."""
    from matref.cli.text import labelled, ranged, supports

    ratio = found.swell_ratio
    number, sheets = found.sections, found.sheets_per_section
    made_of = f"{number} section{'s' * (number != 1)} of {sheets} sheet{'s' * (sheets != 1)}, {found.pages} pages"
    rows: list[tuple[str, str | list[str]]] = [
        ("Spine", ranged(found.spine_mm, "mm", preference, sure=True)),
        ("Fore-edge", ranged(found.fore_edge_mm, "mm", preference)),
        ("Swell", f"{ranged(found.swell_mm, 'mm', preference)}, {ratio.value:.0%} of the block".replace("%", " %")),
        ("Over the back", ranged(found.arc_mm, "mm", preference) if rounding_deg else ""),
        ("Creep", f"{ranged(found.creep_mm, 'mm', preference)} from outermost to innermost sheet, before trimming"),
        ("Book", f"{made_of}; {found.pages_per_inch.value:.0f} pages to the inch"),
        ("Section", f"{ranged(found.section_mm, 'mm', preference)} closed, without thread"),
        ("Paper", f"{ranged(found.caliper_um, 'um', preference)} a sheet"),
        ("Thread", found.thread),
        ("Most doubt", found.biggest_cause + _remedy(found)),
        ("Rests on", supports(found.rests_on)),
        ("Warning", list(found.warnings)),
    ]
    return labelled(rows)


def _remedy(found: SpineAnswer) -> str:
    """Say how to settle the biggest doubt, where two sewn sections would."""
    biggest = found.causes[0][0] if found.causes else ""
    settled = biggest in ("flattening", "pressing", "thread", "fold")
    return "; sew and press two sections and measure them" if settled else ""
