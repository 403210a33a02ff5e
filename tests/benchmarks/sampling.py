"""Adding a sample, and asking, at a hundred and at a hundred thousand samples."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import asdict
from itertools import count
from pathlib import Path
from typing import Any

from timed import Ratio, compare

import matref
from matref.database import transaction
from matref.estimator.observation import Observation
from matref.estimator.personal import place_pile

MEASURED: dict[str, Any] = {"size": "A4", "sheets": 20, "mass": "99 g", "stack_sheets": 100, "stack": "10.6 mm"}


def fill(workshop: matref.Workshop, samples: int) -> None:
    """Make the file hold so many samples: copies of one, each a pile of its own, a tenth gauged as well."""
    first = workshop.samples.add("invented", paper_class="copier", **MEASURED)
    connection = workshop.connection
    names = [row[1] for row in connection.execute("PRAGMA table_info(sample)")]
    row = dict(connection.execute("SELECT * FROM sample WHERE id = ?", (first.id,)).fetchone())
    gauged = {"stack_sheets": 1, "stack_mm": 0.104, "stack_resolution_mm": 0.01, "measured_with": "micrometer"}
    observations = [Observation(**o) for o in json.loads(row["observations"])]
    assert asdict(observations[0])
    marks = ", ".join("?" * len(names))
    with transaction(connection):
        for i in range(1, samples):
            again = i % 10 == 0
            pile = f"pile{i - again:08}"
            changed = row | {"id": f"copy{i:08}", "pile_id": pile, "label": f"copy {i}"} | (gauged if again else {})
            connection.execute(f"INSERT INTO sample VALUES ({marks})", [changed[n] for n in names])
            if not again:
                place_pile(connection, pile, "copier", observations)


def ratios() -> Iterator[Ratio]:
    """Yield the ratios of this subject."""
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        few, many = (stack.enter_context(matref.open(Path(folder) / f"{n}.db")) for n in (100, 100_000))
        fill(few, 100)
        fill(many, 100_000)
        number = count()

        def add(workshop: matref.Workshop) -> None:
            workshop.samples.add(f"added {next(number)}", paper_class="copier", **MEASURED)

        def ask(workshop: matref.Workshop) -> None:
            workshop.caliper(paper_class="copier", grammage=80, stack_sheets=100, stack="10.6 mm")

        yield compare("add a sample at 100 000", lambda: add(many), "at 100", lambda: add(few), limit=2, turns=30)
        yield compare(
            "caliper of a hand-held stack at 100 000 samples", lambda: ask(many), "at 100", lambda: ask(few), limit=2,
            turns=15, note="at most 60 piles tell of the person's hold; 100 samples have 10"
        )  # fmt: skip
