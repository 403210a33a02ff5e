"""What every personal record has: an id that nobody else's has, plain text without control characters, a day."""

from __future__ import annotations

import re
import sqlite3
import unicodedata
from datetime import UTC, date, datetime, timedelta

from matref.errors import BadInput, shown

_ALPHABET = "abcdefghijklmnopqrstuvwxyz234567"  # base32 of RFC 4648, in lower case
_LENGTH = 12
OWN_ID = re.compile(r"[a-z][a-z2-7]{11}", re.ASCII)
"""An id as matref makes them: 59 random bits. A letter comes first, so that no spreadsheet takes it for a number."""
_ANY_ID = re.compile(r"[a-z0-9][a-z0-9_-]{3,39}", re.ASCII)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_FIRST_DAY = date(1900, 1, 1)


def new_id(connection: sqlite3.Connection, table: str) -> str:
    """Return an id that no row of `table` has or had (rows are withdrawn, never deleted)."""
    import secrets  # slow to import, and only adding needs it

    while True:
        made = secrets.choice(_ALPHABET[:26]) + "".join(secrets.choice(_ALPHABET) for _ in range(_LENGTH - 1))
        if not connection.execute(f"SELECT 1 FROM {table} WHERE id = ?", (made,)).fetchone():
            return made


def clean_id(text: str) -> str:
    """Return an id that came from elsewhere, in lower case; BadInput if it cannot be one.

    >>> clean_id("Locker-12")
    'locker-12'
    """
    plain = text.strip().lower()
    if not _ANY_ID.fullmatch(plain):
        raise BadInput(
            f'"{shown(text)}" is no id',
            expected="4 to 40 letters, digits, - or _",
            example="k3fw7q2mzt5a, or locker-12",
        )
    return plain


def clean_text(text: object, what: str, longest: int, *, lines: bool = False) -> str:
    """Return text trimmed and composed (Unicode NFC); BadInput for control characters or too many characters.

    `lines`: line ends and tabs are allowed; a line end becomes a single newline.
    """
    if not isinstance(text, str):
        raise BadInput(f"the {what} is {shown(repr(text))}", expected="text")
    if len(text) > longest:
        raise BadInput(f"the {what} has {len(text)} characters", expected=f"{longest} at most")
    plain = text.replace("\r\n", "\n").replace("\r", "\n") if lines else text
    plain = unicodedata.normalize("NFC", plain).strip()
    if any(unicodedata.category(c) in ("Cc", "Cs") and not (lines and c in "\n\t") for c in plain):
        raise BadInput(
            f"the {what} holds a control character", expected="printable text", example="chart paper, locker 3"
        )
    return plain


def clean_day(day: str | date | None) -> str:
    """Return a day as YYYY-MM-DD (ISO 8601), today for None; BadInput for another spelling or a day to come.

    >>> clean_day("2024-02-29")
    '2024-02-29'
    """
    today = date.today()
    if day is None or day == "":
        return today.isoformat()
    wrong = BadInput(
        f'the day "{shown(str(day))}" cannot be used',
        expected="year-month-day, not in the future",
        example="2024-02-29",
    )
    if isinstance(day, str):
        if not _DAY.fullmatch(day.strip()):
            raise wrong
        try:
            day = date.fromisoformat(day.strip())
        except ValueError:
            raise wrong from None
    elif isinstance(day, datetime):
        day = day.date()
    elif not isinstance(day, date):
        raise wrong
    if not _FIRST_DAY <= day <= today + timedelta(days=1):  # somewhere it is tomorrow already
        raise wrong
    return day.isoformat()


def now() -> str:
    """Return the time of day in UTC (ISO 8601), fine enough to keep the order of entries."""
    return datetime.now(UTC).isoformat(timespec="microseconds")
