"""One meaning of a typed text: a value in SI, whether it is exact, and where it comes from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeAlias

Value: TypeAlias = float | tuple[float, float]
"""A number, or the width and the height of a sheet."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read what was typed.

    `value`, `low` and `high` share `unit`: 'g/m2', 'um', 'mm', 'g', 'tex', 'in', or pounds of a grade. `exact`
    tells whether the conversion is arithmetic on definitions, given this `meaning`. `entry` is the catalogue
    entry it rests on, as 'kind:id'; `more` holds further values, with units in the keys.
    """

    meaning: str
    value: Value
    unit: str
    exact: bool
    source_id: str
    low: Value | None = None
    high: Value | None = None
    entry: str = ""
    note: str = ""
    more: Mapping[str, Any] = field(default_factory=dict)

    def as_json(self, sources: Mapping[str, dict[str, Any]]) -> dict[str, Any]:
        """Return meaning, value, unit, exact, source, and what else there is to say."""
        plain: dict[str, Any] = {
            "meaning": self.meaning,
            "value": _plain(self.value),
            "unit": self.unit,
            "exact": self.exact,
            "source": sources.get(self.source_id, {}),
        }
        optional = {"low": self.low, "high": self.high, "entry": self.entry, "note": self.note}
        plain.update({key: _plain(cell) for key, cell in optional.items() if cell not in (None, "")})
        return {**plain, **{key: _plain(cell) for key, cell in self.more.items()}}


def spread(readings: Sequence[Reading]) -> tuple[Value, Value] | None:
    """Give the lowest and highest value of the readings that share the first one's unit; None if all agree.

    Widths and heights spread each on its own.
    """
    alike = [reading for reading in readings if reading.unit == readings[0].unit]
    ends = [end for r in alike for end in (r.value, r.low, r.high) if end is not None]
    pairs = [end for end in ends if isinstance(end, tuple)]
    numbers = [end for end in ends if not isinstance(end, tuple)]
    if pairs:
        low: Value = (min(w for w, _ in pairs), min(h for _, h in pairs))
        high: Value = (max(w for w, _ in pairs), max(h for _, h in pairs))
        return (low, high) if low != high else None
    return (min(numbers), max(numbers)) if max(numbers) > min(numbers) * (1 + 1e-9) else None


def answer(typed: str, readings: Sequence[Reading], sources: Mapping[str, dict[str, Any]]) -> dict[str, Any]:
    """Return the JSON of a conversion: the first reading, the range where the trade disagrees, the others."""
    first, *others = [reading.as_json(sources) for reading in readings]
    result = {"input": typed, **first}
    if ends := spread(readings):
        result["low"], result["high"] = map(_plain, ends)
    if others:
        result["also"] = others
    return result


def source_ids(readings: Iterable[Reading]) -> set[str]:
    """Give the ids of all sources that readings name."""
    return {reading.source_id for reading in readings}


def _plain(value: Value | str | None) -> Any:
    """Give a value for JSON, without the noise that float arithmetic leaves in the last digits."""
    if isinstance(value, tuple):
        return [_plain(side) for side in value]
    return float(f"{value:.12g}") if isinstance(value, float) else value
