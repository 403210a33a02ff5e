"""A pile: all samples of one lot of paper, taken together."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.caliper import judge, model_for
from matref.estimator.evidence import Evidence, read
from matref.estimator.model import Model
from matref.estimator.named_classes import class_ids
from matref.estimator.observation import Observation
from matref.estimator.personal import place_pile
from matref.samples.draft import stored_observations

COMMON = frozenset(
    {
        "the mill's tolerance on grammage",
        "how firmly the stack was held",
        "how tightly the book is pressed",
        "the weight of the cover",
    }
)
"""Shares of doubt that a repeated reading does not lessen: the same hand, mill or book."""

_WORDS_SHOWN = 3
_MOST = 100  # nobody measures one pile more often, and each sample is judged against all others


@dataclass(frozen=True, slots=True)
class Pile:
    """What the samples of a pile that count say: their observations, and the classes each names (empty: none)."""

    observations: tuple[Observation, ...] = ()
    classes: tuple[tuple[str, ...], ...] = ()

    @classmethod
    def stored(cls, connection: sqlite3.Connection, pile_id: str, without: str = "") -> Pile:
        """Return the pile as the file has it, leaving out the sample `without`."""
        pile = cls()
        for typed_class, text in connection.execute(
            """SELECT coalesce(json_extract(as_typed, '$.paper_class'), ''), observations FROM sample
               WHERE pile_id = ? AND withdrawn_at IS NULL AND id <> ? ORDER BY added_at, rowid""",
            (pile_id, without),
        ):
            pile = pile.joined(stored_observations(text), class_ids(connection, typed_class))
        return pile

    @classmethod
    def reread(cls, connection: sqlite3.Connection, pile_id: str, rules: Rules) -> Pile:
        """Return the pile as these rules read what was typed; a sample that they cannot read says what it said."""
        pile = cls()
        for as_typed, text in connection.execute(
            """SELECT as_typed, observations FROM sample
               WHERE pile_id = ? AND withdrawn_at IS NULL ORDER BY added_at, rowid""",
            (pile_id,),
        ):
            typed = json.loads(as_typed)
            try:
                observations = read(Evidence(**typed), connection, rules).observations
            except BadInput:
                observations = stored_observations(text)
            pile = pile.joined(observations, class_ids(connection, typed.get("paper_class", "")))
        return pile

    def joined(self, observations: Sequence[Observation], classes: tuple[str, ...]) -> Pile:
        """Return the pile with one more sample."""
        return Pile((*self.observations, *observations), (*self.classes, classes))

    def class_ids(self) -> tuple[str, ...]:
        """Return the classes that all samples allow (empty: none is named); BadInput where they leave none."""
        allowed: tuple[str, ...] | None = None
        for named in filter(None, self.classes):
            left = named if allowed is None else tuple(c for c in allowed if c in named)
            if not left:
                raise BadInput(
                    f"this pile is {' or '.join(allowed or ())} by its other samples, not {' or '.join(named)}",
                    expected="samples of one pile to name the same class, or none",
                )
            allowed = left
        return allowed or ()

    def warnings(self, models: Models) -> tuple[str, ...]:
        """Return what is doubtful about the pile; BadInput where its samples contradict each other or the class."""
        if len(self.classes) > _MOST:
            raise BadInput(f"one pile has more than {_MOST} samples", expected="the rest as another pile")
        classes = self.class_ids()
        # Not pooled: the mean of two readings that contradict each other would look sound.
        _, found = judge(models.of(classes), self.observations, class_named=bool(classes))
        return tuple(dict.fromkeys(found))

    def place(self, connection: sqlite3.Connection, pile_id: str) -> None:
        """Make the pile count in its class line, inside the caller's transaction."""
        classes = self.class_ids()
        place_pile(connection, pile_id, classes[0] if len(classes) == 1 else None, pooled(self.observations))


class Models:
    """The fitted models by the classes they are restricted to, each read from the file once."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._known: dict[tuple[str, ...], Model] = {}

    def of(self, class_ids: tuple[str, ...]) -> Model:
        """Return the model of these classes; NotFound for a class that there is not."""
        if class_ids not in self._known:
            self._known[class_ids] = model_for(self._connection, class_ids)
        return self._known[class_ids]


def pooled(observations: Sequence[Observation]) -> tuple[Observation, ...]:
    """Return the observations with repeated readings of one kind made one.

    Of the mean of n readings only the part of u² that is each reading's own shrinks; what they have in common stays
    (GUM 5.2: correlated inputs). Kinds that were read once come back as they are.

    >>> hand = {"reading the ruler": 0.0016, "how firmly the stack was held": 0.0009}
    >>> one = Observation("stack", "100 sheets 10 mm thick", 0.0, 1.0, 4.60, 0.05, hand)
    >>> twice = pooled([one, one])
    >>> len(twice), round(twice[0].u ** 2, 6)
    (1, 0.0017)
    """
    groups: dict[tuple[object, ...], list[Observation]] = {}
    for o in observations:
        shared = tuple(sorted((name, share) for name, share in o.shares.items() if name in COMMON))
        groups.setdefault((o.about, o.grammage_part, o.caliper_part, shared), []).append(o)
    return tuple(group[0] if len(group) == 1 else _pool(group) for group in groups.values())


def _pool(group: list[Observation]) -> Observation:
    first = group[0]
    common = {name: share for name, share in first.shares.items() if name in COMMON}
    shared = math.fsum(common.values())
    own = [max(o.u**2 - shared, 1e-12) for o in group]
    weight = math.fsum(1 / v for v in own)
    parts = {
        name: math.fsum(o.shares.get(name, 0.0) / v**2 for o, v in zip(group, own, strict=True)) / weight**2
        for name in dict.fromkeys(name for o in group for name in o.shares)
        if name not in common
    }
    words = list(dict.fromkeys(o.words for o in group))
    listed = "; ".join(words[:_WORDS_SHOWN]) + ("; …" if len(words) > _WORDS_SHOWN else "")
    return Observation(
        first.about,
        f"{len(group)} readings: {listed}",
        first.grammage_part,
        first.caliper_part,
        math.fsum(o.value / v for o, v in zip(group, own, strict=True)) / weight,
        math.sqrt(1 / weight + shared),
        {**parts, **common},
    )
