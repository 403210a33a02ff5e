"""The estimator beside other methods: each source group left out in turn and foretold from the others.

`matref model report --compare` gives the same in full. The limits are marks for this estimator: an error of 6 %, 5 %
for the papers of notebooks, shares within 3 and 5 points of what is stated, a log score above that of every baseline.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from table import Limit, Row, at_least, percent, say

import matref
from matref.estimator.report import OURS, report
from matref.estimator.validate import Score

Methods = Mapping[str, Score]
_COVERAGE = {0.9: (0.87, 0.93), 0.5: (0.45, 0.55)}


def rows() -> Iterator[Row]:
    """Yield error, coverage and log score of paper and board, and of the papers that notebooks are made of."""
    with matref.open(":memory:") as workshop:
        found = report(workshop.connection, ("paper", "board"), say=lambda words: say(f"  {words}"))
    for family in found:
        yield from _of(family.family, {name: pair[0] for name, pair in family.methods.items()}, 6)
        notebooks = {name: pair[1] for name, pair in family.methods.items()}
        if notebooks[OURS].readings:
            yield from _of(f"{family.family} for notebooks", notebooks, 5)


def _of(what: str, methods: Methods, most_error_pct: float) -> Iterator[Row]:
    ours = methods[OURS]
    others = {name: score for name, score in methods.items() if name != OURS}
    what = f"{what}, {ours.readings} readings"
    best = min(others, key=lambda name: others[name].error_pct)
    # The limit is on the error itself; as a limit of the ratio it depends on the baseline.
    ratio, most = ours.error_pct / others[best].error_pct, most_error_pct / others[best].error_pct
    yield Row(
        f"{what}: median error",
        f"{ours.error_pct:.2f} %",
        f"the least: {best}",
        f"{others[best].error_pct:.2f} %",
        ratio,
        Limit(f"error at most {most_error_pct:g} %", high=most),
        _all(others, lambda score: f"{score.error_pct:.2f} %"),
    )
    for level, (low, high) in _COVERAGE.items():
        yield Row(
            f"{what}: inside the {percent(level)} range",
            percent(_inside(ours, level)),
            "as stated",
            percent(level),
            _inside(ours, level) / level,
            Limit(f"{percent(low)} to {percent(high)}", low / level, high / level),
            _all(others, lambda score, level=level: percent(_inside(score, level))),  # type: ignore[misc]
        )
    best = max(others, key=lambda name: others[name].log_score)
    yield Row(
        f"{what}: mean log score",
        f"{ours.log_score:.3f}",
        f"the best: {best}",
        f"{others[best].log_score:.3f}",
        math.exp(ours.log_score - others[best].log_score),
        at_least(1),
        f"ratio of densities; {_all(others, lambda score: f'{score.log_score:.3f}')}",
    )


def _inside(score: Score, level: float) -> float:
    return score.cover_90 if level == 0.9 else score.cover_50


def _all(others: Methods, figure: Callable[[Score], str]) -> str:
    return ", ".join(f"{name} {figure(score)}" for name, score in others.items())
