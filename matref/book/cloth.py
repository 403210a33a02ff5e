"""Cloth, interfacing and damp: what to cut so that the size is right afterwards. Own derivations."""

from __future__ import annotations

from matref.book.check import between, left_over, not_negative, positive, share
from matref.book.size import Size
from matref.errors import BadInput


def cut_for_shrinkage_mm(finished_mm: float, shrinkage: float) -> float:
    """Length to cut so that the wanted length is left after shrinking, mm: L / (1 - f).

    L finished length, mm; f shrinkage in that direction as a share of the cut length, 0 to below 1. Exact.

    >>> cut_for_shrinkage_mm(360, 0.1)
    400.0
    """
    part = share(shrinkage, "shrinkage", 0.05)
    if part >= 1:
        raise BadInput("shrinkage is 1 or more", expected="a share below 1", example="0.05")
    return positive(finished_mm, "finished length, mm", 360) / (1 - part)


def cut_size_mm(width_mm: float, height_mm: float, across: float, along: float) -> Size:
    """Size to cut, mm, for a piece that shrinks by different shares across and along its height. Exact.

    >>> cut_size_mm(180, 190, 0.1, 0.05)
    Size(width_mm=200.0, height_mm=200.0)
    """
    return Size(cut_for_shrinkage_mm(width_mm, across), cut_for_shrinkage_mm(height_mm, along))


def interfacing_size_mm(finished_width_mm: float, finished_height_mm: float, clearance_mm: float) -> Size:
    """Size of interfacing that stays out of the turn-ins, mm: the finished size less the clearance all round.

    Rule; the arithmetic is exact. Pre-shrink both materials; fuse first and cut the cloth to size afterwards.

    >>> interfacing_size_mm(220, 156, 2)
    Size(width_mm=216.0, height_mm=152.0)
    """
    clear = 2 * not_negative(clearance_mm, "clearance, mm", 2)
    sides = (
        positive(finished_width_mm, "finished width, mm", 220),
        positive(finished_height_mm, "height, mm", 156),
    )
    width, height = (left_over(side - clear, "the interfacing", "the clearances meet") for side in sides)
    return Size(width, height)


def moisture_movement_mm(length_mm: float, expansion: float, humidity_change: float, test_change: float) -> float:
    """How much a length of paper grows (or, with a falling humidity, shrinks: negative) with the air, mm.

    L length in one direction, mm; α expansion in that direction as a share of length over the humidity interval
    of the test; ΔRH change in relative humidity, percentage points, -100 to 100; ΔRH_test interval of the test,
    points. Formula L·α·ΔRH / ΔRH_test. Model: taken as proportional, without hysteresis.

    >>> round(moisture_movement_mm(210, 0.003, 38, 38), 2)
    0.63
    """
    length = positive(length_mm, "length, mm", 210)
    change = between(humidity_change, -100, 100, "change of humidity, points", 20)
    test = between(positive(test_change, "humidity step of the test, points", 38), 0, 100, "humidity step", 38)
    return length * share(expansion, "expansion", 0.003) * change / test
