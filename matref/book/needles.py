"""Which needle: for a machine by what lies under it, for the hand by the thread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matref.book.practice import Practice, least, most, number

BOOK_SYSTEMS = ("sharps", "darners", "chenille")
"""Hand needles sold by these names are stout enough for folds; beading and applique needles are not."""


@dataclass(frozen=True, slots=True)
class Needle:
    """A needle size of the catalogue: id, name, blade diameter, mm; system, such as "sharps" or "metric Nm / US"."""

    needle_id: str
    name: str
    blade_mm: float
    machine: bool
    system: str = ""


def machine_needle(needles: Sequence[Needle], under_mm: float, practice: Practice) -> Needle:
    """Return the machine needle to start with: finer for thin work, stouter near the machine's limit.

    The rule gives a usual size and two neighbours; which third of the limit the layers fill decides between them (our
    own choice).
    """
    limit, row = number(practice.under_needle_limit), practice.needle_common
    third = 3 * under_mm / limit
    metric = least(row) if third < 1 else number(row) if third < 2 else most(row)
    machine = [needle for needle in needles if needle.machine]
    if not machine:
        return Needle("", f"machine needle {metric:g}", metric / 100, machine=True)
    return min(machine, key=lambda needle: abs(needle.blade_mm - metric / 100))


def hand_needle(needles: Sequence[Needle], thread_mm: float) -> Needle | None:
    """Return the finest hand needle for sewing books that is at least as thick as the thread, None without one.

    >>> sharps = [Needle("a", "sharps 10", 0.46, False, "sharps"), Needle("b", "sharps 8", 0.61, False, "sharps")]
    >>> hand_needle(sharps, 0.5).name
    'sharps 8'
    """
    wide = [n for n in needles if not n.machine and n.system in BOOK_SYSTEMS and n.blade_mm >= thread_mm]
    return min(wide, key=lambda needle: needle.blade_mm) if wide else None
