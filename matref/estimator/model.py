"""The fitted model as prediction needs it: one entry per material class, plus how single products scatter.

Standard library only. `store` reads it from the file.
"""

from __future__ import annotations

from typing import NamedTuple

from matref.errors import NotFound
from matref.estimator.line import Line


class MaterialClass(NamedTuple):
    """A class of paper, board or cloth.

    `log_grammage_mean`, `log_grammage_sd`: where the class lies, before anything is measured. `gsm_low`, `gsm_high`:
    the range its readings cover (None without readings). `weight`: share of salvage piles assumed to be of this class.
    """

    class_id: str
    name: str
    family: str
    weight: float
    line: Line
    log_grammage_mean: float
    log_grammage_sd: float
    gsm_low: float | None
    gsm_high: float | None
    readings: int
    sources: int
    surface: str
    source_ids: tuple[str, ...] = ()
    own_samples: int = 0


class Scatter(NamedTuple):
    """How a product departs from its class line: scale `sd` (log), t tails as a few normal components.

    `nodes` holds (weight, factor): component k has standard deviation factor·sd (Gauss-Laguerre nodes of the gamma
    mixing density of Student's t).
    """

    sd: float
    nodes: tuple[tuple[float, float], ...]


class Model(NamedTuple):
    """All classes that a question allows, by id, and the scatter per family."""

    classes: dict[str, MaterialClass]
    scatter: dict[str, Scatter]

    def only(self, class_ids: list[str]) -> Model:
        """Return the model restricted to some classes; NotFound names the nearest ids for an unknown one."""
        missing = [c for c in class_ids if c not in self.classes]
        if missing:
            import difflib

            near = difflib.get_close_matches(missing[0], self.classes, 3, 0.5) or sorted(self.classes)[:5]
            raise NotFound(
                f'no class called "{missing[0]}"',
                expected=f"one such as {', '.join(near)}",
                example="matref find paper",
            )
        return Model({c: self.classes[c] for c in class_ids}, self.scatter)
