"""`layout`: parts given by hand on the pieces at hand, by straight cuts, with the least stock cut into."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from matref.cli.layout_input import piece_of
from matref.cli.layout_search import Asked, solve
from matref.cli.session import Session, common_options
from matref.cli.sheet import Outputs, output_options
from matref.errors import BadInput

if TYPE_CHECKING:
    from matref.cli.layout_search import Done


@click.command(
    epilog="""Examples:

    \b
      matref layout --part "board 156x104 x2 grain=length" --stock "greyboard 330x400 grain=length"
      matref layout --part "side paper 190x92 x2" --stock "chart 594x420" --stock "ledger leaf 330x205 x4" --json
      matref layout --part "cover 240x170 x3 grain=length" --bolt-width 1400 --svg covers.svg --pdf covers.pdf

    Knives: cut away from yourself along a steel straight edge, in several light strokes."""
)
@click.option(
    "--part",
    "parts",
    multiple=True,
    required=True,
    metavar="TEXT",
    help='A part: "name LENGTHxWIDTH xCOUNT grain=length|width|either nap"; all but name and size may be left out.',
)
@click.option(
    "--stock",
    "stock",
    multiple=True,
    metavar="TEXT",
    show_default="none",
    help='A piece to cut from: "name LENGTHxWIDTH xCOUNT grain=length|width|either|unknown price=N".',
)
@click.option(
    "--bolt-width",
    metavar="LENGTH",
    show_default="none",
    help="Width of a bolt of cloth, instead of stock: finds the least length to buy, the warp along it.",
)
@click.option("--blade", metavar="LENGTH", default="0", show_default=True, help="What every cut loses.")
@click.option(
    "--keep", metavar="LENGTH", default="30", show_default=True, help="Shorter side of an offcut worth keeping."
)
@click.option(
    "--least",
    type=click.Choice(["area", "cost"]),
    default="area",
    show_default=True,
    help="What to save: area cut into, or the price of the pieces.",
)
@click.option(
    "--seconds",
    type=click.FloatRange(min=0, min_open=True),
    metavar="S",
    show_default="about 1",
    help="Search on for up to so many seconds; Ctrl-C takes the best layout found so far.",
)
@output_options
@common_options
@click.pass_obj
def layout(session: Session, /, pdf: str | None, svg: str | None, page: str | None, **typed: Any) -> None:
    """Lay parts on the pieces at hand by straight cuts from edge to edge, least stock cut into, large pieces left over.

    Sizes are mm unless they say otherwise; the grain runs along the first figure with grain=length. Stock that says
    nothing of its grain only takes parts that may lie either way.
    """
    outputs, asked = Outputs(pdf, svg, page=page), Asked(**typed)
    outputs.check()
    if bool(asked.stock) == (asked.bolt_width is not None):
        raise BadInput("give --stock or --bolt-width, one of the two", example='--stock "greyboard 700x1000"')
    done = solve(asked)
    listed = _listed(done, asked.stock)
    _write(done, listed, outputs, session.units)
    session.tell(_plain(done, listed), lambda: _as_text(done, listed, session.units) + outputs.told())


def _listed(done: Done, stock: tuple[str, ...]) -> list[dict[str, Any]]:
    from matref.book.cutting import Layouts

    if isinstance(done, Layouts):
        return done.as_json([piece_of(text).grain for text in stock])
    return [done.layout.of_piece("length off the bolt", done.part_names, 1, "length")]


def _plain(done: Done, listed: list[dict[str, Any]]) -> dict[str, Any]:
    from matref.book.cutting import BoltLength

    common = {"proved": done.proved, "layouts": listed, "notes": list(done.notes)}
    if isinstance(done, BoltLength):
        return {"length_mm": done.length_mm, "bound_mm": done.bound_mm, "waste_share": done.layout.waste, **common}
    return {
        "area_mm2": done.area_mm2,
        "cost": done.cost,
        "bound": done.bound,
        "waste_share": done.waste,
        "missing": [{"name": name, "count": count} for name, count in done.missing],
        **common,
    }


def _write(done: Done, listed: list[dict[str, Any]], outputs: Outputs, units: str) -> None:
    if not outputs.files:
        return
    from matref.bench import layouts_pdf, layouts_svg, write_whole

    if outputs.svg is not None:
        write_whole(layouts_svg(listed, units).encode(), outputs.svg)
    if outputs.pdf is not None:
        words = [text for _, text in _summary(done, units) if text]
        layouts_pdf(listed, outputs.pdf, words=words, paper=outputs.paper, units=units)


def _summary(done: Done, units: str) -> list[tuple[str, str]]:
    from matref.book.cutting import BoltLength
    from matref.quantities import format_length

    rows = []
    if isinstance(done, BoltLength):
        rows.append(("Length", f"{format_length(done.length_mm, units)} off the bolt"))
        least = f"nothing below {format_length(done.bound_mm, units)} can do"
        rows.append(("Proof", "no shorter length can do" if done.proved else f"not proved: {least}"))
    else:
        missing = ", ".join(f"{count} x {name}" for name, count in done.missing)
        cost = "" if done.cost is None else f", {done.cost:.2f} in all"
        number = len(done.sheets)
        rows.append(("Pieces", f"{number} cut into, {100 * done.waste:.0f} % of them left over{cost}"))
        rows.append(("No room", missing))
        proof = "the stock cannot hold more than this" if missing else "no choice of pieces does with less"
        rows.append(("Proof", proof if done.proved else "not proved: less might do"))
    return [*rows, ("Note", "; ".join(done.notes))]


def _as_text(done: Done, listed: list[dict[str, Any]], units: str) -> str:
    from matref.bench.layout_view import cuts_in_words
    from matref.bench.lengths import size, units_of
    from matref.cli.text import labelled

    shown = units_of(units)
    rows: list[tuple[str, str | list[str]]] = list(_summary(done, units))
    for one in listed:
        cuts = [f"{number}. {cut}" for number, cut in enumerate(cuts_in_words(one, shown), 1)]
        kept = ", ".join(size(off["length_mm"], off["width_mm"], shown) for off in one["offcuts"])
        rows.append((str(one["piece"]), [*cuts, *([f"worth keeping: {kept}"] if kept else [])]))
    return labelled(rows)
