"""Personal piles in the class lines: exact to add and take back, cheap however many there are."""

from __future__ import annotations

import math
import random
import sqlite3
from collections.abc import Sequence

import numpy as np
import pytest

from matref.estimator import personal
from matref.estimator.caliper import caliper
from matref.estimator.evidence import Evidence
from matref.estimator.observation import Observation
from matref.estimator.store import fit_into, load_model


def pile(gsm: float, um: float, u: float = 0.01) -> Sequence[Observation]:
    return [
        Observation("weighing", "weighed", 1.0, 0.0, math.log(gsm), u),
        Observation("gauge", "gauged", 0.0, 1.0, math.log(um), u),
    ]


def _state(connection: sqlite3.Connection) -> tuple[object, ...]:
    """Everything an estimate depends on: stored sums and an answer to the last digit."""
    answer = caliper(connection, Evidence(paper_class="copier", grammage=80), with_advice=False).as_json()
    totals = [tuple(row) for row in connection.execute("SELECT * FROM sample_total WHERE count > 0 ORDER BY 1")]
    return tuple(totals), str(answer)


def test_adding_then_taking_back_restores_every_number(scratch: sqlite3.Connection) -> None:
    rng = random.Random(5)
    before = _state(scratch)
    ids = [f"pile-{i}" for i in range(300)]
    for i in ids:
        personal.place_pile(
            scratch, i, "copier", pile(rng.uniform(60, 120), rng.uniform(70, 160), rng.uniform(0.003, 0.1))
        )
    assert _state(scratch) != before
    rng.shuffle(ids)
    for i in ids:
        personal.place_pile(scratch, i, None, ())
    assert _state(scratch) == before


def test_order_of_adding_does_not_matter(fitted: sqlite3.Connection) -> None:
    rng = random.Random(6)
    piles = {f"p{i}": pile(rng.uniform(60, 120), rng.uniform(70, 160)) for i in range(50)}
    states = set()
    for order in (list(piles), list(reversed(piles))):
        from matref.database import open_memory

        copy = open_memory()
        fitted.backup(copy)
        for i in order:
            personal.place_pile(copy, i, "copier", piles[i])
        states.add(_state(copy))
        copy.close()
    assert len(states) == 1


def test_changing_a_pile_replaces_what_it_said(scratch: sqlite3.Connection) -> None:
    personal.place_pile(scratch, "a", "copier", pile(80, 104))
    wanted = _state(scratch)
    personal.place_pile(scratch, "a", "copier", pile(90, 150))
    personal.place_pile(scratch, "a", "ledger", pile(90, 150))
    personal.place_pile(scratch, "a", "copier", pile(80, 104))
    assert _state(scratch) == wanted


def test_samples_pull_their_class_towards_them_and_narrow_it(scratch: sqlite3.Connection) -> None:
    def mean(class_id: str) -> tuple[float, float]:
        line = load_model(scratch).classes[class_id].line
        return line.mean(0.0), line.variance(0.0)

    before, other = mean("copier"), mean("ledger")
    previous = before
    for i in range(5):
        personal.place_pile(scratch, f"p{i}", "copier", pile(80, 106))
        now = mean("copier")
        assert previous[0] < now[0] < math.log(106)
        assert now[1] < previous[1]
        previous = now
    assert mean("ledger") == other
    assert load_model(scratch).classes["copier"].own_samples == 5


def test_update_is_the_bayesian_one(scratch: sqlite3.Connection) -> None:
    """Against numpy: normal line prior, each pile a datum of variance scatter² (ν + 3)/(ν + 1) + own."""
    prior = load_model(scratch).classes["bond_writing"].line
    scale, tail = scratch.execute("SELECT product_sd, tail FROM model_family WHERE family = 'paper'").fetchone()
    data = [(70.0, 95.0, 0.01), (90.0, 118.0, 0.03), (120.0, 150.0, 0.02)]
    for i, (gsm, um, u) in enumerate(data):
        personal.place_pile(scratch, f"p{i}", "bond_writing", pile(gsm, um, u))
    x = np.array([[1.0, math.log(g / 80)] for g, _, _ in data])
    y = np.log([c for _, c, _ in data])
    w = np.array([1 / (scale**2 * (tail + 3) / (tail + 1) + 2 * u**2) for _, _, u in data])
    information = np.linalg.inv([[prior.var_intercept, prior.cov], [prior.cov, prior.var_slope]])
    precision = information + (x.T * w) @ x
    mean = np.linalg.solve(precision, information @ [prior.intercept, prior.slope] + (x.T * w) @ y)
    found = load_model(scratch).classes["bond_writing"].line
    assert found.intercept == pytest.approx(mean[0], abs=1e-7)
    assert found.slope == pytest.approx(mean[1], abs=1e-6)
    assert found.var_intercept == pytest.approx(np.linalg.inv(precision)[0, 0], rel=1e-6)


def test_students_information_is_what_the_weight_says() -> None:
    """Fisher's information of Student's t about its centre is (ν + 1)/((ν + 3) s²): numerical integration agrees."""
    from scipy import integrate, stats

    for tail in (3.0, 4.0, 8.0):
        t = stats.t(tail)

        def score2(z: float, tail: float = tail) -> float:
            return ((tail + 1) * z / (tail + z * z)) ** 2

        found = integrate.quad(lambda z, t=t: score2(z) * t.pdf(z), -200, 200, limit=400)[0]
        assert found == pytest.approx((tail + 1) / (tail + 3), rel=1e-3)


def test_a_pile_lacking_either_quantity_or_its_class_does_not_count(scratch: sqlite3.Connection) -> None:
    before = _state(scratch)
    personal.place_pile(scratch, "a", "copier", pile(80, 104)[:1])
    personal.place_pile(scratch, "b", "copier", pile(80, 104)[1:])
    personal.place_pile(scratch, "c", None, pile(80, 104))
    personal.place_pile(scratch, "d", "no such class", pile(80, 104))
    assert _state(scratch) == before


def test_repeated_measurements_are_combined_before_they_count() -> None:
    one = personal.combine(pile(80, 104, 0.02))
    four = personal.combine([*pile(80, 104, 0.02)] * 4)
    assert one is not None
    assert four is not None
    assert four[:2] == pytest.approx(one[:2])
    assert four[2] == pytest.approx(one[2] / 4)


def test_a_refit_keeps_the_piles(scratch: sqlite3.Connection) -> None:
    personal.place_pile(scratch, "a", "copier", pile(80, 110))
    before = _state(scratch)
    fit_into(scratch)
    assert _state(scratch) == before


def test_a_class_gone_from_the_catalogue_keeps_its_piles_without_weight(scratch: sqlite3.Connection) -> None:
    personal.place_pile(scratch, "a", "copier", pile(80, 110))
    scratch.execute("UPDATE pile_line SET class_id = 'gone'")
    personal.reweigh(scratch)
    assert scratch.execute("SELECT count(*), sum(w) FROM pile_line").fetchone()[:] == (1, 0)
    assert load_model(scratch).classes["copier"].own_samples == 0


def test_samples_of_the_workshop_are_counted_and_taken_back() -> None:
    """Through the door that people use: add, then remove."""
    import matref

    with matref.open(":memory:") as workshop:
        before = _state(workshop.connection)
        kept = workshop.samples.add(
            "tide tables",
            paper_class="copier",
            size="A4",
            sheets=20,
            mass="99 g",
            stack_sheets=100,
            stack="10.9 mm",
            held="clamped",
        )
        assert _state(workshop.connection) != before
        workshop.samples.remove(kept.id)
        assert _state(workshop.connection) == before
