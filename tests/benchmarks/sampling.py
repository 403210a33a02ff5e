"""Adding a sample, and asking, at a hundred and at a hundred thousand samples."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import ExitStack
from itertools import count
from pathlib import Path
from typing import Any

import many_samples
from table import Row, at_most
from timed import compare

import matref

MEASURED: dict[str, Any] = {"size": "A4", "sheets": 20, "mass": "99 g", "stack_sheets": 100, "stack": "10.6 mm"}
FEW, MANY = 100, 100_000


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        places = [Path(folder) / f"{samples}.db" for samples in (FEW, MANY)]
        for place, samples in zip(places, (FEW, MANY), strict=True):
            many_samples.make(place, samples)
        few, many = (stack.enter_context(matref.open(place)) for place in places)
        number = count()

        def add(workshop: matref.Workshop) -> None:
            workshop.samples.add(f"added {next(number)}", paper_class="copier", **MEASURED)

        def ask(workshop: matref.Workshop) -> None:
            workshop.caliper(paper_class="copier", grammage=80, stack_sheets=100, stack="10.6 mm")

        beside, limit = f"at {FEW}", at_most(2)
        yield compare(f"add a sample at {MANY:,}", lambda: add(many), beside, lambda: add(few), limit=limit, turns=30)
        yield compare(
            f"caliper of a hand-held stack at {MANY:,} samples",
            lambda: ask(many),
            beside,
            lambda: ask(few),
            limit=limit,
            turns=15,
            note=f"at most 60 piles tell of the person's hold; {FEW} samples have 10",
        )
