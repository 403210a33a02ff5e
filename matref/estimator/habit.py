"""How loosely one person holds a stack, learnt from piles that were measured by hand and by a better way as well.

The rule for a hand-held stack covers all people and all occasions: its variance is split between the person's habit
and the occasion, and nobody knows in which share. With d_j the log of a pile's thickness per sheet by hand over that
by the better way k (clamped, gauged, one sheet), about the rule's middle:

    d_j = θ - b_k + e_j,   θ ~ N(0, ρτ²),  b_k ~ N(0, u_k²),  e_j ~ N(0, v_j + (1 - ρ)τ²/n_j)

τ² is the rule's variance, u_k the better way's own doubt, common to all its comparisons, v_j what reading both adds
(GUM), n_j the number of hand-held readings. The share ρ is flat between 0 and 1 and summed over. Without comparisons
this is the rule itself.

Nothing is stored but which piles have both, a list that triggers in `matref.sample_schema` keep: an answer is worked
out from the samples.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from matref.estimator.observation import Factor, log_u
from matref.quantities import reading_uncertainty

LEAST = 3  # fewer comparisons are no habit
_MOST = 60  # more add nothing that shows; piles are taken by their id, so the choice does not wander
_SHARES = 21


@dataclass(frozen=True, slots=True)
class Comparison:
    """One pile measured both ways: log of hand-held over better thickness per sheet, and the variance from reading.

    `way`: clamped, gauge or single (one sheet, which is what the caliper means). `holds`: readings held by hand.
    """

    way: str
    log_ratio: float
    variance: float
    holds: int = 1


@dataclass(frozen=True, slots=True)
class Habit:
    """What was learnt: how much thicker than under the gauge this person's stacks read, and from how many piles."""

    factor: Factor
    piles: int

    @property
    def words(self) -> str:
        """One line for people."""
        middle, half = 100 * math.expm1(self.factor.mu), 165 * self.factor.u
        return (
            f"your own hold, from {self.piles} piles measured both ways: a stack in your hand reads {middle:+.1f} % "
            f"(± {half:.1f}) against a gauge"
        )


def comparisons(connection: sqlite3.Connection, apart_from: Collection[str] = ()) -> list[Comparison]:
    """Return one comparison for each pile that has both; of several better ways the finest counts.

    `apart_from`: piles that are left out.
    """
    marks = ", ".join("?" * len(apart_from))
    readings: dict[str, list[tuple[str, float, float]]] = {}
    for pile_id, way, sheets, stack_mm, step_mm, tool in connection.execute(
        f"""SELECT r.pile_id, r.way, r.stack_sheets, r.stack_mm, coalesce(r.stack_resolution_mm, 0), r.measured_with
           FROM (SELECT pile_id FROM held_both_ways WHERE pile_id NOT IN ({marks}) ORDER BY pile_id LIMIT ?) AS both
           JOIN stack_reading AS r ON r.pile_id = both.pile_id ORDER BY r.pile_id, r.id""",
        (*apart_from, _MOST),
    ):
        ends = 1 if tool == "micrometer" else 2
        u = log_u(stack_mm, reading_uncertainty(step_mm, ends))
        readings.setdefault(pile_id, []).append((way, math.log(stack_mm / sheets), u * u))
    found = []
    for rows in readings.values():
        hand = [row for row in rows if row[0] == "hand"]
        way, log_better, variance = min((row for row in rows if row[0] != "hand"), key=lambda row: row[2])
        n = len(hand)
        log_hand = math.fsum(row[1] for row in hand) / n
        found.append(Comparison(way, log_hand - log_better, math.fsum(row[2] for row in hand) / n**2 + variance, n))
    return found


def learn(found: Sequence[Comparison], rule: Factor, better: Mapping[str, Factor]) -> Factor:
    """Return the factor for this person's next hand-held stack, from the rule and the comparisons.

    `better`: the factor of each way but "single", which is 1 by definition.

    >>> rule = Factor(1.0, 1.1, "rule")
    >>> firm = learn([Comparison("single", 0.01, 1e-4)] * 8, rule, {})
    >>> [round(f.mu, 3) for f in (rule, firm)], firm.u < rule.u
    ([0.048, 0.011], True)
    """
    total = rule.u**2
    parts = []
    for i in range(_SHARES):
        share = (i + 0.5) / _SHARES
        occasion = (1 - share) * total
        information, vector, log_likelihood, square = 1 / (share * total), 0.0, 0.0, 0.0
        for way in sorted({c.way for c in found}):
            middle, u = (better[way].mu, better[way].u) if way in better else (0.0, 0.0)
            own = [
                (c.log_ratio + middle - rule.mu, 1 / (c.variance + occasion / c.holds)) for c in found if c.way == way
            ]
            weight = math.fsum(w for _, w in own)
            mean = math.fsum(w * d for d, w in own) / weight
            log_likelihood += 0.5 * math.fsum(math.log(w) for _, w in own) - 0.5 * math.log(weight)
            log_likelihood -= 0.5 * math.fsum(w * (d - mean) ** 2 for d, w in own)
            variance = 1 / weight + u * u
            log_likelihood -= 0.5 * math.log(variance)
            information += 1 / variance
            vector += mean / variance
            square += mean**2 / variance
        centre = vector / information
        log_likelihood -= 0.5 * (math.log(share * total * information) + square - centre * vector)
        parts.append((log_likelihood, centre, 1 / information + occasion))
    top = max(p[0] for p in parts)
    weights = [math.exp(p[0] - top) for p in parts]
    scale = math.fsum(weights)
    mean = math.fsum(w * centre for w, (_, centre, _) in zip(weights, parts, strict=True)) / scale
    spread = math.fsum(w * (v + (m - mean) ** 2) for w, (_, m, v) in zip(weights, parts, strict=True)) / scale
    half = math.sqrt(3 * spread)  # a flat range of this half-width has that variance, as Factor reads it
    return Factor(math.exp(rule.mu + mean - half), math.exp(rule.mu + mean + half), rule.source_id)


def habit(
    connection: sqlite3.Connection, rule: Factor, better: Mapping[str, Factor], apart_from: Collection[str] = ()
) -> Habit | None:
    """Return this person's habit, or None while there are fewer than three comparisons but for those `apart_from`."""
    found = comparisons(connection, apart_from)
    return Habit(learn(found, rule, better), len(found)) if len(found) >= LEAST else None
