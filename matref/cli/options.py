"""The options that describe evidence of a pile, the same for every command that takes some."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from matref.errors import BadInput
from matref.estimator.assumptions import HELD, INSTRUMENT

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

_OPTIONS = (
    click.option(
        "--class",
        "paper_class",
        metavar="ID",
        multiple=True,
        show_default="any, as they turn up in salvage",
        help="Class of paper as `find` lists it, such as copier; a,b (or the option twice) when it is one of them.",
    ),
    click.option(
        "--grammage",
        metavar="TEXT",
        help='Grammage on the label: g/m² if a bare number, or a basis weight such as "20 lb bond".',
    ),
    click.option(
        "--size",
        metavar="TEXT",
        help='Size of the sheets weighed (of a book: of its pages): a name such as A4, or "210 x 297" in mm or '
        '"8.5 x 11 in".',
    ),
    click.option("--sheets", metavar="N", help="Number of sheets weighed together."),
    click.option("--mass", metavar="MASS", help="What those sheets weigh: g if a bare number."),
    click.option(
        "--scale-resolution",
        metavar="MASS",
        show_default="last digit typed in --mass",
        help="Smallest step that the scale shows: g if a bare number.",
    ),
    click.option(
        "--stack-sheets",
        metavar="N",
        help="Number of sheets whose thickness was measured; 1 is one sheet.",
    ),
    click.option("--stack", metavar="LENGTH", help="Thickness of that stack: mm if a bare number."),
    click.option(
        "--with",
        "with_",
        type=click.Choice(tuple(INSTRUMENT)),
        show_default="ruler",
        help="What the stack was measured with; it decides how finely the thickness is known.",
    ),
    click.option(
        "--held",
        type=click.Choice(tuple(HELD)),
        show_default="hand; gauge with a micrometer",
        help="How the stack was held while measured: squeezed by hand, clamped between boards, or in a gauge.",
    ),
    click.option("--ream-sheets", metavar="N", help="Sheets in a ream, as printed on its wrapper."),
    click.option(
        "--ream-mass",
        metavar="MASS",
        help="Mass printed on that wrapper (a ream put on the scale is --sheets and --mass): g if a bare number.",
    ),
    click.option("--book-pages", metavar="N", help="Pages of a bound book of this paper."),
    click.option(
        "--book-thickness",
        metavar="LENGTH",
        help="Thickness of its closed text block, without the cover: mm if a bare number.",
    ),
    click.option("--book-mass", metavar="MASS", help="What the book weighs: g if a bare number."),
    click.option(
        "--cover",
        type=click.Choice(["on", "off"]),
        show_default="on",
        help="Whether the book was weighed with its cover.",
    ),
)


def evidence_options(command: Decorated) -> Decorated:
    """Give a command the options whose names are the fields of `matref.estimator.evidence.Evidence`."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def level_option(command: Decorated) -> Decorated:
    """Give a command `--level`."""
    return click.option(
        "--level",
        callback=share,
        metavar="SHARE",
        default="0.9",
        show_default=True,
        help='Chance that the truth lies in the range, as a share or in percent ("90%"): 0.5 to 0.999.',
    )(command)


def sample_option(command: Decorated) -> Decorated:
    """Give a command `--sample`."""
    return click.option(
        "--sample",
        metavar="ID",
        show_default="none",
        help="A sample of your own whose measurements count as this pile's.",
    )(command)


def evidence_of(typed: dict[str, Any]) -> dict[str, Any]:
    """Return the options that were typed, those of `evidence_options` as fields of Evidence."""
    fields = {name: value for name, value in typed.items() if value is not None and value != ()}
    if "paper_class" in fields:
        fields["paper_class"] = ",".join(fields["paper_class"])
    return fields


def share(context: click.Context, option: click.Parameter, value: str) -> float:  # noqa: ARG001 - click's signature
    """Return a share of one typed as "0.9" or "90%"; BadInput where it is no number."""
    text = value.strip()
    return _number(text, option.opts[0], "0.9") / (100 if text.endswith("%") else 1)


def percent(context: click.Context, option: click.Parameter, value: str | None) -> float | None:  # noqa: ARG001
    """Return a percentage typed as "2%" or "2"; BadInput where it is none between 0.01 and 100."""
    if value is None:
        return None
    number = _number(value.strip(), option.opts[0], '"2%"')
    if not 0.01 <= number <= 100:
        raise BadInput(f"{option.opts[0]} {value}", expected="0.01 to 100 percent", example=f'{option.opts[0]} "2%"')
    return number


def _number(text: str, option: str, example: str) -> float:
    try:
        return float(text.removesuffix("%").strip())
    except ValueError as error:
        raise BadInput(
            f'{option} "{text[:20]}" is no number', expected="a number", example=f"{option} {example}"
        ) from error
