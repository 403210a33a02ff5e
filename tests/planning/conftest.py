"""A workshop that no test changes, and one of a test's own. All plans here are invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from personal_shop import fitted_file, place, shop

import matref
from matref.api import Workshop

__all__ = ["fitted_file", "place", "shop", "workshop"]


@pytest.fixture(scope="session")
def workshop(fitted_file: Path) -> Iterator[Workshop]:
    with matref.open(fitted_file) as opened:
        yield opened
