"""The rules of thumb that reading evidence needs, taken from the `rule` table by id, each with its source.

Nothing numerical stands here: a factor, a tolerance or an instrument's division is a row that a person can look up.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, NamedTuple

from matref.errors import BadInput
from matref.estimator.observation import Factor

if TYPE_CHECKING:
    from matref.estimator.habit import Habit

HELD = {
    "hand": "measuring.looseness.hand",
    "clamped": "measuring.looseness.clamped",
    "gauge": "measuring.looseness.gauge",
}
INSTRUMENT = {
    "ruler": "measuring.division.ruler",
    "vernier": "measuring.division.vernier",
    "micrometer": "measuring.division.micrometer",
}
_GRAMMAGE_TOLERANCE = "tolerance.grammage.mill"
_BOOK_PRESSING = "measuring.book_over_sheet"
_COVER_MASS = "measuring.cover_mass_share"


class Rule(NamedTuple):
    """One row of `rule`: its number with its range."""

    rule_id: str
    low: float | None
    value: float | None
    high: float | None
    unit: str
    source_id: str

    def factor(self) -> Factor:
        """Return the row as a positive factor with a range (low = high where it has none)."""
        low = self.low if self.low is not None else self.value
        high = self.high if self.high is not None else self.value
        if low is None or high is None or low <= 0:
            raise ValueError(f"rule {self.rule_id} holds no positive number")
        return Factor(low, high, self.source_id)


class Rules:
    """Looks up rows of `rule` by id and remembers which were used, so that an answer can say what it rests on.

    With `own_habit` a hand-held stack is judged by how this person has been seen to hold one, once there is enough to
    go by: so is every question, also one about a pile of samples. What a sample teaches its class line is read without
    it, so that samples do not depend on one another and withdrawing one leaves no trace in the others.
    """

    def __init__(self, connection: sqlite3.Connection, *, own_habit: bool = False) -> None:
        self._connection = connection
        self._own_habit = own_habit
        self.used: dict[str, Rule] = {}
        self._sizes: dict[str, tuple[float, float]] = {}
        self._apart_from: set[str] = set()
        self.habit: Habit | None = None

    def __getitem__(self, rule_id: str) -> Rule:
        """Return the row; ValueError when the data lack it (a defect of the data, not of the user)."""
        if rule_id not in self.used:
            self.used[rule_id] = self._rule(rule_id)
        return self.used[rule_id]

    def _rule(self, rule_id: str) -> Rule:
        row = self._connection.execute(
            "SELECT id, low, value, high, coalesce(unit, ''), source_id FROM rule WHERE id = ?", (rule_id,)
        ).fetchone()
        if row is None:
            raise ValueError(f"the rule table has no row {rule_id}")
        return Rule(*row)

    def asked_about(self, pile_id: str) -> None:
        """Learn the person's hold without this pile of samples: it is asked about, and nothing may count twice."""
        self._apart_from.add(pile_id)
        self.habit = None

    def number(self, rule_id: str) -> float:
        """Return the row's value."""
        value = self[rule_id].value
        if value is None:
            raise ValueError(f"rule {rule_id} has no value")
        return value

    def held(self, how: str) -> Factor:
        """Return how much thicker than under a gauge a stack reads per sheet when held so (hand, clamped, gauge)."""
        factor = self[_chosen(HELD, how, "held")].factor()
        if how != "hand" or not self._own_habit:
            return factor
        if self.habit is None:
            from matref.estimator.habit import Habit, habit

            better = {way: self._rule(HELD[way]).factor() for way in ("clamped", "gauge")}
            self.habit = habit(self._connection, factor, better, self._apart_from) or Habit(factor, 0)
        return self.habit.factor

    def sheet_sizes(self) -> dict[str, tuple[float, float]]:
        """Return the names of sheet sizes with width and height, mm; read once, however many samples there are."""
        if not self._sizes:
            from matref.catalogue.grades import sheet_sizes

            self._sizes = sheet_sizes(self._connection)
        return self._sizes

    def division_mm(self, instrument: str) -> float:
        """Return the division of a ruler, vernier or micrometer in mm."""
        return self.number(_chosen(INSTRUMENT, instrument, "with"))

    def grammage_tolerance(self) -> Factor:
        """Return the factor by which a mill's paper may differ from its printed grammage."""
        row = self[_GRAMMAGE_TOLERANCE]
        if row.low is None or row.high is None:
            raise ValueError(f"rule {row.rule_id} has no range")
        return Factor(1 + row.low / 100, 1 + row.high / 100, row.source_id)

    def book_over_sheet(self) -> Factor:
        """Return leaf thickness in a bound, closed book over the caliper of a single sheet."""
        return self[_BOOK_PRESSING].factor()

    def cover_mass_share(self) -> Factor:
        """Return the text block's share of a book's mass when the cover is still on."""
        return self[_COVER_MASS].factor()


def _chosen(table: dict[str, str], word: str, option: str) -> str:
    if word not in table:
        raise BadInput(
            f'"{word}" is not a way to measure', expected=" or ".join(table), example=f"--{option} {next(iter(table))}"
        )
    return table[word]
