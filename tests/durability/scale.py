"""How much is tried: the quick amounts of every test run, or the long ones of `python tests/durability/long.py`."""

from __future__ import annotations

import os

LONG = os.environ.get("MATREF_TRY") == "long"


def times(quick: int, long: int) -> int:
    """Return how often to try."""
    return long if LONG else quick


def told(figures: str) -> None:
    """Say what was tried; seen in the long run."""
    print(f"\ndurability: {figures}")
