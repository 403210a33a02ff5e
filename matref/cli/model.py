"""`model`: how good the estimator is, and fitting it again."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import click

from matref.cli.group import Group, asks_for_help
from matref.cli.session import Session, common_options
from matref.cli.text import labelled


@click.group(
    cls=Group,
    invoke_without_command=True,
    epilog="""Examples:

    \b
      matref model report --family cloth
      matref model fit""",
)
@click.pass_context
def model(context: click.Context) -> None:
    """Ask how good the estimator is, or fit it again."""
    if asks_for_help(context):
        click.echo(context.get_help())


@model.command(
    epilog="""Examples:

    \b
      matref model fit
      matref model fit --json"""
)
@common_options
@click.pass_obj
def fit(session: Session) -> None:
    """Fit the regression to the readings in the file again; needed only after changing readings by hand."""
    from matref.database import transaction
    from matref.estimator.store import fit_into

    with session.open() as workshop:
        with transaction(workshop.connection):
            fit_into(workshop.connection, _progress())
        rows = [dict(row) for row in workshop.connection.execute("SELECT * FROM model_family ORDER BY family")]
    found = [_family(row) for row in rows]

    def text() -> str:
        return labelled(
            (one["family"], f"{one['readings']} readings; papers of one kind differ by about {one['product_sd']:.1%}")
            for one in found
        )

    session.tell(found, text)


@model.command(
    epilog="""Examples:

    \b
      matref model report --family paper
      matref model report --family cloth --draw figures

    Comparing and drawing need the extra: pip install "matref[report]"."""
)
@click.option(
    "--family",
    type=click.Choice(["paper", "board", "cloth"]),
    multiple=True,
    show_default="all three",
    help="Family of materials; may be given more than once.",
)
@click.option("--compare", is_flag=True, help="Also judge other methods on the same folds; takes a minute.")
@click.option("--variants", is_flag=True, help="Also judge the variants of the model that were tried.")
@click.option(
    "--draw",
    metavar="FOLDER",
    show_default="no drawings",
    help="Draw fits, residuals, calibration and comparison into this folder, made if need be.",
)
@click.option(
    "--format", "kind", type=click.Choice(["svg", "png"]), default="svg", show_default=True, help="Of drawings."
)
@common_options
@click.pass_obj
def report(
    session: Session, family: tuple[str, ...], compare: bool, variants: bool, draw: str | None, kind: str
) -> None:
    """Tell how good the estimator is: each source group is left out in turn and foretold from the others.

    Error is the median over the readings left out, in % of the caliper; then how many lay inside the 90 % and 50 %
    ranges, and the mean log density (more is better). Numbers are worked out anew from the readings in the file.
    """
    from matref.estimator.report import FAMILIES
    from matref.estimator.report import report as judge

    with session.open() as workshop:
        found = judge(
            workshop.connection,
            family or FAMILIES,
            with_baselines=compare,
            with_variants=variants,
            say=_progress(),
        )
        made: list[str] = []
        if draw is not None:
            from pathlib import Path

            from matref.estimator.figures import draw as paint

            made = [str(path) for path in paint(workshop.connection, found, Path(draw), kind)]
    plain = {"families": [one.as_json() for one in found], "figures": made}
    drawn = [f"{len(made)} drawings in {draw}"] if draw is not None else []
    session.tell(plain, lambda: "\n\n".join([*(one.text() for one in found), *drawn]))


def _progress() -> Callable[[str], None] | None:
    """Return what tells a waiting person on a terminal how far it is; None where nobody watches."""
    return (lambda line: click.echo(line, err=True)) if sys.stderr.isatty() else None


def _family(row: dict[str, Any]) -> dict[str, Any]:
    kept = ("family", "readings", "statements", "product_sd", "tail", "class_sd", "slope_sd", "group_sd", "series_sd")
    return {name: row[name] for name in kept}
