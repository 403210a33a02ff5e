"""A person's own looseness: against brute-force integration, against simulated people, reversible, quick to ask."""

from __future__ import annotations

import math
import sqlite3
from typing import Any

import numpy as np
import pytest
from scipy import stats

import matref
from matref.estimator.assumptions import Rules
from matref.estimator.evidence import Evidence
from matref.estimator.habit import Comparison, comparisons, habit, learn
from matref.estimator.observation import Factor

RULE = Factor(1.0, 1.1, "rule")
BETTER = {"clamped": Factor(0.97, 1.04, "rule"), "gauge": Factor(0.92, 1.0, "rule")}


def _brute_force(found: list[Comparison]) -> tuple[float, float]:
    """Return mean and sd of the next hold's log factor: ρ summed on a fine grid, the rest by dense normal algebra."""
    tau2 = RULE.u**2
    ways = sorted({c.way for c in found})
    weights, means, variances = [], [], []
    for share in (np.arange(21) + 0.5) / 21:
        # unknowns: θ, then one b per way; data d = A·unknowns + e
        prior = np.diag([share * tau2, *(BETTER[w].u ** 2 if w in BETTER else 1e-16 for w in ways)])
        a = np.array([[1.0, *(-1.0 if c.way == w else 0.0 for w in ways)] for c in found])
        noise = np.diag([c.variance + (1 - share) * tau2 / c.holds for c in found])
        d = np.array([c.log_ratio + (BETTER[c.way].mu if c.way in BETTER else 0.0) - RULE.mu for c in found])
        total = a @ prior @ a.T + noise
        weights.append(stats.multivariate_normal(np.zeros(len(d)), total).pdf(d))
        gain = prior @ a.T @ np.linalg.inv(total)
        means.append((gain @ d)[0])
        variances.append((prior - gain @ a @ prior)[0, 0] + (1 - share) * tau2)
    w = np.array(weights) / np.sum(weights)
    mean = float(w @ means)
    return RULE.mu + mean, math.sqrt(float(w @ (np.array(variances) + (np.array(means) - mean) ** 2)))


CASES = {
    "three, one sheet each": [Comparison("single", r, 1e-4) for r in (0.02, 0.01, 0.03)],
    "clamped, scattered": [Comparison("clamped", r, 4e-4) for r in (0.09, -0.01, 0.05, 0.06)],
    "mixed ways and repeats": [
        Comparison("clamped", 0.07, 4e-4, 2),
        Comparison("gauge", 0.11, 1e-4),
        Comparison("single", 0.08, 2e-4, 3),
        Comparison("gauge", 0.12, 1e-4),
    ],
}


@pytest.mark.parametrize("name", CASES)
def test_against_dense_algebra(name: str) -> None:
    mean, sd = _brute_force(CASES[name])
    found = learn(CASES[name], RULE, BETTER)
    assert found.mu == pytest.approx(mean, abs=1e-9)
    assert found.u == pytest.approx(sd, rel=1e-6)


def test_without_comparisons_it_is_the_rule() -> None:
    found = learn([], RULE, BETTER)
    assert found.mu == pytest.approx(RULE.mu)
    assert found.u == pytest.approx(RULE.u)


def test_order_does_not_matter() -> None:
    case = CASES["mixed ways and repeats"]
    assert learn(case, RULE, BETTER).mu == pytest.approx(learn(case[::-1], RULE, BETTER).mu, abs=1e-14)


def test_a_steady_hand_is_learnt_and_a_hasty_one_believed_less() -> None:
    rng = np.random.default_rng(8)
    steady = [Comparison("single", 0.01 + 0.003 * rng.normal(), 1e-5) for _ in range(12)]
    hasty = [Comparison("single", 0.01 + 0.04 * rng.normal(), 1e-5) for _ in range(12)]
    a, b = learn(steady, RULE, {}), learn(hasty, RULE, {})
    assert a.u < 0.35 * RULE.u
    assert a.u < b.u
    assert a.mu == pytest.approx(0.01, abs=0.004)


def test_the_better_ways_own_doubt_is_a_floor() -> None:
    """A hundred clamped comparisons cannot tell the hand from the clamp better than the clamp is known."""
    many = [Comparison("clamped", 0.04, 1e-6)] * 100
    assert learn(many, RULE, BETTER).u > 0.7 * min(BETTER["clamped"].u, RULE.u)
    assert learn([Comparison("single", 0.04, 1e-6)] * 100, RULE, {}).u < 0.3 * RULE.u


