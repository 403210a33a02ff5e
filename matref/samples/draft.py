"""A sample about to be stored: what was typed, cleaned, and what it says once read. Nothing is written here."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any, SupportsFloat, cast

from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.evidence import Evidence, Reading, Typed, read
from matref.estimator.observation import Observation
from matref.personal_entry import clean_day, clean_text
from matref.samples.record import PARSED, Measured

EVIDENCE = tuple(field.name for field in fields(Evidence))
_LONGEST_LABEL, _LONGEST_NOTE, _LONGEST_FIELD = 200, 10_000, 200


@dataclass(frozen=True, slots=True)
class Entry:
    """What a person typed of one sample: all text, trimmed. `typed` holds the evidence by field."""

    label: str
    note: str
    measured_on: str
    typed: dict[str, str]

    @classmethod
    def of(cls, label: object, note: object, measured_on: str | date | None, evidence: Mapping[str, object]) -> Entry:
        """Return the cleaned entry; BadInput for unknown evidence or text that is none."""
        unknown = [name for name in evidence if name not in EVIDENCE]
        if unknown:
            raise BadInput(f"{', '.join(unknown)} is no kind of evidence", expected=", ".join(EVIDENCE))
        typed = {name: _text(value, name) for name, value in evidence.items() if value is not None}
        return cls(
            clean_text(label, "label", _LONGEST_LABEL),
            clean_text(note, "note", _LONGEST_NOTE, lines=True),
            clean_day(measured_on),
            {name: typed[name] for name in EVIDENCE if typed.get(name)},
        )

    @property
    def as_typed(self) -> str:
        """The evidence as JSON, always spelled the same."""
        return json.dumps(self.typed, ensure_ascii=False, separators=(",", ":"))


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry with its reading."""

    entry: Entry
    reading: Reading

    @classmethod
    def of(cls, entry: Entry, connection: sqlite3.Connection, rules: Rules | None = None) -> Draft:
        """Read the entry's evidence; BadInput where it makes no sense or holds no measurement.

        `rules`: those to read it by, where many entries share them.
        """
        reading = read(Evidence(**entry.typed), connection, rules or Rules(connection))
        if not reading.observations:
            raise BadInput(
                "a sample needs something measured or printed on the paper; a class alone is none",
                expected="a weighing, a thickness or a grammage",
                example='--size A4 --sheets 20 --mass "98 g"',
            )
        return cls(entry, reading)

    def columns(self) -> dict[str, Any]:
        """Return the values of the columns that follow from the entry."""
        numbers, typed = self.reading.numbers, self.entry.typed
        grammage = derived(o for o in self.reading.observations if o.grammage_part)
        caliper = derived(o for o in self.reading.observations if o.caliper_part)
        classes = self.reading.class_ids
        return {
            "label": self.entry.label,
            "note": self.entry.note,
            "measured_on": self.entry.measured_on,
            "class_id": classes[0] if len(classes) == 1 else None,
            "as_typed": self.entry.as_typed,
            "observations": json.dumps([asdict(o) for o in self.reading.observations], ensure_ascii=False),
            **{name: numbers.get(name) for name in PARSED},
            "measured_with": typed.get("with_"),
            "held": typed.get("held"),
            "grammage_gsm": grammage.value if grammage else None,
            "grammage_u_gsm": grammage.u if grammage else None,
            "caliper_um": caliper.value if caliper else None,
            "caliper_u_um": caliper.u if caliper else None,
        }


def stored_observations(text: str) -> tuple[Observation, ...]:
    """Return the observations that a row holds as JSON."""
    return tuple(Observation(**fields) for fields in json.loads(text))


def derived(observations: Iterable[Observation]) -> Measured | None:
    """Return what observations of one quantity say together: exp of the weighted mean of their logarithms.

    Weights 1/u²; u = value·√(exp(u²) - 1), the inverse of `matref.estimator.observation.log_u`.

    >>> caliper_um = derived([Observation("gauge", "1 sheet", 0.0, 1.0, math.log(104.0), 0.03)])
    >>> round(caliper_um.value, 3), round(caliper_um.u, 2)
    (104.0, 3.12)
    """
    found = list(observations)
    if not found:
        return None
    weight = math.fsum(1 / o.u**2 for o in found)
    value = math.exp(math.fsum(o.value / o.u**2 for o in found) / weight)
    return Measured(value, value * math.sqrt(math.expm1(1 / weight)))


def _text(value: object, name: str) -> str:
    from matref.quantities.typed import as_text

    if isinstance(value, bool) or not isinstance(value, (str, SupportsFloat)):
        raise BadInput(f"{name} is {value!r}"[:120], expected="text or a number")
    return clean_text(as_text(cast(Typed, value)), name, _LONGEST_FIELD)
