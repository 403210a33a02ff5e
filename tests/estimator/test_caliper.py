"""The whole answer: its promises over all classes and families, its reasons, and its words."""

from __future__ import annotations

import json
import math
import sqlite3
import subprocess
import sys
from itertools import pairwise
from typing import Any

import pytest

from matref.estimator.caliper import CaliperResult, caliper
from matref.estimator.estimate import Estimate
from matref.estimator.evidence import Evidence
from matref.estimator.store import load_model


def _caliper(connection: sqlite3.Connection, level: float = 0.9, **typed: Any) -> CaliperResult:
    return caliper(connection, Evidence(**typed), level=level, with_advice=False)


def _classes(connection: sqlite3.Connection) -> list[str]:
    return [row[0] for row in connection.execute("SELECT class_id FROM model_line ORDER BY class_id")]


def test_more_grammage_never_less_caliper_in_any_class_of_any_family(fitted: sqlite3.Connection) -> None:
    for class_id in _classes(fitted):
        answers = [
            _caliper(fitted, paper_class=class_id, grammage=gsm).caliper_um
            for gsm in (12, 20, 35, 60, 80, 81, 110, 160, 230, 400, 800)
        ]
        for lighter, heavier in pairwise(answers):
            assert lighter.low < heavier.low, class_id
            assert lighter.value < heavier.value, class_id
            assert lighter.high < heavier.high, class_id


def test_intervals_nest_with_level_in_every_class(fitted: sqlite3.Connection) -> None:
    for class_id in _classes(fitted):
        found = [_caliper(fitted, level, paper_class=class_id, grammage=100) for level in (0.5, 0.8, 0.9, 0.99)]
        for inner, outer in pairwise(found):
            for name in ("caliper_um", "bulk_cm3_g", "grammage_gsm"):
                a: Estimate = getattr(inner, name)
                b: Estimate = getattr(outer, name)
                assert b.low < a.low <= a.value <= a.high < b.high, (class_id, name)


def test_every_class_that_people_name_has_an_answer(fitted: sqlite3.Connection) -> None:
    named = {row[0] for row in fitted.execute("SELECT id FROM material_class")}
    assert named == set(_classes(fitted))
    for class_id in ("drawing_cartridge", "watercolour", "tracing", "exercise_book"):
        found = _caliper(fitted, paper_class=class_id, grammage=120)
        assert any("published" in w for w in found.warnings), class_id
        known = _caliper(fitted, paper_class="offset_uncoated", grammage=120)
        wide, narrow = (f.caliper_um.high / f.caliper_um.low for f in (found, known))
        assert wide - 1 > 1.5 * (narrow - 1)


STEPS: list[dict[str, Any]] = [
    {"grammage": 80},
    {"grammage": 80, "stack_sheets": 100, "stack": "10.4 mm", "held": "clamped"},
    {"paper_class": "offset_uncoated", "grammage": 80, "stack_sheets": 100, "stack": "10.4 mm", "held": "clamped"},
    {"paper_class": "offset_uncoated", "grammage": 80, "stack_sheets": 200, "stack": "20.8 mm", "held": "clamped"},
]


def test_more_evidence_narrows(fitted: sqlite3.Connection) -> None:
    widths = [_caliper(fitted, **typed).caliper_um.half_width for typed in STEPS]
    assert widths == sorted(widths, reverse=True)
    assert len(set(widths)) == len(widths)


def test_contradiction_may_widen_and_is_said(fitted: sqlite3.Connection) -> None:
    stack: dict[str, Any] = {"stack_sheets": 100, "with_": "vernier", "held": "hand"}
    agree = _caliper(fitted, paper_class="newsprint", grammage=48, stack="7.60 mm", **stack)
    clash = _caliper(fitted, paper_class="newsprint", grammage=48, stack="11.00 mm", **stack)
    width = [math.log(r.caliper_um.high / r.caliper_um.low) for r in (agree, clash)]
    assert width[1] > width[0]
    assert any("does not fit" in w for w in clash.warnings)
    assert not any("does not fit" in w for w in agree.warnings)


def test_a_label_alone_does_not_pretend(fitted: sqlite3.Connection) -> None:
    for typed in ({"grammage": 80}, {"paper_class": "copier", "grammage": 80}):
        found = _caliper(fitted, **typed).caliper_um
        assert found.half_width / found.value > 0.08


