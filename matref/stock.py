"""What lies on the shelf: piles of salvaged leaves, remnants of cloth, boards, card; with count, size, grain, price."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, fields
from difflib import get_close_matches
from typing import Any

from matref.database import transaction
from matref.errors import BadInput, NotFound, shown
from matref.personal_entry import clean_text, new_id, now

MATERIALS = ("paper", "cloth", "interfacing", "card", "board", "endpaper", "mull", "lining")
GRAINS = ("long", "short", "none", "unknown")
_LONGEST_LABEL, _LONGEST_NOTE = 80, 2000


@dataclass(frozen=True, slots=True)
class Pile:
    """One pile: `count` pieces of `width_mm` x `height_mm`.

    grain: the side along which grain or warp runs (long, short, none, unknown). price: of one piece, None if not known.
    sample: the id of a sample of it; entry: a catalogue id; both "" for none.
    """

    id: str
    label: str
    material: str
    width_mm: float
    height_mm: float
    count: int
    grain: str
    price: float | None
    sample: str
    entry: str
    note: str
    added_at: str

    @property
    def name(self) -> str:
        """What to call it: its label, else material and id."""
        return self.label or f"{self.material} {self.id}"

    def as_json(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


_Piles = list[Pile]
_COLUMNS = ", ".join(f"coalesce({f.name}, '')" if f.name in ("sample", "entry") else f.name for f in fields(Pile))


class Stock:
    """The shelf. A pile is named by its id or, where only one has it, by its label.

    >>> import matref
    >>> with matref.open(":memory:") as workshop:
    ...     pile = workshop.stock.add("paper", "A4", count=60, grain="long", label="loft pile")
    ...     left = workshop.stock.remove("loft pile", count=24)
    ...     left.count, [p.label for p in workshop.stock.list()]
    (36, ['loft pile'])
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def add(
        self,
        material: str,
        size: str,
        *,
        count: int = 1,
        grain: str = "unknown",
        price: float | None = None,
        label: str = "",
        note: str = "",
        sample: str | None = None,
        entry: str | None = None,
    ) -> Pile:
        """Put a pile on the shelf and return it. `size`: two sides with a unit, or the name of a sheet size.

        `sample`: id or label of a sample of this pile; `entry`: the catalogue id of the material. BadInput for what
        makes no sense, and then nothing is kept.
        """
        _one_of(material, MATERIALS, "material")
        _one_of(grain, GRAINS, "grain")
        if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= 1_000_000:
            raise BadInput(f"a count of {shown(repr(count))}", expected="a whole number from 1", example="12")
        if price is not None and (
            isinstance(price, bool) or not isinstance(price, int | float) or not 0 <= price <= 1e6
        ):
            raise BadInput(f"a price of {shown(repr(price))}", expected="0 or more", example="0.5")
        width, height = self._size(size)
        kept = clean_text(label, "label", _LONGEST_LABEL), clean_text(note, "note", _LONGEST_NOTE, lines=True)
        from_sample = self._sample(sample)
        with transaction(self._connection):
            made = new_id(self._connection, "stock")
            self._connection.execute(
                """INSERT INTO stock (id, label, material, width_mm, height_mm, count, grain, price, sample, entry,
                                      note, added_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)""",
                (
                    made,
                    kept[0],
                    material,
                    width,
                    height,
                    count,
                    grain,
                    price,
                    from_sample,
                    None if entry is None else clean_text(entry, "entry", _LONGEST_LABEL),
                    kept[1],
                    now(),
                ),
            )
        return self.get(made)

    def list(self, material: str | None = None) -> _Piles:
        """Return what is on the shelf, of one material if given, in the order added."""
        if material is not None:
            _one_of(material, MATERIALS, "material")
        rows = self._connection.execute(
            f"""SELECT {_COLUMNS} FROM stock
                WHERE removed_at IS NULL AND (?1 IS NULL OR material = ?1) ORDER BY added_at, rowid""",
            (material,),
        )
        return [Pile(*row) for row in rows]

    def get(self, pile: str) -> Pile:
        """Return a pile on the shelf; NotFound names the nearest labels."""
        text = pile.strip() if isinstance(pile, str) else ""
        rows = self._connection.execute(
            f"""SELECT {_COLUMNS} FROM stock
                WHERE removed_at IS NULL AND (id = ?1 OR label = ?1) ORDER BY id = ?1 DESC LIMIT 2""",
            (text,),
        ).fetchall()
        if len(rows) == 2 and rows[0][0] != text:
            raise BadInput(f'several piles are called "{shown(text)}"', expected="the id of one")
        if rows:
            return Pile(*rows[0])
        near = ", ".join(get_close_matches(text, [p.label for p in self.list()], 3, 0.5))
        raise NotFound(
            f'no pile called "{shown(text)}" is on the shelf' + (f" (near: {near})" if near else ""),
            expected="the id or label of a pile",
        )

    def remove(self, pile: str, count: int | None = None) -> Pile:
        """Take `count` pieces off a pile, all of them for None; return the pile as it is afterwards."""
        with transaction(self._connection):
            found = self.get(pile)
            taken = found.count if count is None else count
            if isinstance(taken, bool) or not isinstance(taken, int) or not 1 <= taken <= found.count:
                raise BadInput(
                    f"{shown(repr(count))} pieces off {found.name}, which has {found.count}",
                    expected=f"1 to {found.count}",
                )
            left = found.count - taken
            self._connection.execute(
                "UPDATE stock SET count = ?, removed_at = ? WHERE id = ?", (left, None if left else now(), found.id)
            )
        row = self._connection.execute(f"SELECT {_COLUMNS} FROM stock WHERE id = ?", (found.id,)).fetchone()
        return Pile(*row)

    def _size(self, size: object) -> tuple[float, float]:
        if not isinstance(size, str):
            raise BadInput(f"a size of {shown(repr(size))}", expected="two sides with a unit", example='"600 x 450 mm"')
        from matref.catalogue.grades import sheet_sizes
        from matref.quantities import parse_size

        found = parse_size(size, None if size.strip()[:1].isdigit() else sheet_sizes(self._connection))
        if min(found.width_mm, found.height_mm) < 5 or max(found.width_mm, found.height_mm) > 20_000:
            raise BadInput(f"a size of {shown(size)}", expected="5 mm to 20 m a side", example='"600 x 450 mm"')
        return found.width_mm, found.height_mm

    def _sample(self, sample: str | None) -> str | None:
        if sample is None:
            return None
        from matref.samples import Samples

        return Samples(self._connection).get(sample).id


def _one_of(word: object, known: tuple[str, ...], what: str) -> None:
    if word not in known:
        raise BadInput(f"{what} {shown(repr(word))}", expected=" or ".join(known), example=known[0])
