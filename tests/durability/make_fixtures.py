"""Write the file of each layout that has none yet: the personal tables as that layout's code leaves them, filled.

`PYTHONPATH=tests python -m durability.make_fixtures`. A file that is there is never written again: it stands for the
files that people have. All values are invented.
"""

from __future__ import annotations

import gzip
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from matref.database import transaction
from matref.migrations import MIGRATIONS
from matref.salvage import lay_out

FIXTURES = Path(__file__).with_name("fixtures")

_WEIGHED = '{"size":"A4","sheets":"20","mass":"98 g","stack_sheets":"100","stack":"10.5 mm"}'
_OBSERVED = (
    '[{"about": "weighing", "words": "20 sheets weighing 98 g", "grammage_part": 1.0, "caliper_part": 0.0, '
    '"value": 4.364006111001741, "u": 0.004798172804666101, "shares": {"the scale": 1.735e-05}}, '
    '{"about": "stack", "words": "100 sheets 10.5 mm thick", "grammage_part": 0.0, "caliper_part": 1.0, '
    '"value": 4.605170185988092, "u": 0.0300000000000000004, "shares": {}}]'
)


def fill(connection: sqlite3.Connection, layout: int) -> None:
    """Put rows into the tables that this layout has, with digits and letters that are easily lost."""
    insert = connection.execute
    insert("INSERT INTO setting VALUES ('habit', 'clips, no pins – Ω')")
    if layout >= 2:
        for i in range(25):
            pile = f"leaf{i:04d}" if i % 5 else "leaf0000"
            insert(
                """INSERT INTO sample (id, label, class_id, pile_id, note, measured_on, added_at, changed_at,
                     withdrawn_at,
                     as_typed, observations, width_mm, height_mm, sheets, mass_g, scale_resolution_g, stack_sheets,
                     stack_mm, stack_resolution_mm, grammage_gsm, grammage_u_gsm, caliper_um, caliper_u_um)
                   VALUES (?, ?, NULL, ?, ?, '2023-02-28', ?, ?, ?, ?, ?, 210.0, 297.0, 20, ?, 0.1, 100, 10.5, 0.1,
                     ?, 0.37699999999999995, ?, 2.9999999999999996)""",
                (
                    f"leaf{i:04d}",
                    f"Seekarte – Ärmel {i} ½",
                    pile,
                    "n\n" * (i * 150),
                    f"2023-02-28T10:{i:02d}:00.000001+00:00",
                    f"2023-02-28T10:{i:02d}:00.000001+00:00",
                    "2023-03-01T00:00:00+00:00" if i % 7 == 0 else None,
                    _WEIGHED,
                    _OBSERVED,
                    98 + i / 3,
                    78.56429 + i / 7,
                    0.1 + 0.2 + i,
                ),
            )
        insert(
            """INSERT INTO sample_history VALUES ('leaf0001', 1, 'first spelling', 'leaf0001', 'a note',
                 '2023-02-27', ?, '2023-02-27T09:00:00+00:00', '2023-02-28T10:01:00.000001+00:00')""",
            (_WEIGHED,),
        )
    if layout >= 3:
        insert(
            """INSERT INTO finished_book VALUES ('book0001', 'first logbook', 'kept', '2023-04-01',
                 '2023-04-01T08:00:00+00:00', NULL, 4, 8, 2, 'all-along', 'pressed', '30/3 linen', 'linen lea 30',
                 'linen', 0.56578039430089, 0.0546199713304345, '{"caliper_um":"104"}', 'caliper 104', 'mixed',
                 104.1, 0.28866070047722114, 'vernier', 6.4, 0.0408, 9.300000000000001, 0.0408,
                 '{"spine_mm":{"value":9.04,"low":8.2,"high":10.5,"level":0.9}}', '{"book":{"sections":8}}')"""
        )
    if layout >= 5:
        insert(
            """INSERT INTO stock VALUES ('pile0001', 'Segeltuch', 'cloth', 600.0, 450.0, 3, 'long', 12.750000000000002,
                 NULL, NULL, 'from the sail locker', '2023-05-01T08:00:00+00:00', NULL)"""
        )


def main() -> None:
    """Write what is missing."""
    FIXTURES.mkdir(exist_ok=True)
    for layout in range(1, len(MIGRATIONS) + 1):
        target = FIXTURES / f"layout-{layout}.db.gz"
        if target.exists():
            continue
        with tempfile.TemporaryDirectory() as folder:
            place = Path(folder) / "made.db"
            with closing(sqlite3.connect(place, isolation_level=None)) as connection:
                with transaction(connection):
                    lay_out(connection, layout)
                    fill(connection, layout)
                connection.execute("VACUUM")
            target.write_bytes(gzip.compress(place.read_bytes(), mtime=0))


if __name__ == "__main__":
    main()
