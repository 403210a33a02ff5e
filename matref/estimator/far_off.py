"""Readings far from anything that a kind of material comes in: kept, and told, for they are more often a slip.

What is usual stands in the catalogue: the usual ranges of the classes and the published readings. How far beyond is far
is a rule. Where sheets and mass changed round would make a usual paper, that slip is named.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from matref.estimator.assumptions import Rules
from matref.estimator.evidence import Reading
from matref.estimator.observation import Observation

_FAR = "measuring.sample.far"
_WIDEST = (math.inf, 0.0)


@dataclass(frozen=True, slots=True)
class Found:
    """Least and most that is known of a class: grammage, g/m², and caliper, µm; (inf, 0) where nothing is."""

    name: str
    family: str
    grammage: tuple[float, float]
    caliper: tuple[float, float]


class FarOff:
    """Judges readings; the catalogue is read once, when something is first asked."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._found: Mapping[str, Found] = {}

    def doubts(self, reading: Reading) -> list[str]:
        """Return a line for a grammage and for a caliper that lies far from anything usual of the classes named.

        Where none is named, anything that paper or board is known to come in is usual.
        """
        gsm = _mean(o for o in reading.observations if o.grammage_part == 1 and not o.caliper_part)
        um = _mean(o for o in reading.observations if o.caliper_part == 1 and not o.grammage_part)
        if gsm is None and um is None:
            return []
        self._found = self._found or _known(self._connection)
        named = [self._found[one] for one in reading.class_ids if one in self._found]
        far = Rules(self._connection).number(_FAR) if named else 1.0
        among = named or [one for one in self._found.values() if one.family in ("paper", "board")]
        what = " or ".join(one.name for one in named) or "any paper or board"
        said = []
        if gsm is not None and (usual := _outside(gsm, (one.grammage for one in among), far)):
            said.append(_line(gsm, "g/m²", what, usual, _changed_round(gsm, reading.numbers, usual)))
        if um is not None and (usual := _outside(um, (one.caliper for one in among), far)):
            said.append(_line(um, "µm a sheet", what, usual, ""))
        return said


def _known(connection: sqlite3.Connection) -> dict[str, Found]:
    ranges: dict[tuple[str, str], tuple[float, float]] = {}
    for class_id, quantity, low, high in connection.execute("SELECT class_id, quantity, low, high FROM usual_range"):
        ranges[class_id, quantity] = (low, high)
    found = {}
    rows = connection.execute(
        """SELECT c.id, c.name, c.family, min(r.grammage_gsm), max(r.grammage_gsm), min(r.caliper_um), max(r.caliper_um)
           FROM material_class AS c LEFT JOIN reading AS r ON r.class_id = c.id AND r.used_in_fit = 1
           GROUP BY c.id ORDER BY c.rowid"""
    )
    for class_id, name, family, gsm_low, gsm_high, um_low, um_high in rows:
        usual, bulk = ranges.get((class_id, "grammage"), _WIDEST), ranges.get((class_id, "bulk"), _WIDEST)
        reckoned = (usual[0] * bulk[0], usual[1] * bulk[1])  # caliper is bulk times grammage, ISO 534
        read = gsm_low is not None
        found[class_id] = Found(
            name,
            family,
            _wider(usual, (gsm_low, gsm_high) if read else _WIDEST),
            _wider(reckoned, (um_low, um_high) if read else _WIDEST),
        )
    return found


def _wider(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    return min(one[0], other[0]), max(one[1], other[1])


def _outside(value: float, ranges: Iterable[tuple[float, float]], far: float) -> tuple[float, float] | None:
    """Return what is usual where a value lies more than `far` times beyond it, else None."""
    low, high = _WIDEST
    for one in ranges:
        low, high = _wider((low, high), one)
    return (low, high) if low <= high and not low / far <= value <= high * far else None


def _changed_round(gsm: float, numbers: Mapping[str, float], usual: tuple[float, float]) -> str:
    """Name the slip of typing mass for sheets and sheets for mass, where that would make something usual.

    g = m/(n·A); with n and m changed round g·(n/m)², exact.
    """
    sheets, mass = numbers.get("sheets"), numbers.get("mass_g")
    if not sheets or not mass or abs(mass - round(mass)) > 1e-6:
        return ""
    other = gsm * (sheets / mass) ** 2
    if not usual[0] <= other <= usual[1]:
        return ""
    return f"; perhaps sheets and mass are changed round: {mass:.0f} sheets weighing {sheets:g} g make {other:.0f} g/m²"


def _line(value: float, unit: str, what: str, usual: tuple[float, float], slip: str) -> str:
    side = "below" if value < usual[0] else "above"
    words = f"{_short(value)} {unit} is far {side} what {what} comes in, {_short(usual[0])} to {_short(usual[1])}"
    return words + (slip or ": count again and check the units")


def _short(value: float) -> str:
    """Return three figures without an exponent.

    >>> _short(3.274), _short(105.3), _short(3500.0)
    ('3.27', '105', '3500')
    """
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _mean(observations: Iterable[Observation]) -> float | None:
    """Return the mean of readings of one quantity, weighted by 1/u² on the log scale; None of none."""
    found = [(o.value, 1 / o.u**2) for o in observations]
    total = math.fsum(weight for _, weight in found)
    return math.exp(math.fsum(value * weight for value, weight in found) / total) if found else None
