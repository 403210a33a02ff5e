"""Sewing stations in mm from the head, and the length of thread that hand sewing takes.

H height of the fold; e distance of the end stations from head and tail; the span between them is H - 2·e.
Station formulas are exact; thread lengths follow the thread's path drawn with square corners, and tails
(what the sewer wants to hold and knot) are a rule of the catalogue. Own derivations.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from matref.book.check import count, left_over, not_negative, positive
from matref.errors import BadInput


def span_mm(height_mm: float, end_mm: float) -> float:
    """Distance between the end stations, or length of a seam that stops short at both ends, mm: H - 2·e.

    >>> span_mm(150, 12)
    126.0
    """
    height, end = positive(height_mm, "height, mm", 150), not_negative(end_mm, "end margin, mm", 12)
    return left_over(height - 2 * end, "the span between the end stations", "the end margins meet")


def hole_count(height_mm: float, three_below_mm: float) -> int:
    """Holes for a pamphlet stitch: 3 below the given height, else 5. Rule; the height is in the catalogue.

    >>> hole_count(150, 178), hole_count(210, 178)
    (3, 5)
    """
    return 3 if positive(height_mm, "height, mm", 150) < positive(three_below_mm, "limit, mm", 178) else 5


def even_stations_mm(height_mm: float, end_mm: float, stations: int) -> tuple[float, ...]:
    """Evenly spaced stations, mm from the head: e + i·(H - 2·e)/(k - 1), i = 0 ... k - 1, k at least 2. Exact.

    >>> even_stations_mm(150, 15, 5)
    (15.0, 45.0, 75.0, 105.0, 135.0)
    """
    number, span = count(stations, "stations", 5, least=2), span_mm(height_mm, end_mm)
    return tuple(float(end_mm) + i * span / (number - 1) for i in range(number))


def band_stations_mm(
    height_mm: float, bands: int, head_extra_mm: float = 0.0, tail_extra_mm: float = 0.0
) -> tuple[float, ...]:
    """Centres of bands or tapes, mm from the head, that divide the back into equal panels.

    n bands make n + 1 panels of (H - head extra - tail extra)/(n + 1); the head and tail panels are longer by
    their extras. Exact once the extras are chosen.

    >>> band_stations_mm(180, 5)
    (30.0, 60.0, 90.0, 120.0, 150.0)
    >>> band_stations_mm(165, 2, head_extra_mm=5, tail_extra_mm=10)
    (55.0, 105.0)
    """
    head = not_negative(head_extra_mm, "extra at the head, mm", 2)
    rest = positive(height_mm, "height, mm", 180) - head - not_negative(tail_extra_mm, "extra at the tail, mm", 4)
    number = count(bands, "bands", 5)
    panel = left_over(rest / (number + 1), "the panel", "the extras take the whole back")
    return tuple(head + i * panel for i in range(1, number + 1))


def paired_stations_mm(centres_mm: Sequence[float], tape_mm: float) -> tuple[float, ...]:
    """Two stations round each tape, mm from the head: z - u/2 and z + u/2, head to tail.

    z centres, mm from the head, in order; u width of the tape, mm. Exact.

    >>> paired_stations_mm((50, 100), 10)
    (45.0, 55.0, 95.0, 105.0)
    """
    half = positive(tape_mm, "tape width, mm", 10) / 2
    centres = [positive(z, "tape centre, mm", 50) for z in centres_mm]
    if not centres:
        raise BadInput("no tapes", expected="the centre of one tape or more", example="50")
    return _in_order((edge for z in centres for edge in (z - half, z + half)), "tapes overlap or lie out of order")


def with_kettles_mm(height_mm: float, kettle_mm: float, inner_mm: Sequence[float]) -> tuple[float, ...]:
    """All stations of an all-along sewing, mm from the head: kettle, the inner stations in order, kettle.

    kettle, distance of the kettle stitches from head and tail, mm. Exact.

    >>> with_kettles_mm(150, 10, paired_stations_mm((50, 100), 10))
    (10.0, 45.0, 55.0, 95.0, 105.0, 140.0)
    """
    kettle = positive(kettle_mm, "kettle distance, mm", 10)
    span = span_mm(height_mm, kettle)
    return _in_order((kettle, *inner_mm, kettle + span), "stations lie beyond the kettles or out of order")


def pamphlet_thread_mm(height_mm: float, end_mm: float, tails_mm: float) -> float:
    """Thread for a pamphlet stitch with an odd number of holes, mm: 2·(H - 2·e) + tails.

    Exact: from the middle hole the thread runs to both ends and back, over every gap twice.

    >>> pamphlet_thread_mm(150, 15, 150)
    390.0
    """
    return 2 * span_mm(height_mm, end_mm) + not_negative(tails_mm, "tails, mm", 150)


def all_along_thread_mm(
    sections: int,
    height_mm: float,
    kettle_mm: float,
    section_mm: float,
    tails_mm: float,
    threads_per_fold: float = 1.0,
) -> float:
    """Thread for sewing all along on tapes, mm: N·m·(H - 2·e) + 2·(N - 1)·τ + tails.

    N sections; m threads per fold (1/2 two-on); e kettle distance, mm; τ section thickness, mm. Model: each
    kettle stitch is taken as up to the next section and once round it, 2·τ; packing round cords is left out.

    >>> all_along_thread_mm(5, 150, 10, 1, 200)
    858.0
    """
    number = count(sections, "sections", 5)
    along = number * positive(threads_per_fold, "threads per fold", 1) * span_mm(height_mm, kettle_mm)
    kettles = 2 * (number - 1) * positive(section_mm, "section thickness, mm", 1)
    return along + kettles + not_negative(tails_mm, "tails, mm", 200)


def long_stitch_thread_mm(
    sections: int,
    height_mm: float,
    end_mm: float,
    stations: int,
    through_mm: float,
    step_mm: float,
    tails_mm: float,
) -> float:
    """Thread for long stitch through a cover, mm: N·((H - 2·e) + k·h) + (N - 1)·x + tails.

    N sections; k stations; h what the thread passes through at each, cover and half the section, mm; x step
    to the next section along the spine, mm. Exact for a path with square corners that runs once along
    each section, inside and outside by turns.

    >>> long_stitch_thread_mm(5, 150, 15, 4, 1, 1.5, 200)
    826.0
    """
    number = count(sections, "sections", 5)
    passes = count(stations, "stations", 4, least=2) * not_negative(through_mm, "passed through, mm", 1)
    steps = (number - 1) * positive(step_mm, "step to the next section, mm", 1.5)
    return number * (span_mm(height_mm, end_mm) + passes) + steps + not_negative(tails_mm, "tails, mm", 200)


def link_stitch_thread_mm(
    sections: int,
    height_mm: float,
    end_mm: float,
    stations: int,
    section_mm: float,
    tails_mm: float,
    round_board_mm: float = 0.0,
) -> float:
    """Thread for link stitch, mm: N·((H - 2·e) + 2·k·τ) + 2·2·k·r + tails.

    N sections; k stations; τ section thickness, mm; r way to a hole in the board and through it, its distance from the
    spine edge and the board's thickness, mm. Model: at every station the thread goes down one section to the link below
    and comes back; at each of the two boards it goes besides once round the edge, r out and r back.

    >>> link_stitch_thread_mm(5, 150, 15, 4, 1, 200)
    840.0
    >>> link_stitch_thread_mm(5, 150, 15, 4, 1, 200, round_board_mm=8)
    968.0
    """
    holes = count(stations, "stations", 4, least=2)
    links = 2 * holes * positive(section_mm, "section thickness, mm", 1)
    number = count(sections, "sections", 5)
    boards = 4 * holes * not_negative(round_board_mm, "way round the board's edge, mm", 8)
    return number * (span_mm(height_mm, end_mm) + links) + boards + not_negative(tails_mm, "tails, mm", 200)


def _in_order(stations_mm: Iterable[float], wrong: str) -> tuple[float, ...]:
    stations = tuple(not_negative(station, "station, mm from the head", 45) for station in stations_mm)
    if any(later <= earlier for earlier, later in pairwise(stations)):
        expected = "stations in order from the head, clear of each other"
        raise BadInput(wrong, expected=expected, example="45, 55, 95")
    return stations
