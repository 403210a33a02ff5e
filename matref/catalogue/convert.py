"""What does this number mean? Old and foreign measures of paper, cloth, thread and needles to SI.

Every meaning that the text may have is a reading with its source; where the trade disagrees there are several,
the most usual first. Factors and sizes come from the catalogue's tables.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import Any, Final

from matref.catalogue.conversion.listed import from_board, from_cloth
from matref.catalogue.conversion.measure import from_length, from_pages_per_inch, from_unit
from matref.catalogue.conversion.needle import from_needle
from matref.catalogue.conversion.paper import from_pounds, to_pounds
from matref.catalogue.conversion.question import EXAMPLE, EXPECTED, Question, ask
from matref.catalogue.conversion.reading import Reading, answer, source_ids
from matref.catalogue.conversion.sheet import from_sheet
from matref.catalogue.conversion.thread import from_thread
from matref.catalogue.rows import brief_sources, fetch
from matref.catalogue.search import near
from matref.errors import BadInput, shown

Converter = Callable[[sqlite3.Connection, Question], list[Reading]]

_CONVERTERS: Final[tuple[Converter, ...]] = (
    from_sheet,
    from_needle,
    from_thread,
    from_length,
    from_pages_per_inch,
    from_pounds,
    to_pounds,
    from_unit,
    from_board,
    from_cloth,
)
"""In the order in which readings of an ambiguous text are listed."""


def readings(connection: sqlite3.Connection, text: str) -> list[Reading]:
    """Give every reading of a typed text, the most usual first; BadInput if it means nothing known."""
    question = ask(text)
    found = [reading for convert_one in _CONVERTERS for reading in convert_one(connection, question)]
    if not found:
        if question.trouble:
            raise question.trouble
        close = near(connection, text)
        if question.amount is not None and "lb" in question.words:
            grades = ", ".join(row["name"] for row in fetch(connection, "SELECT * FROM basis_size LIMIT 8"))
            raise BadInput(
                f"'{shown(text.strip())}': pounds of no grade known here",
                expected=f"a grade such as {grades}",
                example=EXAMPLE,
            )
        raise BadInput(
            f"'{shown(text.strip())}' is no measure known here" + (f" (near: {', '.join(close)})" if close else ""),
            expected=EXPECTED,
            example=EXAMPLE,
        )
    return found


def convert(connection: sqlite3.Connection, text: str) -> dict[str, Any]:
    """Convert a typed measure to SI, as JSON `{input, meaning, value, unit, exact, source}`.

    `value` is a number, or [width, height] of a sheet; `exact` tells whether it follows from definitions alone
    under that meaning. Where the trade disagrees, `low` and `high` span all readings in the same unit and `also`
    lists the others, each with its own meaning and source. BadInput if the text means nothing known.
    """
    found = readings(connection, text)
    return answer(text, found, brief_sources(connection, source_ids(found)))
