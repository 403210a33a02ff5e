"""Endpapers of a case: folded sheets, alike at both ends, the outermost leaf of each end pasted to its board."""

from __future__ import annotations

import math

from matref.book.check import not_negative

_EXACT = 1e-9  # forgiven when a share of leaves meets a whole number


def folded_sheets(leaves: float) -> int:
    """Folded sheets at both ends together for so many leaves: two leaves a sheet, as many sheets at either end.

    Exact: counting; what does not come out even is rounded up.

    >>> folded_sheets(4), folded_sheets(8), folded_sheets(6)
    (2, 4, 4)
    """
    return 2 * max(1, math.ceil(not_negative(leaves, "leaves of endpaper", 4) / 4 - _EXACT))


def free_leaves(leaves: float) -> int:
    """Leaves of endpaper that stay in the block, both ends together: all but the two that are pasted to the boards.

    >>> free_leaves(4), free_leaves(8)
    (2, 6)
    """
    return 2 * folded_sheets(leaves) - 2
