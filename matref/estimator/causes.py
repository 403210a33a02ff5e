"""Why an answer's range is as wide as it is: every doubt is taken away in turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from matref.estimator.estimate import Estimate
from matref.estimator.model import Model
from matref.estimator.observation import Observation
from matref.estimator.posterior import Posterior, posterior


class Cause(NamedTuple):
    """A cause of the range's width: the half-width (% of the caliper) that would be left without it."""

    words: str
    half_width_without_pct: float

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {"cause": self.words, "half_width_without_pct": round(self.half_width_without_pct, 2)}


def explain(model: Model, observations: Sequence[Observation], known: Posterior, level: float) -> list[Cause]:
    """Return what makes the caliper's range wide, largest cause first.

    Each doubt is taken away in turn and the range worked out again: the class unknown, makers differing within a
    class, and every share of every reading's uncertainty.
    """

    def half_width_pct(changed: Posterior) -> float:
        estimate = Estimate.of(changed.caliper_um, level)
        return 100 * estimate.half_width / estimate.value

    now = half_width_pct(known)
    causes: list[Cause] = []
    likeliest = next(iter(known.classes()))
    if len(known.classes()) > 1:
        named = model.only([likeliest])
        causes.append(Cause("the kind of paper is not certain", half_width_pct(posterior(named, observations))))
    calm = Model(model.classes, {family: s._replace(sd=s.sd * 1e-3) for family, s in model.scatter.items()})
    causes.append(
        Cause("papers of one kind differ between makers and makings", half_width_pct(posterior(calm, observations)))
    )
    for i, own in enumerate(observations):
        for words, share in own.shares.items():
            if share <= 0:
                continue
            sharper = replace(own, u=max(math.sqrt(max(own.u**2 - share, 0.0)), 1e-4))
            changed = [*observations[:i], sharper, *observations[i + 1 :]]
            causes.append(Cause(f"{words} ({own.words})", half_width_pct(posterior(model, changed))))
    telling = [c for c in causes if c.half_width_without_pct < 0.98 * now]
    return sorted(telling, key=lambda c: c.half_width_without_pct)
