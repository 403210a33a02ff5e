"""How many threads lie in the back of a finished book: its sections, and what its plan says of endpapers and two-on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from matref.book.spine import threads_in_fold
from matref.book.structures import STRUCTURES
from matref.book.swell import sewn_singly
from matref.book.tape_sewing import TIPPED

_BOTH_ENDS = 2


@dataclass(frozen=True, slots=True)
class Threads:
    """Sections N and how they are sewn; sections of a two-on book all along; endpapers sewn on, one at each end."""

    sections: int
    sewing: str
    singly: int = 0
    endpaper_folds: int = 0

    @classmethod
    def of(cls, sections: int, sewing: str, plan: Mapping[str, Any] | None) -> Threads:
        """Return the threads of a book; a plan of a case tells of the ends, as `matref.book.tape_sewing` reckons them.

        >>> case = {"book": {"structure": "flat-back-case"}}
        >>> Threads.of(8, "all-along", case).count, Threads.of(8, "two-on", case).count
        (10.0, 7.0)
        >>> Threads.of(8, "two-on", None).count
        4.0
        """
        book, said = ({} if plan is None else _table(plan, name) for name in ("book", "sewing"))
        made = STRUCTURES.get(str(book.get("structure")))
        if made is None or not made.case:
            return cls(sections, sewing)
        named = said.get("singly")
        wanted = min(named if isinstance(named, int) else _BOTH_ENDS, sections)
        alone = sewn_singly(sections, wanted) if sewing == "two-on" else 0
        return cls(sections, sewing, alone, 0 if said.get("endpapers") == TIPPED else _BOTH_ENDS)

    @property
    def count(self) -> float:
        """N·m and the endpapers': what all of them would add, in thread thicknesses, if they stayed round."""
        return self.sections * threads_in_fold(self.sewing, self.sections, self.singly) + self.endpaper_folds


def _table(plan: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = plan.get(name, {})
    return table if isinstance(table, Mapping) else {}
