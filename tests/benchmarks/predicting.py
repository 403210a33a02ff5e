"""A million rows against a bare numpy polynomial of the same shape: log, polynomial, exp."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from table import Row, at_most
from timed import compare

import matref
from matref.estimator.store import load_model
from matref.estimator.vector import Predictor

ROWS = 1_000_000


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    with matref.open(":memory:") as workshop:
        predictor = Predictor.of(load_model(workshop.connection))
    rng = np.random.default_rng(2)
    gsm = rng.uniform(40, 300, ROWS)
    code = rng.integers(0, len(predictor.class_ids), ROWS)
    line = np.array([0.01, 0.94, 4.6])

    def polynomial() -> None:
        np.exp(np.polyval(line, np.log(gsm / 80.0)))

    beside, limit = "numpy: exp(polyval(log)), degree 2", at_most(5)
    many = f"value, low, high of 1,000,000 rows, {len(predictor.class_ids)} classes"
    yield compare(many, lambda: predictor.predict(code, gsm), beside, polynomial, limit=limit, turns=15)
    yield compare("the same, one class", lambda: predictor.predict(0, gsm), beside, polynomial, limit=limit, turns=15)
