"""Which needle: for a machine by what lies under it and by the thread, for the hand by the thread.

A thread wants an eye wider than itself, by the ratio of a rule. How wide an eye is, nobody publishes: that of a machine
needle is reckoned from its blade (a rule, own derivation); a hand needle is advised by name only where a source pairs
it with such a thread, else the eye that it must have is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matref.book.practice import Practice
from matref.book.rule_row import least, most, number

LARGE_EYED = ("chenille", "tapestry", "darners", "cotton-darners", "yarn-darners", "darning", "crewels")
"""Kinds of hand needle with an eye that may be wider than their blade; of all others it is no wider."""


@dataclass(frozen=True, slots=True)
class Needle:
    """A needle of the catalogue: id, name, blade diameter, mm; system, such as "sharps" or "metric Nm / US".

    blade_mm: None where nobody states it. thread_mm: the finest and the stoutest thread that its source pairs with it.
    """

    needle_id: str
    name: str
    blade_mm: float | None
    machine: bool
    system: str = ""
    thread_mm: tuple[float, float] | None = None


def eye_mm(thread_mm: float, practice: Practice) -> float:
    """Return the eye that a thread wants, mm: the rule's ratio times the thread's diameter."""
    return number(practice.needle_eye) * thread_mm


def machine_needle(needles: Sequence[Needle], under_mm: float, thread_mm: float, practice: Practice) -> Needle:
    """Return the machine needle to start with: the stouter of what the work wants and what the thread wants.

    For the work the rule gives a usual size and two neighbours; which third of the machine's limit the layers fill
    decides between them (our own choice). The thread wants a blade of eye / (eye over blade); where no needle is so
    stout, the work alone decides.
    """
    limit, row = number(practice.under_needle_limit), practice.needle_common
    third = 3 * under_mm / limit
    metric = least(row) if third < 1 else number(row) if third < 2 else most(row)
    found = {n: n.blade_mm for n in needles if n.machine and n.blade_mm is not None}
    by_work, by_thread = metric / 100, eye_mm(thread_mm, practice) / number(practice.needle_eye_share)
    if not found:
        return Needle("", f"machine needle {metric:g}", by_work, machine=True)
    wanted = max(by_work, by_thread) if any(takes(n, thread_mm, practice) for n in found) else by_work
    return min(found, key=lambda needle: abs(found[needle] - wanted))


def takes(needle: Needle, thread_mm: float, practice: Practice) -> bool:
    """Tell whether the eye of a machine needle may be wide enough for a thread: only what surely is not is refused."""
    return most(practice.needle_eye_share) * (needle.blade_mm or 0.0) >= eye_mm(thread_mm, practice) - _EXACT_MM


def machine_doubts(needle: Needle, thread_mm: float, practice: Practice) -> tuple[str, ...]:
    """Say when a machine needle is surely too fine for its thread, or stouter for its sake than books want."""
    share, usual = most(practice.needle_eye_share), most(practice.needle_common) / 100
    finer = usual * number(practice.needle_eye_share) / number(practice.needle_eye)
    instead = f"thread of {finer:.2f} mm or less goes through a {100 * usual:.0f}"
    if not takes(needle, thread_mm, practice):
        return (
            f"a thread of {thread_mm:.2f} mm wants an eye of {eye_mm(thread_mm, practice):.2f} mm, and that of "
            f"{needle.name} is no wider than {share * (needle.blade_mm or 0.0):.2f} mm: {instead}, or sew by hand",
        )
    if (needle.blade_mm or 0.0) > usual + _EXACT_MM:
        return (f"the thread, {thread_mm:.2f} mm, wants {needle.name}, which makes wide holes: {instead}",)
    return ()


def hand_needle(needles: Sequence[Needle], thread_mm: float) -> Needle | None:
    """Return the hand needle that a source pairs with a thread so thick, None where none does.

    >>> binder = Needle("a", "binder's needle", None, False, "binder's needle", (0.5, 0.7))
    >>> hand_needle([binder], 0.6).name, hand_needle([binder], 0.3)
    ("binder's needle", None)
    """
    fit = [
        needle
        for needle in needles
        if not needle.machine and needle.thread_mm and _within(thread_mm, *needle.thread_mm)
    ]
    return min(fit, key=lambda needle: needle.thread_mm or (0.0, 0.0)) if fit else None


def hand_needle_words(needles: Sequence[Needle], thread_mm: float, practice: Practice) -> str:
    """Return the hand needle's name, or the eye that it must have."""
    found = hand_needle(needles, thread_mm)
    return found.name if found else f"hand needle with an eye {eye_mm(thread_mm, practice):.2f} mm wide or more"


def hand_doubts(needle: Needle, thread_mm: float, practice: Practice) -> tuple[str, ...]:
    """Say when a hand needle that the maker names will not take the thread."""
    eye = eye_mm(thread_mm, practice)
    if needle.thread_mm is not None:
        stoutest = needle.thread_mm[1]
        if thread_mm <= stoutest * (1 + _ROUNDED):
            return ()
        return (f"{needle.name} is for thread up to {stoutest:.2f} mm, not {thread_mm:.2f} mm: take a stouter one",)
    if needle.blade_mm is None:
        return ()
    if needle.blade_mm < thread_mm:
        return (f"{needle.name} is thinner than the thread ({thread_mm:.2f} mm): take one a little thicker",)
    if needle.system not in LARGE_EYED and needle.blade_mm < eye:
        return (
            f"the eye of {needle.name} is no wider than its blade, {needle.blade_mm:g} mm, and a thread of "
            f"{thread_mm:.2f} mm wants one of {eye:.2f} mm",
        )
    return ()


def _within(value: float, low: float, high: float) -> bool:
    return low * (1 - _ROUNDED) <= value <= high * (1 + _ROUNDED)


_EXACT_MM = 1e-9  # forgiven when sums of binary fractions meet a limit
_ROUNDED = 1e-3  # the catalogue rounds the tex of a thread, so the same thread typed is not quite as thick
