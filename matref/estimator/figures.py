"""The drawings of `model report`: black on white, every axis with its unit, every figure with its sources.

Needs matplotlib, which comes with the extra `report`. Kinds of reading are told apart by their marks, not by colour.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from matref.errors import BadInput
from matref.estimator.fit import FamilyFit, Reading, fit_family
from matref.estimator.line import gsm_at, log_ratio
from matref.estimator.report import OURS, FamilyReport, product_range
from matref.estimator.store import family_readings

FORMATS = ("svg", "png")
_MARKS = {"specified": "s", "nominal": "o", "measured": "^"}
_STYLE: Any = {
    "font.size": 9,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.titlesize": 10,
    "legend.frameon": False,
    "savefig.bbox": "tight",
    "svg.hashsalt": "matref",  # the same drawing is the same file
}


def draw(
    connection: sqlite3.Connection, reports: Sequence[FamilyReport], folder: Path, kind: str = "svg"
) -> list[Path]:
    """Write every figure into `folder` (made if need be) and return their paths.

    BadInput where matplotlib is not installed or `kind` is neither svg nor png.
    """
    if kind not in FORMATS:
        raise BadInput(f'"{kind}" is no kind of drawing here', expected=" or ".join(FORMATS), example="svg")
    try:
        import matplotlib as mpl
        from matplotlib.figure import Figure
    except ImportError as error:
        raise BadInput(
            "drawing needs matplotlib, which is not installed", expected='pip install "matref[report]"'
        ) from error
    folder.mkdir(parents=True, exist_ok=True)
    made = []
    with mpl.rc_context(_STYLE):
        for one in reports:
            rows = family_readings(connection, one.family)
            fit = fit_family(rows)
            for class_id in sorted(fit.lines):
                figure = Figure(figsize=(5.5, 4))
                _class(figure, connection, fit, class_id, [r for r in rows if r.class_id == class_id])
                made.append(_save(figure, folder / f"{one.family}-{class_id}.{kind}"))
            for name, painter in (("residuals", _residuals), ("calibration", _calibration), ("comparison", _compare)):
                figure = Figure(figsize=(6, 4))
                painter(figure, one)
                made.append(_save(figure, folder / f"{one.family}-{name}.{kind}"))
    return made


def _save(figure: Any, path: Path) -> Path:
    # No date and no name of a program in the file.
    empty = {"Date": None, "Creator": None} if path.suffix == ".svg" else {"Software": None}
    figure.savefig(path, dpi=150, metadata=empty)
    return path


def _class(figure: Any, connection: sqlite3.Connection, fit: FamilyFit, class_id: str, rows: list[Reading]) -> None:
    """Draw the readings of a class, its line, the doubt about the line and the range of single products."""
    axes = figure.subplots()
    low = log_ratio(min(r.grammage_gsm for r in rows)) - 0.1
    high = log_ratio(max(r.grammage_gsm for r in rows)) + 0.1
    grid = [low + (high - low) * i / 60 for i in range(61)]
    gsm = [gsm_at(x) for x in grid]
    line = fit.lines[class_id]
    products = [product_range(fit, class_id, x) for x in grid]
    axes.fill_between(
        gsm,
        [p.quantile(0.05) for p in products],
        [p.quantile(0.95) for p in products],
        color="0.9",
        label="nine products in ten",
    )
    axes.plot(gsm, [math.exp(line.mean(x)) for x in grid], color="black", label="class line")
    for sign in (-1, 1):
        edge = [math.exp(line.mean(x) + sign * 1.645 * math.sqrt(line.variance(x))) for x in grid]
        axes.plot(gsm, edge, color="black", linestyle=":", label="line, 90 %" if sign < 0 else None)
    for kind, mark in _MARKS.items():
        own = [r for r in rows if r.kind == kind]
        if own:
            axes.plot(
                [r.grammage_gsm for r in own],
                [r.caliper_um for r in own],
                mark,
                color="black",
                fillstyle="none",
                label=f"{kind} ({len(own)})",
            )
    name = connection.execute("SELECT name FROM material_class WHERE id = ?", (class_id,)).fetchone()[0]
    axes.set(xlabel="grammage, g/m²", ylabel="caliper, µm", title=name)
    axes.legend()
    figure.text(0.0, -0.02, _sources(connection, class_id), fontsize=6.5, verticalalignment="top", wrap=True)


def _sources(connection: sqlite3.Connection, class_id: str) -> str:
    rows = connection.execute(
        """SELECT DISTINCT s.title, s.year FROM reading AS r JOIN source AS s ON s.id = r.source_id
           WHERE r.class_id = ? AND r.used_in_fit = 1 ORDER BY s.title""",
        (class_id,),
    ).fetchall()
    return "Sources: " + "; ".join(f"{title} ({year})" if year else title for title, year in rows)


def _residuals(figure: Any, one: FamilyReport) -> None:
    """Draw how far each source group lies from the class lines: its mean, and the root mean square as a bar."""
    axes = figure.subplots()
    places = range(len(one.residuals))
    axes.barh(places, [r.rms_pct for r in one.residuals], color="0.85", label="root mean square")
    axes.plot([r.mean_pct for r in one.residuals], places, "D", color="black", label="mean")
    axes.axvline(0, color="black", linewidth=0.8)
    axes.set_yticks(places, [f"{r.source_group} ({r.readings})" for r in one.residuals])
    axes.set(xlabel="departure from the class lines, % of caliper", title=f"{one.family}: residuals by source group")
    axes.legend()


def _calibration(figure: Any, one: FamilyReport) -> None:
    """Draw the share of readings inside against the level stated, source groups left out in turn."""
    axes = figure.subplots()
    axes.plot([0, 100], [0, 100], color="0.6", linestyle="--", label="as stated")
    axes.plot(
        [100 * s for s, _ in one.calibration],
        [100 * o for _, o in one.calibration],
        "o-",
        color="black",
        label=f"observed ({len(one.judged)} readings)",
    )
    axes.set(
        xlabel="level stated, %", ylabel="readings inside, %", title=f"{one.family}: intervals, one source group out"
    )
    axes.legend()


def _compare(figure: Any, one: FamilyReport) -> None:
    """Draw error and log score of all methods side by side."""
    error, score = figure.subplots(1, 2, sharey=True)
    names = list(one.methods)[::-1]
    shades = ["0.2" if n == OURS else "0.8" for n in names]
    error.barh(names, [one.methods[n][0].error_pct for n in names], color=shades)
    error.set(xlabel="median error, % (less is better)")
    score.barh(names, [one.methods[n][0].log_score for n in names], color=shades)
    score.set(xlabel="mean log score (more is better)")
    figure.suptitle(f"{one.family}: one source group left out at a time")
