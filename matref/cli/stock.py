"""`stock`: what lies on your shelf, for plans to cut from before anything is bought."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from matref.cli.group import Group, asks_for_help
from matref.cli.session import Session, common_options
from matref.stock import GRAINS, MATERIALS

if TYPE_CHECKING:
    from matref.stock import Pile


@click.group(
    cls=Group,
    invoke_without_command=True,
    epilog="""Examples:

    \b
      matref stock add --material cloth --size "600 x 450 mm" --grain long --label "sailcloth offcut"
      matref stock list""",
)
@click.pass_context
def stock(context: click.Context) -> None:
    """Keep what lies on your shelf: piles of leaves, remnants of cloth, boards, card.

    A plan cuts its parts from there first, and takes a pile of leaves by its label (pile = "loft pile" under [paper]).
    """
    if asks_for_help(context):
        click.echo(context.get_help())


@stock.command(
    epilog="""Examples (from the chandler's loft):

    \b
      matref stock add --material paper --size A4 --count 60 --grain long --label "loft pile"
      matref stock add --material cloth --size "24 x 18 in" --grain short --entry canvas_duck --price 1.50
      matref stock add --material board --size "330 x 400 mm" --count 4 --grain long --json"""
)
@click.option("--material", type=click.Choice(MATERIALS), required=True, help="What it is for. Required.")
@click.option(
    "--size",
    metavar="TEXT",
    required=True,
    help='Size of one piece: a name such as A4, or two sides, mm unless they say otherwise ("24 x 18 in"). Required.',
)
@click.option("--count", type=int, metavar="N", default=1, show_default=True, help="Number of pieces.")
@click.option(
    "--grain",
    type=click.Choice(GRAINS),
    default="unknown",
    show_default=True,
    help="The side of a piece along which its grain or warp runs.",
)
@click.option(
    "--price", type=float, metavar="N", show_default="not known", help="Price of one piece, in your own currency."
)
@click.option("--label", metavar="TEXT", default="", show_default="none", help="Name to find it by.")
@click.option(
    "--note", metavar="TEXT", default="", show_default="none", help="Anything worth remembering; kept private."
)
@click.option("--sample", metavar="ID", show_default="none", help="A sample of yours that is of this pile.")
@click.option(
    "--entry",
    metavar="ID",
    show_default="none",
    help="Its id in the catalogue; then only plans that name that material cut from it.",
)
@common_options
@click.pass_obj
def add(session: Session, /, **given: Any) -> None:
    """Put a pile on the shelf: pieces of one size."""
    with session.open() as workshop:
        pile = workshop.stock.add(given.pop("material"), given.pop("size"), **given)
    session.tell(pile.as_json(), lambda: _as_text(pile, session.units))


@stock.command(
    "list",
    epilog="""Examples:

    \b
      matref stock list
      matref stock list --material cloth --json""",
)
@click.option("--material", type=click.Choice(MATERIALS), show_default="all", help="Only what is for this.")
@common_options
@click.pass_obj
def list_(session: Session, material: str | None) -> None:
    """List what is on the shelf, in the order in which it was put there."""
    with session.open() as workshop:
        found = workshop.stock.list(material)

    def text() -> str:
        from matref.cli.text import columns

        lines = columns([_cells(pile, session.units) for pile in found])
        return lines or "nothing on the shelf yet; matref stock add --help shows how to put something there"

    session.tell([pile.as_json() for pile in found], text)


@stock.command(
    epilog="""Examples:

    \b
      matref stock show "loft pile"
      matref stock show "loft pile" --json"""
)
@click.argument("name", metavar="ID")
@common_options
@click.pass_obj
def show(session: Session, name: str) -> None:
    """Show a pile, by id or label."""
    with session.open() as workshop:
        pile = workshop.stock.get(name)
    session.tell(pile.as_json(), lambda: _as_text(pile, session.units))


@stock.command(
    epilog="""Examples:

    \b
      matref stock remove "loft pile" --count 24
      matref stock remove "loft pile" """
)
@click.argument("name", metavar="ID")
@click.option("--count", type=int, metavar="N", show_default="all of them", help="Number of pieces to take off.")
@common_options
@click.pass_obj
def remove(session: Session, name: str, count: int | None) -> None:
    """Take pieces off a pile, by id or label: those that were used, or all."""
    with session.open() as workshop:
        left = workshop.stock.remove(name, count)
    session.tell(left.as_json(), lambda: f"{left.name}: {left.count} left" if left.count else f"{left.name}: gone")


def _cells(pile: Pile, preference: str) -> list[str]:
    return [pile.id, pile.material, *_pieces(pile, preference), pile.label]


def _pieces(pile: Pile, preference: str) -> tuple[str, str, str]:
    """Say how many pieces of which size, how their grain runs, what one costs."""
    from matref.cli.entry import size

    grain = {"none": "no grain", "unknown": "grain not known"}.get(pile.grain, f"grain {pile.grain}")
    price = "" if pile.price is None else f"{pile.price:.2f} each"
    return f"{pile.count} x {size([pile.width_mm, pile.height_mm], preference)}", grain, price


def _as_text(pile: Pile, preference: str) -> str:
    from matref.cli.text import labelled

    pieces, grain, price = _pieces(pile, preference)
    return labelled(
        [
            ("Pile", f"{pile.id} {pile.label}".strip()),
            ("Material", pile.material),
            ("Pieces", f"{pieces}, {grain}"),
            ("Price", price),
            ("Sample", pile.sample),
            ("Entry", pile.entry),
            ("Note", pile.note.splitlines()),
        ]
    )
