"""SQL functions for every query of Datasette: caliper_um, bulk_cm3_g and spine_mm.

They answer as the commands do, with the middle value alone; where something is missing or unknown they give NULL.
"""

from __future__ import annotations

import math
import sqlite3
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matref.book.block import fore_edge_mm, leaf_in_block_um
from matref.book.practice import Practice
from matref.book.swell import swell_mm, threads_per_fold
from matref.errors import BadInput
from matref.estimator import observation as obs
from matref.estimator.assumptions import Rules
from matref.estimator.posterior import Posterior, posterior
from matref.estimator.store import load_model

if TYPE_CHECKING:
    from matref.estimator.model import Model

_MOST_KEPT = 10_000


@dataclass(frozen=True, slots=True)
class Documented:
    """A function as its page shows it: signature, meaning, and queries that run."""

    name: str
    arguments: str
    meaning: str
    examples: tuple[str, ...]


DOCUMENTED = (
    Documented(
        "caliper_um",
        "class, grammage_gsm",
        "Thickness of one sheet in µm: the middle of the estimate for a paper of that class with that printed "
        "grammage. The class is an id of material_class. NULL for an unknown class.",
        (
            "select caliper_um('copier', 80) as caliper_um",
            "select id, name, round(caliper_um(id, 100), 1) as caliper_um from material_class "
            "where family = 'paper' order by 3",
        ),
    ),
    Documented(
        "bulk_cm3_g",
        "class, grammage_gsm",
        "Bulk in cm³/g (ISO 534): the middle of the estimate of caliper divided by grammage.",
        (
            "select bulk_cm3_g('newsprint', 48) as bulk_cm3_g",
            "select name, round(bulk_cm3_g(id, 90), 2) as bulk_cm3_g from material_class "
            "where family = 'paper' order by 2 desc limit 10",
        ),
    ),
    Documented(
        "spine_mm",
        "sheets_per_section, sections, caliper_um, thread_mm",
        "Width of the spine in mm of a book sewn all along: the block at its fore-edge and the swell of the thread, "
        "each with the middle of its rule of practice (pressing, flattening of the thread). Endpapers are not in it.",
        (
            "select spine_mm(4, 5, 104, 0.5) as spine_mm",
            "select name, round(spine_mm(4, 8, caliper_um(id, 80), 0.4), 1) as spine_mm from material_class "
            "where id in ('copier', 'newsprint', 'book_bulky')",
        ),
    ),
)


class Functions:
    """The functions on one connection: the model is read once and again when the file has changed."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._version: int | None = None
        self._model: Model | None = None
        self._practice: Practice | None = None
        self._tolerance = obs.Factor(1.0, 1.0, "")
        self._known: dict[tuple[str, float], Posterior | None] = {}

    def register(self) -> None:
        """Make the functions known to the connection."""
        create = self._connection.create_function
        create("caliper_um", 2, self.caliper_um, deterministic=True)
        create("bulk_cm3_g", 2, self.bulk_cm3_g, deterministic=True)
        create("spine_mm", 4, self.spine_mm, deterministic=True)

    def caliper_um(self, class_id: object, grammage_gsm: object) -> float | None:
        """Return the middle of the caliper's estimate, µm."""
        known = self._posterior(class_id, grammage_gsm)
        return None if known is None else known.caliper_um.quantile(0.5)

    def bulk_cm3_g(self, class_id: object, grammage_gsm: object) -> float | None:
        """Return the middle of the bulk's estimate, cm³/g."""
        known = self._posterior(class_id, grammage_gsm)
        return None if known is None else known.bulk_cm3_g.quantile(0.5)

    def spine_mm(self, sheets: object, sections: object, caliper_um: object, thread_mm: object) -> float | None:
        """Return the middle spine width of a book sewn all along, mm."""
        numbers = [_number(value) for value in (sheets, sections, caliper_um, thread_mm)]
        if None in numbers:
            return None
        self._refresh()
        practice = self._practice
        if practice is None:
            return None
        s, n, caliper, thread = (value for value in numbers if value is not None)
        pressing, flattening, spring = (
            known.quantile(0.5)
            for known in (practice.pressing_of(), practice.flattening_of(), practice.fold_spring_of())
        )
        try:
            edge = fore_edge_mm(int(s), int(n), leaf_in_block_um(caliper, pressing))
            return edge + swell_mm(int(n), thread, flattening, threads_per_fold("all-along"), fold_mm=spring)
        except BadInput:
            return None

    def _posterior(self, class_id: object, grammage_gsm: object) -> Posterior | None:
        grammage = _number(grammage_gsm)
        if not isinstance(class_id, str) or grammage is None or not 1 <= grammage <= 12_000:
            return None
        self._refresh()
        key = (class_id, grammage)
        if key not in self._known:
            if len(self._known) >= _MOST_KEPT:
                self._known.clear()
            self._known[key] = self._estimate(class_id, grammage)
        return self._known[key]

    def _estimate(self, class_id: str, grammage_gsm: float) -> Posterior | None:
        model = self._model
        if model is None or class_id not in model.classes:
            return None
        return posterior(model.only([class_id]), [obs.label(grammage_gsm, self._tolerance)])

    def _refresh(self) -> None:
        version = self._connection.execute("PRAGMA data_version").fetchone()[0]
        if version == self._version:
            return
        rules = Rules(self._connection)
        paper, cloth = load_model(self._connection), load_model(self._connection, "cloth")
        self._model = type(paper)({**paper.classes, **cloth.classes}, {**paper.scatter, **cloth.scatter})
        self._tolerance = rules.grammage_tolerance()
        self._practice = Practice.of(rules.__getitem__)
        self._known.clear()
        self._version = version


def _number(value: object) -> float | None:
    """Return a number, or text that is one, as a float; None for anything else."""
    if not isinstance(value, int | float | str):
        return None
    try:
        number = float(value)
    except ValueError:
        return None
    return number if math.isfinite(number) else None
