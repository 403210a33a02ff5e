"""What a call of the command line gave, and what a refusal looks like."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, NamedTuple


class Outcome(NamedTuple):
    """What a call of the command line gave."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        """The answer, read back strictly."""
        return json.loads(self.out, parse_constant=_refuse)


def _refuse(word: str) -> None:
    raise AssertionError(f"{word} is no JSON")


Run = Callable[..., Outcome]


def refused(outcome: Outcome, *words: str) -> None:
    """Assert that a call was refused as the contract says: exit code 2, one line on stderr, nothing on stdout."""
    assert outcome.code == 2, outcome
    assert outcome.out == ""
    assert outcome.err.startswith("error: ")
    assert outcome.err.endswith("\n")
    assert outcome.err.count("\n") == 1, outcome.err
    for word in words:
        assert word in outcome.err
