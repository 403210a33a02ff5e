"""The size of a rectangular piece as a binder states it: across the spine, then along it."""

from __future__ import annotations

from typing import NamedTuple


class Size(NamedTuple):
    """Width (across the spine) and height (head to tail) of a flat piece, mm.

    >>> Size(366, 270).height_mm
    270
    """

    width_mm: float
    height_mm: float
