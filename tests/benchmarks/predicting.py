"""A million rows against a bare numpy polynomial of the same shape: log, polynomial, exp."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from timed import Ratio, compare

import matref
from matref.estimator.store import load_model
from matref.estimator.vector import Predictor

ROWS = 1_000_000


def ratios() -> Iterator[Ratio]:
    """Yield the ratios of this subject."""
    with matref.open(":memory:") as workshop:
        predictor = Predictor.of(load_model(workshop.connection))
    rng = np.random.default_rng(2)
    gsm = rng.uniform(40, 300, ROWS)
    code = rng.integers(0, len(predictor.class_ids), ROWS)
    line = np.array([0.01, 0.94, 4.6])

    def polynomial() -> None:
        np.exp(np.polyval(line, np.log(gsm / 80.0)))

    than = "numpy: exp(polyval(log), degree 2)"
    yield compare(
        "value, low, high of 1 000 000 rows, 62 classes",
        lambda: predictor.predict(code, gsm),
        than,
        polynomial,
        limit=5,
        turns=15,
    )
    yield compare("the same, one class", lambda: predictor.predict(0, gsm), than, polynomial, limit=5, turns=15)
