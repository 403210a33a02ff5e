"""`caliper`: what a pile of paper is, how thick, how sure, and what to measure next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from matref.cli.options import evidence_of, evidence_options, level_option, percent, sample_option
from matref.cli.session import Session, common_options
from matref.quantities import format_number

if TYPE_CHECKING:
    from matref.estimator.advice import Target
    from matref.estimator.caliper import CaliperResult

_CAUSES_SHOWN = 3


@click.command(
    epilog="""Examples (a pile of old tide tables from the chandler's loft):

    \b
      matref caliper --size A4 --sheets 20 --mass "98 g"
      matref caliper --size A4 --sheets 20 --mass "98 g" --stack-sheets 100 --stack "10.5 mm"
      matref caliper --class copier --grammage "20 lb bond"
      matref caliper --class ledger,bond_writing --stack-sheets 50 --stack "1/4 in" --held clamped
      matref caliper --stack-sheets 1 --stack "0.104 mm" --with micrometer --json
      matref caliper --book-pages 240 --book-thickness "14 mm" --size A5 --book-mass "310 g"
      matref caliper --grammage 90 --target "2%"

    At least one piece of evidence is needed; each further one narrows the range."""
)
@evidence_options
@sample_option
@level_option
@click.option(
    "--target",
    callback=percent,
    metavar="PERCENT",
    show_default="none",
    help='Also say how many sheets each way of measuring needs for a range of plus or minus this much, such as "2%".',
)
@common_options
@click.pass_obj
def caliper(session: Session, /, sample: str | None, level: float, target: float | None, **typed: Any) -> None:
    """Tell how thick a paper is, how bulky and how heavy, with ranges, from whatever is known of the pile.

    Measures may carry units ("10.5 mm", "3/8 in", "98 g", "3 1/2 oz"); what is left out is not known. The answer names
    the likely kinds of paper, why the range is as wide as it is, what it rests on, and the measurement that would help
    most.
    """
    with session.open() as workshop:
        found = workshop.caliper(level=level, sample=sample, target_pct=target, **evidence_of(typed))
    session.tell(found.as_json(), lambda: as_text(found, session.units, target))


def as_text(found: CaliperResult, preference: str, target_pct: float | None = None) -> str:
    """Say the answer in a bookbinder's words."""
    from matref.cli.text import labelled, ranged, supports

    rows: list[tuple[str, str | list[str]]] = [
        ("Caliper", ranged(found.caliper_um, "um", preference, sure=True)),
        ("Bulk", ranged(found.bulk_cm3_g, "cm3/g")),
        ("Grammage", ranged(found.grammage_gsm, "g/m2")),
    ]
    if len(found.classes) > 1:
        rows.append(("Likely", ", ".join(_likely(found))))
    elif mean := found.class_mean_caliper_um:
        rows.append(
            ("Its kind", f"{found.classes[0].name}, on average {ranged(mean, 'um', preference)} at this grammage")
        )
    rows += [
        ("Why so wide", _why(found)),
        ("Rests on", supports(found.rests_on)),
        ("Next", _next(found, preference)),
        ("Target", [_reach(one, target_pct) for one in found.targets] if target_pct else []),
        ("Warning", list(found.warnings)),
    ]
    return labelled(rows)


def _likely(found: CaliperResult) -> list[str]:
    from matref.cli.text import share_words

    named = [f"{one.name} {share_words(one.probability)}" for one in found.classes]
    others = 1 - sum(one.probability for one in found.classes)
    return named + ([f"others {share_words(others)}"] if others >= 0.01 else [])


def _why(found: CaliperResult) -> list[str]:
    now = 100 * found.caliper_um.half_width / found.caliper_um.value
    causes = found.why[:_CAUSES_SHOWN]
    if not causes:
        return [f"± {format_number(now, 2)} %, no single cause stands out"]
    lines = [f"{cause.words}: without it ± {format_number(cause.half_width_without_pct, 2)} %" for cause in causes]
    return [f"± {format_number(now, 2)} % of the caliper, because of", *lines]


def _next(found: CaliperResult, preference: str) -> list[str]:
    if not found.advice:
        return ["no further measurement would narrow the range by much"]
    best = found.advice[0]
    half = (
        f"{format_number(best.half_width_um, 2)} µm"
        if preference == "mm"
        else f"{format_number(best.half_width_um / 25400, 2)} in"
    )
    return [f"{best.words}: the range would shrink to about ± {half} ({format_number(best.half_width_pct, 2)} %)"]


def _reach(one: Target, target_pct: float | None) -> str:
    if one.sheets is None:
        return f"{one.words}: cannot, it ends at ± {format_number(one.half_width_pct, 2)} %"
    sheets = "1 sheet" if one.sheets == 1 else f"{one.sheets} sheets"
    return f"{one.words}: {sheets} for ± {target_pct:g} %"
