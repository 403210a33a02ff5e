"""`find`, `show` and `convert`: what the trade publishes, and what old measures mean."""

from __future__ import annotations

from typing import Any

import click

from matref.catalogue.rows import KINDS
from matref.cli import entry as words_of
from matref.cli.session import Session, common_options
from matref.cli.text import labelled, shortened, width

_RELATED_SHOWN = 6
_WIDEST_ID = 26
_NARROWEST = 40


@click.command(
    epilog="""Examples:

    \b
      matref find linen thread
      matref find 80 gsm copier
      matref find --kind sheet_size foolscap
      matref find ledger paper --json

    Nothing found is an answer, not an error: it names what comes near, and the exit code stays 0."""
)
@click.argument("words", nargs=-1, metavar="WORDS...")
@click.option(
    "--kind",
    type=click.Choice(KINDS),
    metavar="KIND",
    show_default="all kinds",
    help=f"Keep one kind of entry: {', '.join(KINDS)}. Without words, list all of that kind.",
)
@click.option("--limit", type=int, metavar="N", default=20, show_default=True, help="Most entries to list.")
@common_options
@click.pass_obj
def find(session: Session, words: tuple[str, ...], kind: str | None, limit: int) -> None:
    """Search papers, boards, cloths, threads, needles, sizes, units, rules and words of the trade.

    Words may be common names (cardstock, signature) and figures (80 gsm, 0.5 mm); figures put the nearest first.
    """
    typed = " ".join(words)
    close: list[str] = []
    with session.open() as workshop:
        found = workshop.find(typed, kind=kind, limit=limit)
        if not found:
            from matref.catalogue.search import near

            close = near(workshop.connection, typed)
    tail = f"near: {', '.join(close)}" if close else "try one plain word, such as: paper, thread, needle"
    session.tell(found, lambda: _list(found, session.units) if found else f'nothing called "{typed}"; {tail}')


@click.command(
    epilog="""Examples:

    \b
      matref show copier
      matref show sheet_size:iso-a5
      matref show linen-30-3 --json"""
)
@click.argument("words", nargs=-1, metavar="ID", required=True)
@click.option(
    "--kind",
    type=click.Choice(KINDS),
    metavar="KIND",
    show_default="any",
    help="Kind of entry, where entries of several kinds have that id.",
)
@common_options
@click.pass_obj
def show(session: Session, words: tuple[str, ...], kind: str | None) -> None:
    """Show one entry of the catalogue with all its values and every source.

    ID is what `find` prints on the left, or an entry's exact name.
    """
    with session.open() as workshop:
        found = workshop.show(" ".join(words), kind=kind)
    session.tell(found, lambda: _whole(found, session.units))


@click.command(
    epilog="""Examples:

    \b
      matref convert 20 lb bond
      matref convert 18/3 linen
      matref convert needle 14
      matref convert "4 oz/yd2" --json
      matref convert foolscap --units in"""
)
@click.argument("words", nargs=-1, metavar="TEXT", required=True)
@common_options
@click.pass_obj
def convert(session: Session, words: tuple[str, ...]) -> None:
    """Say what an old or foreign measure means: paper weights, points, ounces, thread counts, needles, sheet names.

    Where the trade disagrees every meaning is given with its source, the most usual first.
    """
    with session.open() as workshop:
        found = workshop.convert(" ".join(words))
    session.tell(found, lambda: _meanings(found, session.units))


def _list(found: list[dict[str, Any]], preference: str) -> str:
    margin = min(max(len(one["id"]) for one in found), _WIDEST_ID)
    lines = []
    for one in found:
        text = f"{one['name']} ({words_of.kind_words(one['kind'])}): {words_of.summary(one, preference)}".rstrip(": ")
        head = one["id"].ljust(margin) + "  "
        lines.append(head + shortened(text, max(width() - len(head), _NARROWEST)))
    return "\n".join(lines)


def _whole(found: dict[str, Any], preference: str) -> str:
    kind = found["kind"]
    refers = found["refers_to"]
    rows: list[tuple[str, str | list[str]]] = [(found["name"], f"{words_of.kind_words(kind)}, id {found['id']}")]
    for what, text in words_of.facts(found, preference):
        named = refers.get(what.replace(" ", "_") + "_id", {})
        rows.append((what, named.get("name", text)))
    if readings := found.get("readings"):
        pairs = words_of.facts(
            {k: v for k, v in _flat(readings).items() if k not in ("count", "used_in_fit")}, preference
        )
        counted = f"{readings['count']} published pairs, {readings['used_in_fit']} of them used in the fit"
        rows.append(("readings", [counted, *(f"{what} {text}" for what, text in pairs)]))
    if usual := found.get("usual"):
        rows.append(("usual", [f"{what} {text}" for what, text in words_of.facts(_flat(usual), preference)]))
    if kind != "source":
        rows.append(("source", words_of.source_words(found["source"])))
        others = [s for s in found["sources"] if s.get("id") != found["source"].get("id")]
        rows.append(("also in", [words_of.source_words(other) for other in others]))
    related = [f"{one['id']}: {one['name']}, {words_of.summary(one, preference)}" for one in found["related"]]
    more = len(related) - _RELATED_SHOWN
    rows.append(
        (
            "same name",
            [shortened(line, width() - _WIDEST_ID) for line in related[:_RELATED_SHOWN]]
            + [f"and {more} more"] * (more > 0),
        )
    )
    return labelled(rows)


def _flat(readings: dict[str, Any]) -> dict[str, Any]:
    """Turn `caliper_um: {low, high}` into `caliper_low_um`, `caliper_high_um`, as rows of the catalogue have it."""
    flat: dict[str, Any] = {}
    for key, cell in readings.items():
        if isinstance(cell, dict):
            stem, _, unit = key.partition("_")
            flat |= {f"{stem}_{end}_{unit}": cell[end] for end in ("low", "high")}
        else:
            flat[key] = cell
    return flat


def _meanings(found: dict[str, Any], preference: str) -> str:
    rows: list[tuple[str, str | list[str]]] = [(_value(found, preference), _meaning(found))]
    if "low" in found and "also" in found:
        low, high = (
            _value(found | {"value": found["low"]}, preference),
            _value(found | {"value": found["high"]}, preference),
        )
        rows.append(("trade says", f"{low} to {high}, by who says it:"))
    elif "low" in found:
        low, high = (
            _value(found | {"value": found["low"]}, preference),
            _value(found | {"value": found["high"]}, preference),
        )
        rows.append(("range", f"{low} to {high}"))
    rows += [(_value(other, preference), _meaning(other)) for other in found.get("also", ())]
    return labelled(rows)


def _meaning(reading: dict[str, Any]) -> list[str]:
    lines = [reading["meaning"] + (", exact" if reading["exact"] else ", as printed")]
    if diameter := reading.get("diameter_mm"):
        lines.append("about {value:.2f} mm thick ({low:.2f} to {high:.2f})".format(**diameter))
    lines += [str(reading[key]) for key in ("note",) if key in reading]
    lines.append(f"source: {words_of.source_words(reading['source'])}")
    return lines


def _value(reading: dict[str, Any], preference: str) -> str:
    value, unit = reading["value"], reading["unit"]
    if isinstance(value, list):
        return words_of.size(value, preference)
    return words_of.with_unit(value, unit, preference)
