"""Workshops for the tests of what a person keeps: packaged catalogue and fit, made once, copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import matref
from matref.api import Workshop


@pytest.fixture(scope="session")
def fitted_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("fitted") / "fitted.db"
    matref.open(place).close()
    return place


@pytest.fixture
def place(fitted_file: Path, tmp_path: Path) -> Path:
    """The path of a file that a test may change."""
    return Path(shutil.copy(fitted_file, tmp_path / "workshop.db"))


@pytest.fixture
def shop(place: Path) -> Iterator[Workshop]:
    """That file, opened."""
    with matref.open(place) as workshop:
        yield workshop


@pytest.fixture
def other_shop(fitted_file: Path, tmp_path: Path) -> Iterator[Workshop]:
    """The file of somebody else, to exchange samples with."""
    with matref.open(shutil.copy(fitted_file, tmp_path / "other.db")) as workshop:
        yield workshop


QUESTIONS: tuple[dict[str, Any], ...] = (
    {"paper_class": "ledger", "grammage": 90},
    {"paper_class": "ledger", "stack_sheets": 50, "stack": "5.5 mm"},
    {"size": "A4", "sheets": 20, "mass": "98 g"},
    {"stack_sheets": 100, "stack": "10.5 mm"},
)


def numbers(shop: Workshop) -> list[object]:
    """Answers to the questions without what is told in words, and the sums they rest on."""
    found: list[object] = []
    for question in QUESTIONS:
        answer = shop.caliper(**question)
        found.append((answer.caliper_um, answer.bulk_cm3_g, answer.grammage_gsm, answer.class_mean_caliper_um))
        found.append(answer.classes)
    rows = shop.connection.execute("SELECT * FROM sample_total WHERE count > 0 ORDER BY class_id")
    return [*found, *map(tuple, rows)]
