"""The report in numbers, words and drawings."""

from __future__ import annotations

import builtins
import json
import math
import sqlite3
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from matref.errors import BadInput
from matref.estimator.baselines import baselines
from matref.estimator.figures import draw
from matref.estimator.report import FamilyReport, report
from matref.estimator.store import load_model
from matref.estimator.validate import variants


@pytest.fixture(scope="module")
def paper() -> FamilyReport:
    import matref

    with matref.open(":memory:") as workshop:
        return report(workshop.connection, ["paper"], with_baselines=False)[0]


def test_classes_are_those_of_the_model(paper: FamilyReport, fitted: sqlite3.Connection) -> None:
    model = load_model(fitted, "paper")
    assert {c.class_id for c in paper.classes} == {c for c, m in model.classes.items() if m.readings}
    for c in paper.classes:
        x = math.log(c.gsm / 80)
        assert c.caliper_um == pytest.approx(math.exp(model.classes[c.class_id].line.mean(x)), rel=1e-6)
        assert c.low_um < c.caliper_um < c.high_um


def test_residuals_are_about_nought_over_all(paper: FamilyReport) -> None:
    assert sum(r.readings for r in paper.residuals) == paper.statements
    for r in paper.residuals:
        assert abs(r.mean_pct) <= r.rms_pct + 1e-9
    total = sum(r.readings * r.mean_pct for r in paper.residuals) / paper.statements
    assert abs(total) < 3


def test_json_is_plain(paper: FamilyReport) -> None:
    found = json.loads(json.dumps(paper.as_json(), allow_nan=False))
    assert found["methods"]["matref"]["all"]["readings"] == len(paper.judged)
    assert [c["stated"] for c in found["calibration"]] == sorted(c["stated"] for c in found["calibration"])


def test_text_says_what_the_numbers_say(paper: FamilyReport) -> None:
    text = paper.text()
    assert f"{paper.methods['matref'][0].error_pct:.2f}" in text
    assert all(c.class_id in text for c in paper.classes)
    assert max(map(len, text.splitlines())) <= 120


def test_all_methods_and_variants_are_told(fitted: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch) -> None:
    from matref.estimator import report as module

    two = dict(list(variants().items())[:2])
    monkeypatch.setattr(module, "variants", lambda: two)
    said: list[str] = []
    (cloth,) = report(fitted, ["cloth"], with_variants=True, say=said.append)
    assert list(cloth.variants) == list(two)
    assert cloth.variants["as chosen"] == cloth.methods["matref"]
    assert cloth.methods["matref"][0].readings == cloth.methods["least squares pooled"][0].readings
    assert len(said) == 1 + len(baselines()) + len(two)
    assert "Variants of the model" in cloth.text()


def test_missing_libraries_are_left_out_and_said(
    fitted: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, paper: FamilyReport
) -> None:
    real = builtins.__import__

    def without(name: str, *rest: Any, **named: Any) -> Any:
        if name.split(".")[0] in ("sklearn", "statsmodels", "matplotlib"):
            raise ModuleNotFoundError(f"No module named {name!r}", name=name.split(".")[0])
        return real(name, *rest, **named)

    monkeypatch.setattr(builtins, "__import__", without)
    (cloth,) = report(fitted, ["cloth"])
    assert len(cloth.left_out) == 3
    assert "constant bulk per class" in cloth.methods
    assert "not compared: MixedLM" in cloth.text()
    with pytest.raises(BadInput, match="matplotlib"):
        draw(fitted, [paper], tmp_path)


def test_drawings(fitted: sqlite3.Connection, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    found = report(fitted, ["cloth"], with_baselines=False)
    made = draw(fitted, found, tmp_path / "figures")
    assert len(made) == len(found[0].classes) + 3
    for path in made:
        assert ElementTree.parse(path).getroot().tag.endswith("svg")
    text = (tmp_path / "figures" / "cloth-felt.svg").read_text(encoding="utf-8")
    assert "<dc:date>" not in text  # the same drawing is the same file
    with pytest.raises(BadInput, match="gif"):
        draw(fitted, found, tmp_path, "gif")
