"""What nobody sane would type, and a guard against waiting for ever for the answer."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

OFTEN = [
    "", " ", "0", "-0", "-1", "1e9", "1e-9", "1e308", "1e309", "-1e400", "nan", "NaN", "inf", "-Infinity", "1/0", "1/3",
    "½", "1½", "٣٫٥", "１２", "१२.५", "³", "10³", "①", "Ⅷ", "1,5", "1,500", "1.500,00", "1'000", "1_000", "0x10", "1e",
    "e1",
    "--", "9" * 400, "0." + "0" * 150 + "1", "1 1/8 in", "98 g", "20 lb bond", "A4", "210 x 297", "8,5 × 11 in",
    "10 mm",
    "10 mm mm", "mm", "=1+1", "@SUM(A1)", "+1", "-2+3", "\t=1", "'=1", '"', "'", "`", "\\", "\x00", "\x1b[31m",
    "\u202e",
    "\ufeff", "\ud7ff", "\U0010ffff", "é", "e\u0301", "\u2028", "%s%n", "{0}", "${x}", "../../x", "copier",
    "copier,ledger",
    "A" * 300, "<script>", "NULL", "None", "true", "[]", "{}", "2024-02-29", "2023-02-29", "31/12/2020", "9999-12-31",
]  # fmt: skip
FLOATS = st.floats(allow_nan=True, allow_infinity=True) | st.sampled_from([0.0, -0.0, 5e-324, 1.8e308, float("nan")])
NUMBERS = FLOATS | st.integers(-(10**30), 10**30)
UNITS = st.sampled_from(
    ["", " mm", "mm", " in", '"', " pt", " g", " kg", " oz", " lb", " lb bond", " g/m2", " %", " µm", " x", " ×"]
)
QUANTITIES = st.builds(lambda n, unit: f"{n}{unit}", NUMBERS | st.sampled_from(OFTEN), UNITS)
TEXTS = st.one_of(
    st.sampled_from(OFTEN),
    QUANTITIES,
    st.builds(lambda a, b: f"{a} x {b}", QUANTITIES, QUANTITIES),
    st.text(max_size=30),
    st.text(alphabet="0123456789.,/ -½⅛xX×eE+'\"mgincozlbµ٠١２", max_size=25),
)
VALUES = TEXTS | NUMBERS | st.booleans() | st.none()


def cases(number: int) -> settings:
    """Return settings for so many cases, the same ones each time the program has not changed."""
    return settings(
        max_examples=number,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )


@contextmanager
def no_hang(seconds: int = 120) -> Iterator[None]:
    """Give up on an answer that does not come; far beyond what any takes, so that a slow machine is not blamed."""

    def give_up(number: int, frame: object) -> None:  # noqa: ARG001 - the signal module's signature
        raise TimeoutError("the answer does not come")

    before = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
