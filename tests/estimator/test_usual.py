"""What is usual of a class, against what encyclopaedias, handbooks and schools print of it."""

from __future__ import annotations

import math
import sqlite3

import pytest
from scipy import stats

from matref.estimator.caliper import CaliperResult, caliper
from matref.estimator.evidence import Evidence
from matref.estimator.line import Line, log_ratio
from matref.estimator.usual import Usual, line_of, usual_bulks, usual_grammages


def _named(connection: sqlite3.Connection, gsm: float, most: int = 4) -> list[str]:
    found = caliper(connection, Evidence(grammage=gsm), with_advice=False)
    return [c.class_id for c in found.classes[:most]]


def _answer(connection: sqlite3.Connection, class_id: str, gsm: float) -> CaliperResult:
    return caliper(connection, Evidence(paper_class=class_id, grammage=gsm), with_advice=False)


@pytest.mark.parametrize(
    ("gsm", "expected"),
    [
        # Wikipedia, 'Grammage' (French): bible paper 22 to 33, newspaper 42, office 80, watercolour 300 to 600 g/m².
        (27, "bible_thin"),
        (42, "newsprint"),
        (80, "copier"),
        # Wikipedia, 'Onionskin': 25 to 39 g/m².
        (31, "manifold_airmail"),
        # CAMEO (Museum of Fine Arts Boston), 'Japanese paper': tissues of 6 to 8 g/m².
        (7, "japanese"),
        # Slade School of Fine Art, 'Watercolour paper': machine-made 300 lb is 638 g/m².
        (638, "watercolour"),
    ],
)
def test_a_weight_alone_names_what_comes_in_it(fitted: sqlite3.Connection, gsm: float, expected: str) -> None:
    assert expected in _named(fitted, gsm)


@pytest.mark.parametrize("gsm", [3.3, 10, 17])
def test_nothing_heavy_is_taken_for_tissue(fitted: sqlite3.Connection, gsm: float) -> None:
    found = caliper(fitted, Evidence(grammage=gsm), with_advice=False)
    shares = {c.class_id: c.probability for c in found.classes}
    assert shares.get("tissue", 0) + shares.get("japanese", 0) + shares.get("bible_thin", 0) > 0.9


def test_blotting_is_as_thick_as_it_is_printed(fitted: sqlite3.Connection) -> None:
    # Roberts & Etherington: 60 to 140 lb of 19 × 24 in; a table of paper properties: 540 to 590 µm (data/rule.csv).
    gsm = [lb * 453.59237 / (500 * 0.4826 * 0.6096) for lb in (60, 140)]
    found = _answer(fitted, "blotting", math.sqrt(gsm[0] * gsm[1]))
    assert found.caliper_um.low < 540 < 590 < found.caliper_um.high


def test_an_answer_says_that_it_rests_on_the_usual(fitted: sqlite3.Connection) -> None:
    found = _answer(fitted, "japanese", 12)
    (usual,) = [s for s in found.rests_on if "usual bulk" in s.words]
    assert usual.kind == "assumption"
    assert usual.sources == ("from-memory",)
    assert any("published" in w for w in found.warnings)
    unnamed = caliper(fitted, Evidence(grammage=640), with_advice=False)
    assert len(unnamed.rests_on) == len(set(unnamed.rests_on))


def test_readings_put_the_usual_bulk_aside(fitted: sqlite3.Connection) -> None:
    read = {row[0] for row in fitted.execute("SELECT DISTINCT class_id FROM reading WHERE used_in_fit = 1")}
    assert not read & set(usual_bulks(fitted))


def test_four_in_five_lie_between(fitted: sqlite3.Connection) -> None:
    usual = Usual.between(1.8, 4.0)
    share = stats.norm(usual.mean, usual.sd)
    assert share.cdf(math.log(4.0)) - share.cdf(math.log(1.8)) == pytest.approx(0.8, abs=1e-9)
    assert all(u.sd >= 0.15 for u in usual_grammages(fitted).values())


def test_the_line_goes_through_the_usual_bulk() -> None:
    grammage, bulk, common = Usual.between(6, 60), Usual.between(1.8, 4.0), Line(4.6, 0.94, 0.02, 0.001, 0.003)
    line = line_of(bulk, grammage, common)
    gsm = math.exp(grammage.mean)
    assert math.exp(line.mean(log_ratio(gsm))) == pytest.approx(gsm * math.sqrt(1.8 * 4.0))  # ISO 534: t = g·v
    assert line.variance(log_ratio(gsm)) == pytest.approx(bulk.sd**2)
    assert line.variance(log_ratio(3 * gsm)) > bulk.sd**2
    assert line.slope == common.slope


def test_doubtful_pairs_are_not_denied(fitted: sqlite3.Connection) -> None:
    for class_id, gsm in (("japanese", 12), ("tissue", 17), ("bible_thin", 30)):
        held = fitted.execute("SELECT count(*) FROM reading WHERE class_id = ?", (class_id,)).fetchone()[0]
        (said,) = [w for w in _answer(fitted, class_id, gsm).warnings if "published" in w]
        assert ("doubtful" in said) == (held > 0), class_id
