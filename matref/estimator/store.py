"""The fitted model in the workshop file: written once by the fit, read back by every prediction.

Reading needs the standard library alone; `fit_into` imports numpy and scipy when it is called.
"""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from matref.estimator import personal
from matref.estimator.line import Line, Totals
from matref.estimator.model import MaterialClass, Model, Scatter
from matref.estimator.usual import Usual, line_of, usual_bulks, usual_grammages

if TYPE_CHECKING:
    from matref.estimator.fit import FamilyFit, Reading

SCHEMA = """
CREATE TABLE IF NOT EXISTS model_family (
    family TEXT PRIMARY KEY,
    product_sd REAL NOT NULL CHECK (product_sd > 0),
    tail REAL NOT NULL CHECK (tail > 2),
    nodes TEXT NOT NULL,
    class_sd REAL NOT NULL,
    slope_sd REAL NOT NULL,
    group_sd REAL NOT NULL,
    series_sd REAL NOT NULL,
    kind_sd TEXT NOT NULL,
    criterion REAL NOT NULL,
    readings INTEGER NOT NULL,
    statements INTEGER NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS model_line (
    class_id TEXT PRIMARY KEY,
    family TEXT NOT NULL REFERENCES model_family (family),
    intercept REAL NOT NULL,
    slope REAL NOT NULL,
    var_intercept REAL NOT NULL,
    cov REAL NOT NULL,
    var_slope REAL NOT NULL,
    log_grammage_mean REAL NOT NULL,
    log_grammage_sd REAL NOT NULL CHECK (log_grammage_sd > 0),
    gsm_low REAL,
    gsm_high REAL,
    readings INTEGER NOT NULL,
    sources INTEGER NOT NULL
) STRICT;
"""

# Where nothing is said of a class's usual grammages, its readings tell, taken at least this wide (log scale) ...
_LEAST_GRAMMAGE_SD = 0.25
# ... and where it has none, the readings of its family (nine in ten between 0.44 and 2.3 times their middle).
_UNKNOWN_GRAMMAGE_SD = 0.5


def fit_into(connection: sqlite3.Connection, say: Callable[[str], None] | None = None) -> None:
    """Fit every family to the readings in the file and store the result, inside the caller's transaction.

    `say` is told, in a line each, what was fitted.
    """
    from matref.estimator.fit import fit_family

    for statement in SCHEMA.split(";"):
        if statement.strip():
            connection.execute(statement)
    connection.execute("DELETE FROM model_line")
    connection.execute("DELETE FROM model_family")
    grammages, bulks = usual_grammages(connection), usual_bulks(connection)
    families = [row[0] for row in connection.execute("SELECT DISTINCT family FROM material_class ORDER BY family")]
    for family in families:
        readings = family_readings(connection, family)
        fit = fit_family(readings)
        if say:
            say(f"{family}: {fit.readings} readings in {len(fit.lines)} classes fitted")
        _write_family(connection, family, fit)
        class_ids = [
            row[0]
            for row in connection.execute("SELECT id FROM material_class WHERE family = ? ORDER BY id", (family,))
        ]
        for class_id in class_ids:
            own = [r for r in readings if r.class_id == class_id]
            grammage = grammages.get(class_id) or _grammage(own or readings, bool(own))
            if own:
                line = fit.lines[class_id]
            elif class_id in bulks:
                line = line_of(bulks[class_id], grammage, fit.unpublished)
            else:
                line = fit.unpublished
            _write_line(connection, family, class_id, line, grammage, own)
    personal.reweigh(connection)


def load_model(connection: sqlite3.Connection, family: str | None = None, apart_from: Iterable[str] = ()) -> Model:
    """Return the stored model of one family, or of paper and board together, personal samples included.

    `apart_from`: piles whose samples are left out, because they are the ones asked about.
    """
    families = [family] if family else ["paper", "board"]
    marks = ",".join("?" * len(families))
    scatter = {
        row[0]: Scatter(row[1], tuple((w, f) for w, f in json.loads(row[2])))
        for row in connection.execute(
            f"SELECT family, product_sd, nodes FROM model_family WHERE family IN ({marks})", families
        )
    }
    own_totals = personal.totals(connection, apart_from)
    classes = {}
    for row in connection.execute(
        f"""SELECT c.id, c.name, c.family, coalesce(c.prior_weight, 0), coalesce(c.surface, 'mixed'),
                   m.intercept, m.slope, m.var_intercept, m.cov, m.var_slope,
                   m.log_grammage_mean, m.log_grammage_sd, m.gsm_low, m.gsm_high, m.readings, m.sources
            FROM material_class AS c JOIN model_line AS m ON m.class_id = c.id
            WHERE c.family IN ({marks})""",
        families,
    ):
        own = own_totals.get(row[0], Totals())
        classes[row[0]] = MaterialClass(
            class_id=row[0],
            name=row[1],
            family=row[2],
            weight=max(row[3], 1e-6),
            surface=row[4],
            line=Line(*row[5:10]).updated(own),
            log_grammage_mean=row[10],
            log_grammage_sd=row[11],
            gsm_low=row[12],
            gsm_high=row[13],
            readings=row[14],
            sources=row[15],
            own_samples=own.count,
        )
    return Model(classes, scatter)


def family_readings(connection: sqlite3.Connection, family: str) -> list[Reading]:
    """Return the readings that the fit of a family uses."""
    from matref.estimator.fit import Reading

    rows = connection.execute(
        """SELECT r.class_id, r.grammage_gsm, r.caliper_um, r.kind, r.series_id, r.source_group, r.calculated
           FROM reading AS r JOIN material_class AS c ON c.id = r.class_id
           WHERE c.family = ? AND r.used_in_fit = 1 ORDER BY r.id""",
        (family,),
    )
    return [Reading(c, g, t, kind, series, group, bool(calc)) for c, g, t, kind, series, group, calc in rows]


def _write_family(connection: sqlite3.Connection, family: str, fit: FamilyFit) -> None:
    v = fit.variances
    factor = v.class_factor
    connection.execute(
        "INSERT INTO model_family VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            family,
            fit.product_sd,
            fit.tail,
            json.dumps(fit.nodes()),
            float(factor[0, 0]),
            float(math.hypot(*factor[1])) if len(factor) > 1 else 0.0,
            v.group_sd,
            v.series_sd,
            json.dumps(dict(zip(fit.kinds, v.kind_sd.tolist(), strict=True))),
            fit.criterion,
            fit.readings,
            fit.statements,
        ),
    )


def _grammage(readings: list[Reading], own: bool) -> Usual:
    logs = [math.log(r.grammage_gsm) for r in readings]
    mean = math.fsum(logs) / len(logs)
    spread = math.sqrt(math.fsum((x - mean) ** 2 for x in logs) / len(logs))
    return Usual(mean, max(spread, _LEAST_GRAMMAGE_SD if own else _UNKNOWN_GRAMMAGE_SD))


def _write_line(
    connection: sqlite3.Connection, family: str, class_id: str, line: Line, grammage: Usual, own: list[Reading]
) -> None:
    gsm = [r.grammage_gsm for r in own]
    connection.execute(
        "INSERT INTO model_line VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            class_id,
            family,
            *line,
            *grammage,
            min(gsm, default=None),
            max(gsm, default=None),
            len(own),
            len({r.source_group for r in own}),
        ),
    )
