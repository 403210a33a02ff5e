"""Columns agree with single answers, and are refused like them."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest

from matref.errors import BadInput
from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import posterior
from matref.estimator.vector import Predictor


@pytest.mark.parametrize("level", [0.5, 0.9, 0.99])
def test_rows_agree_with_single_answers(level: float, model: Model) -> None:
    """Against the posterior for a grammage known to a hundred-thousandth, in every class, over the whole range."""
    predictor = Predictor.of(model, level)
    rng = np.random.default_rng(11)
    code = np.arange(len(predictor.class_ids))
    gsm = np.exp(rng.uniform(math.log(12), math.log(1200), len(code)))
    found = predictor.predict(code, gsm)
    for i, class_id in enumerate(predictor.class_ids):
        exact = Observation("label", "", 1.0, 0.0, math.log(gsm[i]), 1e-5)
        known = posterior(model.only([class_id]), [exact]).caliper_um
        assert found.value[i] == pytest.approx(known.quantile(0.5), rel=1e-6)
        assert found.low[i] == pytest.approx(known.quantile((1 - level) / 2), rel=1e-4)
        assert found.high[i] == pytest.approx(known.quantile((1 + level) / 2), rel=1e-4)


def test_any_number_of_rows_and_one_class_for_all(model: Model) -> None:
    predictor = Predictor.of(model)
    gsm = np.linspace(40, 200, 20_001)  # more than is done at once
    copier = int(predictor.codes(["copier"])[0])
    one, each = predictor.predict(copier, gsm), predictor.predict(np.full(len(gsm), copier), gsm)
    for a, b in zip(one, each, strict=True):
        np.testing.assert_array_equal(a, b)
    assert (np.diff(one.value) > 0).all()
    assert (one.low < one.value).all()
    assert (one.value < one.high).all()
    assert predictor.predict(copier, []).value.shape == (0,)
    assert predictor.predict(copier, 80.0).value.shape == (1,)


@pytest.mark.parametrize("gsm", [0.0, -80.0, math.nan, math.inf])
def test_a_senseless_grammage_is_refused(gsm: float, model: Model) -> None:
    with pytest.raises(BadInput, match="grammage"):
        Predictor.of(model).predict(0, [80.0, gsm])


def test_strange_classes_are_refused(model: Model) -> None:
    predictor = Predictor.of(model)
    with pytest.raises(BadInput, match="unobtainium"):
        predictor.codes(["copier", "unobtainium"])
    with pytest.raises(BadInput, match="code"):
        predictor.predict(10_000, 80.0)
    with pytest.raises(BadInput, match="2 codes for 3"):
        predictor.predict([0, 1], [80.0, 90.0, 100.0])


def test_nothing_else_imports_it() -> None:
    code = "import sys, matref.estimator.caliper; print('matref.estimator.vector' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
