"""The sewing of a plan: thread and needle from the catalogue, the maker's own measures beside the rules."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass

from matref import materials
from matref.book.needles import Needle
from matref.book.plan_input import SewingWish
from matref.book.stitching import Wish
from matref.book.structures import STRUCTURES, structure
from matref.catalogue.rows import Row, fetch
from matref.errors import BadInput
from matref.planning.document import Values

USUAL_THREAD: Mapping[str, str] = {"hand": "linen-25-3", "machine": "metric-ticket-75"}
"""What is taken when no thread is named: entries called a fair first choice, and one for general seams."""


@dataclass(frozen=True, slots=True)
class PlanSewing:
    """How a plan is sewn: for the book, the thread with its sources, and the needle if one was named."""

    wish: SewingWish
    thread: materials.Thread
    needle: Needle | None
    assumed: str


def plan_sewing(connection: sqlite3.Connection, name: str, values: Values) -> PlanSewing:
    """Return the sewing of a plan for the structure of that name."""
    made = structure(name)
    by = values.text("by") or made.by[0]
    named = values.text("thread")
    try:
        thread = materials.thread(connection, USUAL_THREAD[by] if named is None else named)
    except BadInput as error:
        raise BadInput(
            f"sewing.thread: {error.wrong}", expected=error.expected, example='thread = "30/3 linen"'
        ) from error
    if values.flag("two_on", False) and not made.two_on:
        raise BadInput(
            f"sewing.two_on: a {name} is not sewn two-on",
            expected="two_on = false, or one of " + ", ".join(one.name for one in STRUCTURES.values() if one.two_on),
            example="two_on = false",
        )
    needle = _needle(connection, by, values.text("needle"))
    wish = Wish(
        stitch_mm=values.mm("stitch_mm"),
        longest_stitch_mm=values.mm("longest_stitch_mm"),
        stations=values.whole("stations"),
        end_mm=values.mm("end_mm"),
        coated=values.flag("coated", False),
        kind="two-on" if values.flag("two_on", False) else "all-along",
        singly=values.whole("singly"),
        endpapers=values.text("endpapers") or "sewn",
    )
    sewing = SewingWish(
        by=by,
        thread=thread.name,
        thread_mm=thread.diameter_mm,
        needles=needles(connection) if needle is None else (needle,),
        pitch_mm=values.mm("pitch_mm"),
        wish=wish,
    )
    assumed = "" if named else f"no thread is named: {thread.name} is taken; name yours"
    return PlanSewing(sewing, thread, needle, assumed)


def needles(connection: sqlite3.Connection) -> tuple[Needle, ...]:
    """Return every needle of the catalogue with a blade or a thread of its own and nothing doubtful about it."""
    rows = fetch(
        connection,
        """SELECT * FROM needle WHERE kind = 'size' AND (blade_mm IS NOT NULL OR stoutest_thread_id IS NOT NULL)
           ORDER BY blade_mm, id""",
    )
    return tuple(_as_needle(connection, row) for row in rows if "flag" not in row)


def _as_needle(connection: sqlite3.Connection, row: Row) -> Needle:
    """Return a row as a needle, the threads that its source pairs it with by their middle diameters."""
    ends = [row.get(f"{end}_thread_id") for end in ("finest", "stoutest")]
    threads = [materials.thread(connection, str(end)).diameter_mm.quantile(0.5) for end in ends if end]
    pair = (threads[0], threads[1]) if len(threads) == 2 else None
    machine = row["for_use"] == "machine"
    return Needle(row["id"], row["name"], row.get("blade_mm"), machine, str(row.get("system", "")), pair)


def _needle(connection: sqlite3.Connection, by: str, text: str | None) -> Needle | None:
    """Return the needle that a plan names, by id, by name or by number."""
    if text is None:
        return None
    from matref.catalogue.convert import readings

    rows = fetch(
        connection,
        """SELECT * FROM needle WHERE (id = ?1 OR lower(name) = lower(?1))
           AND (blade_mm IS NOT NULL OR (for_use = 'hand' AND kind = 'size'))""",
        (text.removeprefix("needle:"),),
    )
    if not rows:
        words = text if "needle" in text.lower() else f"{by if by == 'machine' else ''} needle {text}"
        try:
            found = [r for r in readings(connection, words) if r.unit == "mm" and r.entry.startswith("needle:")]
        except BadInput:
            found = []
        ids = [r.entry.removeprefix("needle:") for r in found]
        rows = fetch(connection, "SELECT * FROM needle WHERE id = ?", (ids[0],)) if ids else []
    if not rows:
        raise BadInput(
            f'sewing.needle: no needle called "{text[:40]}"',
            expected="a needle number, or an id that matref find lists",
            example='needle = "90/14"',
        )
    row = rows[0]
    if (row["for_use"] == "machine") is not (by == "machine"):
        raise BadInput(
            f"sewing.needle: {row['name']} is for {row['for_use']} sewing, the book is sewn by {by}",
            expected=f"a {by} needle",
            example='needle = "90/14"' if by == "machine" else 'needle = "hand-sharps-8"',
        )
    return _as_needle(connection, row)
