"""A workshop file with many samples: a hundred are added as a person would, the rest copied from them by SQL."""

from __future__ import annotations

from pathlib import Path
from random import Random

import matref
from matref.database import transaction

ADDED = 100
A_TENTH, MOST = "ledger", "copier"
"""The classes of which a tenth and seven tenths of the samples are."""

_COPIES = """CREATE TEMP TABLE copy AS
    WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n LIMIT ?) SELECT i FROM n"""
_GRAMMAGE = {A_TENTH: 95, MOST: 80, "newsprint": 49}


def make(place: Path, samples: int) -> None:
    """Make the file at `place` with so many samples (a multiple of ADDED), a tenth of them a second look at a pile."""
    if samples % ADDED:
        raise ValueError(f"{samples} samples, expected a multiple of {ADDED}")
    with matref.open(place) as workshop:
        _add(workshop)
        connection = workshop.connection
        columns = [row[1] for row in connection.execute("PRAGMA table_info(sample)")]
        copied = {
            "id": "s.id || '-' || n.i",
            "label": "s.label || ', ' || n.i",
            "pile_id": "s.pile_id || '-' || n.i",
            # The copies are older than what was added, each at a moment of its own.
            "added_at": "strftime('%Y-%m-%dT%H:%M:%f', s.added_at, -n.i || ' minutes') || substr(s.added_at, -9)",
        }
        lines = [row[1] for row in connection.execute("PRAGMA table_info(pile_line)")]
        with transaction(connection):
            connection.execute(_COPIES, (samples // ADDED - 1,))
            for table, names in (("sample", columns), ("pile_line", lines)):
                values = ", ".join(copied.get(name, f"s.{name}") for name in names)
                # CROSS JOIN keeps the order; the rows to copy are put aside, since copies land in the same table.
                connection.execute(f"CREATE TEMP TABLE original AS SELECT * FROM {table}")
                connection.execute(f"INSERT INTO {table} SELECT {values} FROM copy AS n CROSS JOIN temp.original AS s")
                connection.execute("DROP TABLE original")
        found = connection.execute("SELECT count(*) FROM sample").fetchone()[0]
    if found != samples:
        raise RuntimeError(f"{found} samples instead of {samples}")


def _add(workshop: matref.Workshop) -> None:
    dice = Random(4)
    for ten in range(ADDED // 10):
        for i, kind in enumerate((A_TENTH, *[MOST] * 7, "newsprint")):
            gsm = _GRAMMAGE[kind] * dice.uniform(0.97, 1.03)
            caliper_um = 1.3 * gsm * dice.uniform(0.97, 1.03)
            label = f"invented {10 * ten + i}"
            pile = workshop.samples.add(
                label,
                paper_class=kind,
                size="A4",
                sheets=20,
                mass=f"{20 * 0.06237 * gsm:.1f} g",
                stack_sheets=100,
                stack=f"{caliper_um / 10:.1f} mm",
            )
        workshop.samples.add(
            f"{label}, gauged",
            same_as=pile.id,
            paper_class=kind,
            stack_sheets=1,
            stack=f"{caliper_um:.0f} um",
            with_="micrometer",
        )