def test_what_kitchen_and_bench_measurements_bring(fitted: sqlite3.Connection) -> None:
    """Half-widths of the caliper for 20 sheets on a 1 g scale and clamped stacks under a 1 mm ruler.

    The ruler alone leaves √2/√12 mm: 3.9 % of 10.4 mm, and holding 2 % (GUM arithmetic), so that no combination
    brings a 100-sheet stack below that; what the answer says may be no better than a sum done by hand.
    """
    weighed: dict[str, Any] = {"size": "A4", "sheets": 20, "mass": "99.8 g", "scale_resolution": "1 g"}
    found = {}
    for sheets, stack in ((100, "10.4 mm"), (200, "20.8 mm"), (500, "52.0 mm")):
        e = _caliper(fitted, **weighed, stack_sheets=sheets, stack=stack, held="clamped").caliper_um
        found[sheets] = 100 * e.half_width / e.value
        by_hand = 1.645 * 100 * math.hypot(0.408 / (sheets * 0.104), 0.0201)
        assert found[sheets] < by_hand
        assert found[sheets] > 0.55 * by_hand
    assert found[500] < found[200] < found[100] < 8.0


def test_this_pile_is_told_from_the_class_mean(fitted: sqlite3.Connection) -> None:
    found = _caliper(fitted, paper_class="offset_uncoated", grammage=80)
    assert found.class_mean_caliper_um is not None
    assert found.class_mean_caliper_um.half_width < 0.5 * found.caliper_um.half_width
    assert _caliper(fitted, grammage=80).class_mean_caliper_um is None


def test_reasons_are_worked_out(fitted: sqlite3.Connection) -> None:
    found = _caliper(fitted, size="A4", sheets=20, mass="98 g", stack_sheets=50, stack="5.2 mm")
    now = 100 * found.caliper_um.half_width / found.caliper_um.value
    assert all(c.half_width_without_pct < now for c in found.why)
    assert any("ruler" in c.words for c in found.why)
    finer = _caliper(fitted, size="A4", sheets=20, mass="98 g", stack_sheets=50, stack="5.20 mm", with_="vernier")
    without = next(c for c in found.why if "ruler" in c.words).half_width_without_pct
    assert 100 * finer.caliper_um.half_width / finer.caliper_um.value == pytest.approx(without, rel=0.1)


def test_probabilities_and_supports(fitted: sqlite3.Connection) -> None:
    found = _caliper(fitted, grammage="20 lb bond")
    shares = [c.probability for c in found.classes]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) <= 1.0
    known = {row[0] for row in fitted.execute("SELECT id FROM source")}
    for support in found.rests_on:
        assert set(support.sources) <= known, support
    kinds = {s.kind for s in found.rests_on}
    assert kinds == {"measurement", "statement", "readings", "assumption", "rule"} or kinds == {
        "measurement",
        "readings",
        "assumption",
        "rule",
    }


def test_json_is_plain_and_keeps_the_contract(fitted: sqlite3.Connection) -> None:
    found = json.loads(json.dumps(caliper(fitted, Evidence(paper_class="copier", grammage=80)).as_json()))
    for key in ("caliper_um", "bulk_cm3_g", "grammage_gsm"):
        assert set(found[key]) == {"value", "low", "high"}
    for key in ("level", "classes", "rests_on", "advice", "warnings"):
        assert key in found
    assert set(found["classes"][0]) == {"class", "name", "probability"}


def test_cloth_is_answered_and_never_offered(fitted: sqlite3.Connection) -> None:
    cloth = set(load_model(fitted, "cloth").classes)
    assert _caliper(fitted, paper_class="plain_cotton", grammage=120).caliper_um.value > 50
    assert not cloth & {c.class_id for c in _caliper(fitted, grammage=120).classes}


def test_an_estimate_imports_nothing_heavy() -> None:
    code = (
        "import sys, matref\n"
        "with matref.open(sys.argv[1]) as w: w.caliper(size='A4', sheets=20, mass='98 g')\n"
        "print([m for m in ('numpy', 'scipy', 'pandas', 'datasette', 'sqlite_utils') if m in sys.modules])"
    )
    import tempfile
    from pathlib import Path

    import matref

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "matref.db"
        matref.open(path).close()  # compiled and fitted here, not in the fresh process
        run = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
