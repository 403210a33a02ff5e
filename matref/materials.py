"""Materials by name: what a person calls a thread becomes a diameter with its doubt and its source."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from matref.book.rule_row import Halves
from matref.book.thread import thread_from_tex
from matref.errors import BadInput
from matref.estimator.as_written import as_written
from matref.estimator.distribution import Distribution, Exact, Uniform
from matref.quantities import Typed, parse_length

_EXAMPLE = '--thread "30/3 linen"'


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread as the spine needs it: name, loose diameter in mm, tex where known, entry and source ids."""

    name: str
    diameter_mm: Distribution
    tex: float | None
    entry: str
    source_ids: tuple[str, ...]


def thread(connection: sqlite3.Connection, text: Typed) -> Thread:
    """Return the thread that `text` names: a diameter ("0.5 mm"), a catalogue id, or a count ("30/3 linen").

    A measured diameter is doubtful by half its last digit either way. A thread known by its count has the diameter of
    its tex at the fibre's range of yarn densities. Raises BadInput where no thread goes by that name.
    """
    if measured := _measured(text):
        return measured
    name = str(text).strip()
    listed = _listed(connection, name)
    return listed if listed else _counted(connection, name)


def _measured(text: Typed) -> Thread | None:
    plain = str(text).strip().lower()
    if isinstance(text, str) and not (plain[:1].isdigit() or plain[:1] == "."):
        return None
    if isinstance(text, str) and not plain.rstrip(".").endswith(("mm", "cm", "um", "µm", "in", '"', "mil", "inch")):
        return None
    quantity = parse_length(text, what="thread diameter")
    if not 0.02 <= quantity.value <= 5:
        raise BadInput(
            f"a thread {quantity.value:g} mm thick", expected="a diameter of 0.02 to 5 mm", example='--thread "0.5 mm"'
        )
    return Thread(f"thread {quantity.value:g} mm thick", as_written(quantity), None, "", ())


def _listed(connection: sqlite3.Connection, name: str) -> Thread | None:
    row = connection.execute(
        """SELECT t.id, t.name, t.tex, t.fibre_id, t.diameter_low_mm, t.diameter_mm, t.diameter_high_mm, t.source_id
           FROM thread AS t WHERE t.id = ?1 OR lower(t.name) = lower(?1) ORDER BY t.id = ?1 DESC LIMIT 1""",
        (name,),
    ).fetchone()
    if row is None:
        return None
    entry, title, tex, fibre, low, middle, high, source = row
    known = [d for d in (low, middle, high) if d is not None]
    if known:
        diameter: Distribution = Uniform(min(known), max(known)) if min(known) < max(known) else Exact(known[0])
        return Thread(title, diameter, tex, f"thread:{entry}", (source,))
    if tex is None or fibre is None:
        raise BadInput(
            f"the catalogue has neither a diameter nor a count for {title}",
            expected="a thread with one",
            example=_EXAMPLE,
        )
    diameter, density_source = _from_tex(connection, tex, fibre)
    return Thread(title, diameter, tex, f"thread:{entry}", (source, density_source))


def _counted(connection: sqlite3.Connection, name: str) -> Thread:
    from matref.catalogue.convert import readings

    try:
        found = [r for r in readings(connection, name) if r.unit == "tex" and not isinstance(r.value, tuple)]
    except BadInput:
        found = []
    if not found:
        from matref.catalogue.search import near

        close = ", ".join(near(connection, name)[:3])
        raise BadInput(
            f'no thread called "{name[:60]}"' + (f" (near: {close})" if close else ""),
            expected="a diameter, a count with its fibre, or a thread of the catalogue",
            example=_EXAMPLE,
        )
    first = found[0]
    wide = first.more["diameter_mm"]
    diameter: Distribution = Halves(wide["low"], wide["value"], wide["high"])
    tex = first.value if isinstance(first.value, float) else None
    return Thread(first.meaning, diameter, tex, first.entry, (first.source_id,))


def _from_tex(connection: sqlite3.Connection, tex: float, fibre_id: str) -> tuple[Distribution, str]:
    row = connection.execute(
        """SELECT yarn_density_low_g_cm3, yarn_density_g_cm3, yarn_density_high_g_cm3, source_id
           FROM fibre WHERE id = ?""",
        (fibre_id,),
    ).fetchone()
    low, middle, high, source = row
    return thread_from_tex(tex, low, middle, high), source