def test_simulated_people_are_covered() -> None:
    """People drawn from the rule itself: the learnt range covers their next hold nine times in ten, and is narrower."""
    rng = np.random.default_rng(9)
    people, inside, widths = 1500, 0, []
    for _ in range(people):
        share = rng.random()
        theta = rng.normal(0, RULE.u * math.sqrt(share))
        occasion = RULE.u * math.sqrt(1 - share)
        v = 1e-4
        seen = [Comparison("single", RULE.mu + theta + rng.normal(0, math.sqrt(occasion**2 + v)), v) for _ in range(6)]
        found = learn(seen, RULE, {})
        inside += abs(RULE.mu + theta + rng.normal(0, occasion) - found.mu) < 1.6449 * found.u
        widths.append(found.u)
    low, high = stats.binom.interval(0.998, people, 0.9)
    assert low - 0.01 * people <= inside <= high + 0.01 * people
    assert np.mean(widths) < 0.8 * RULE.u


def _both_ways(workshop: matref.Workshop, name: str, hand: str, gauge: str) -> tuple[str, str]:
    first = workshop.samples.add(name, stack_sheets=100, stack=hand, with_="vernier", held="hand")
    second = workshop.samples.add(
        f"{name}, one leaf", same_as=first.id, stack_sheets=1, stack=gauge, with_="micrometer"
    )
    return first.id, second.id


ASKED: dict[str, Any] = {"paper_class": "copier", "stack_sheets": 100, "stack": "10.60 mm", "with_": "vernier"}


def test_through_the_workshop_learnt_used_and_taken_back() -> None:
    with matref.open(":memory:") as workshop:

        def answer() -> str:
            return str(workshop.caliper(**ASKED).as_json())

        before = answer()
        _both_ways(workshop, "tide tables", "10.10 mm", "0.100 mm")
        _both_ways(workshop, "ledger leaves", "13.15 mm", "0.130 mm")
        assert answer() == before  # two comparisons are no habit
        _, last = _both_ways(workshop, "chart margins", "16.20 mm", "0.160 mm")
        found = workshop.caliper(**ASKED)
        assert any("your own hold" in s.words for s in found.rests_on)
        plain = Rules(workshop.connection).held("hand")
        own = Rules(workshop.connection, own_habit=True).held("hand")
        assert own.u < plain.u
        assert own.mu < plain.mu  # this person squeezes harder than the rule supposes
        assert Rules(workshop.connection, own_habit=True).held("clamped") == Rules(workshop.connection).held("clamped")
        workshop.samples.remove(last)
        assert answer() == before
        workshop.samples.restore(last)
        assert workshop.caliper(**ASKED).as_json() == found.as_json()


STACKED: dict[str, Any] = {"stack_sheets": 100, "stack": "10.60 mm", "with_": "vernier"}
WEIGHED: dict[str, Any] = {"size": "A4", "sheets": 20, "mass": "98 g"}


def _learnt(workshop: matref.Workshop) -> None:
    """Three invented piles that a firm hand and a gauge have both measured: enough to know the hand."""
    for name, hand, gauge in (
        ("tide tables", "10.10 mm", "0.100 mm"),
        ("ledger leaves", "13.15 mm", "0.130 mm"),
        ("chart margins", "16.20 mm", "0.160 mm"),
    ):
        _both_ways(workshop, name, hand, gauge)


def test_a_pile_of_samples_is_read_by_the_same_hold_as_a_plain_stack() -> None:
    """The same reading asked about as typed and as a sample without a class: one answer, also in a spine and a plan."""
    with matref.open(":memory:") as workshop:
        kept = workshop.samples.add("loft pile", **WEIGHED, **STACKED)
        before = workshop.caliper(sample=kept.id)
        assert before.as_json()["caliper_um"] == workshop.caliper(**WEIGHED, **STACKED).as_json()["caliper_um"]
        _learnt(workshop)
        typed, own = workshop.caliper(**WEIGHED, **STACKED), workshop.caliper(sample=kept.id)
        assert own.as_json() == typed.as_json()
        assert any("your own hold" in s.words for s in own.rests_on)
        assert own.caliper_um.value > before.caliper_um.value  # the firm hand squeezes less air out of the figure
        book: dict[str, Any] = {"sheets_per_section": 4, "sections": 8, "thread": "0.5 mm"}
        assert (
            workshop.spine(sample=kept.id, **book).as_json() == workshop.spine(**WEIGHED, **STACKED, **book).as_json()
        )
        plan: dict[str, Any] = {
            "book": {"structure": "long-stitch", "page_width_mm": 95, "page_height_mm": 140, "sections": 5},
            "sewing": {"thread": "0.5 mm"},
        }
        stack = {
            "size": "A4",
            "sheets": 20,
            "mass": "98 g",
            "stack_sheets": 100,
            "stack": "10.60 mm",
            "with": "vernier",
        }
        by_sample = workshop.plan({**plan, "paper": {"name": "loft", "sample": kept.id}})
        assert by_sample.caliper_um == workshop.plan({**plan, "paper": {"name": "loft", **stack}}).caliper_um


def test_a_pile_does_not_teach_the_hold_that_it_is_judged_by() -> None:
    with matref.open(":memory:") as workshop:
        _learnt(workshop)
        hand, _ = _both_ways(workshop, "odd one out", "11.20 mm", "0.100 mm")
        rules = Rules(workshop.connection, own_habit=True)
        with_it = rules.held("hand")
        rules.asked_about(workshop.samples.get(hand).pile_id)
        without = rules.held("hand")
        assert without != with_it
        assert len(comparisons(workshop.connection, [workshop.samples.get(hand).pile_id])) == 3
        (stack,) = (o for o in workshop.samples.as_evidence(hand, Evidence())[1] if o.about == "stack")
        assert stack.value == pytest.approx(math.log(112) - without.mu)
        # Asked about one of only three, two are left: the rule again.
        workshop.samples.remove(hand)
        first = workshop.samples.get("tide tables")
        (stack,) = (o for o in workshop.samples.as_evidence(first.id, Evidence())[1] if o.about == "stack")
        assert stack.value == pytest.approx(math.log(101) - Rules(workshop.connection).held("hand").mu)


def test_what_samples_teach_their_class_does_not_hang_on_the_hold() -> None:
    """Else adding one would change what another has already taught, and withdrawing would leave a trace."""
    with matref.open(":memory:") as workshop:
        workshop.samples.add("copies", paper_class="copier", **WEIGHED, **STACKED)

        def taught() -> list[tuple[Any, ...]]:
            rows = workshop.connection.execute("SELECT * FROM pile_line WHERE class_id = 'copier' ORDER BY pile_id")
            return [tuple(row) for row in rows]

        before = taught()
        _learnt(workshop)
        assert taught() == before


def test_which_piles_have_both_is_kept_by_the_file() -> None:
    with matref.open(":memory:") as workshop:
        connection = workshop.connection

        def piles() -> int:
            stored = {row[0] for row in connection.execute("SELECT pile_id FROM held_both_ways")}
            counted = {
                row[0]
                for row in connection.execute(
                    "SELECT pile_id FROM stack_reading GROUP BY pile_id HAVING count(DISTINCT way = 'hand') = 2"
                )
            }
            assert stored == counted
            return len(stored)

        hand, gauged = _both_ways(workshop, "a", "10.4 mm", "0.100 mm")
        assert piles() == 1
        connection.execute("UPDATE sample SET held = 'clamped' WHERE id = ?", (hand,))
        assert piles() == 0
        connection.execute("UPDATE sample SET held = 'hand' WHERE id = ?", (hand,))
        assert piles() == 1
        connection.execute("UPDATE sample SET pile_id = 'elsewhere' WHERE id = ?", (gauged,))
        assert piles() == 0
        connection.execute("UPDATE sample SET pile_id = ? WHERE id = ?", (hand, gauged))
        assert piles() == 1
        connection.execute("DELETE FROM sample WHERE id = ?", (gauged,))
        assert piles() == 0


def test_comparison_has_the_readings_uncertainty() -> None:
    with matref.open(":memory:") as workshop:
        _both_ways(workshop, "a", "10.40 mm", "0.100 mm")
        (found,) = comparisons(workshop.connection)
        assert found.way == "single"
        assert found.log_ratio == pytest.approx(math.log(1.04))
        # GUM: vernier 0.05 mm at two ends over 10.4 mm, micrometer 0.01 mm at one over 0.1 mm
        expected = (0.05 * math.sqrt(2 / 12) / 10.4) ** 2 + (0.01 / math.sqrt(12) / 0.1) ** 2
        assert found.variance == pytest.approx(expected, rel=2e-3)
        assert habit(workshop.connection, RULE, BETTER) is None


def test_the_question_reads_sixty_piles_at_most_and_by_index() -> None:
    with matref.open(":memory:") as workshop:
        connection: sqlite3.Connection = workshop.connection
        for i in range(80):
            connection.executemany(
                """INSERT INTO sample (id, pile_id, measured_on, added_at, changed_at, as_typed, observations,
                                       stack_sheets, stack_mm, stack_resolution_mm, measured_with, held)
                   VALUES (?, ?, '2024-01-01', '', '', '{}', '[]', ?, ?, 0.05, ?, ?)""",
                [
                    (f"hand{i:04}", f"hand{i:04}", 100, 10.4, "vernier", "hand"),
                    (f"one{i:05}", f"hand{i:04}", 1, 0.1, "micrometer", None),
                ],
            )
        assert len(comparisons(connection)) == 60
        plan = " ".join(
            row[3]
            for row in connection.execute(
                """EXPLAIN QUERY PLAN SELECT r.id
                   FROM (SELECT pile_id FROM held_both_ways ORDER BY pile_id LIMIT 60) AS both
                   JOIN stack_reading AS r ON r.pile_id = both.pile_id"""
            )
        )
        assert "sample_by_pile" in plan
