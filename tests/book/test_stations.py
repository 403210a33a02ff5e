import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import stations
from matref.errors import BadInput

INCH = 25.4
HEIGHT, END, COUNT = st.floats(60, 400), st.floats(1, 25), st.integers(2, 15)


def along(points):
    return math.fsum(math.dist(a, b) for a, b in itertools.pairwise(points))


@pytest.mark.parametrize(("height_in", "holes"), [(5, 3), (6.9, 3), (7, 5), (11, 5)])
def test_holes_of_a_pamphlet(height_in, holes):
    """book-repair.com: three holes under 7 in, five for taller; end stations at most 3/4 in from the edge."""
    assert stations.hole_count(height_in * INCH, 7 * INCH) == holes
    positions = stations.even_stations_mm(height_in * INCH, 0.75 * INCH, holes)
    assert len(positions) == holes
    assert positions[0] / INCH == pytest.approx(0.75)
    assert height_in - positions[-1] / INCH == pytest.approx(0.75)
    assert positions[holes // 2] == pytest.approx(height_in * INCH / 2)


@pytest.mark.parametrize(("height_in", "tails_in"), [(5.5, 4), (8.5, 6), (11, 6)])
def test_pamphlet_thread_stays_within_the_published_rules(height_in, tails_in):
    """book-repair.com: thread 2·H + 4...6 in. Indiana University Libraries: 2.5·H. Both cut with something to spare."""
    for end_in in (0.25, 0.5, 0.75):
        need = stations.pamphlet_thread_mm(height_in * INCH, end_in * INCH, 0) / INCH
        assert need <= 2 * height_in
        assert need <= 2.5 * height_in
        with_tails = stations.pamphlet_thread_mm(height_in * INCH, end_in * INCH, tails_in * INCH) / INCH
        assert with_tails == pytest.approx(2 * height_in + tails_in - 4 * end_in)


@pytest.mark.parametrize(
    ("holes", "route"),
    [(3, [1, 0, 2, 1]), (5, [2, 1, 0, 1, 3, 4, 3, 2]), (7, [3, 2, 1, 0, 1, 2, 4, 5, 6, 5, 4, 3])],
)
def test_pamphlet_thread_followed_from_hole_to_hole(holes, route):
    positions = stations.even_stations_mm(210, 15, holes)
    followed = sum(abs(positions[b] - positions[a]) for a, b in itertools.pairwise(route))
    assert stations.pamphlet_thread_mm(210, 15, 100) == pytest.approx(followed + 100)


def test_machine_seam_leaves_the_ends_open():
    """Book-Arts-L 2004: 1 to 2 in left unsewn at head and tail."""
    assert stations.span_mm(11 * INCH, 1 * INCH) / INCH == pytest.approx(9)
    assert stations.span_mm(11 * INCH, 2 * INCH) / INCH == pytest.approx(7)


def test_back_divided_into_six_for_five_bands():
    """Cockerell 1901: the back is divided from the head into six for five bands, kettles 1/4 in from the ends."""
    bands = stations.band_stations_mm(9 * INCH, 5)
    assert [x / INCH for x in bands] == pytest.approx([1.5, 3.0, 4.5, 6.0, 7.5])
    everything = stations.with_kettles_mm(9 * INCH, INCH / 4, bands)
    assert [x / INCH for x in everything] == pytest.approx([0.25, 1.5, 3.0, 4.5, 6.0, 7.5, 8.75])


def test_longer_head_and_tail_panels():
    """Practical Bookbinding, 'Sewing': four equal central spaces, the head longer, the tail longer still."""
    bands = stations.band_stations_mm(210, 5, head_extra_mm=3, tail_extra_mm=9)
    panels = [b - a for a, b in itertools.pairwise((0.0, *bands, 210.0))]
    head, *middle, tail = panels
    assert middle == pytest.approx([middle[0]] * 4)
    assert head == pytest.approx(middle[0] + 3)
    assert tail == pytest.approx(middle[0] + 9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: stations.even_stations_mm(20, 10, 3), "margins meet"),
        (lambda: stations.even_stations_mm(150, 10, 1), "2 or more"),
        (lambda: stations.paired_stations_mm((50, 55), 10), "overlap"),
        (lambda: stations.paired_stations_mm((50, 60), 10), "overlap"),
        (lambda: stations.paired_stations_mm((), 10), "no tapes"),
        (lambda: stations.paired_stations_mm((3,), 10), "station"),
        (lambda: stations.with_kettles_mm(150, 10, (5, 60)), "kettles"),
        (lambda: stations.with_kettles_mm(150, 10, (60, 145)), "kettles"),
        (lambda: stations.with_kettles_mm(150, 10, (60, math.nan)), "nan"),
        (lambda: stations.band_stations_mm(100, 5, 60, 50), "extras"),
    ],
)
def test_impossible_stations_say_why(call, words):
    with pytest.raises(BadInput, match=words):
        call()


@settings(deadline=None)
@given(HEIGHT, END, COUNT)
def test_stations_are_even_and_mirror_from_head_and_tail(height, end, number):
    positions = stations.even_stations_mm(height, end, number)
    assert len(positions) == number
    assert positions[0] == end
    assert positions == pytest.approx([height - x for x in reversed(positions)])
    gaps = [b - a for a, b in itertools.pairwise(positions)]
    assert min(gaps) > 0
    assert gaps == pytest.approx([gaps[0]] * len(gaps))
    assert sum(gaps) == pytest.approx(stations.span_mm(height, end))


@settings(deadline=None)
@given(st.integers(1, 6), st.floats(2, 14))
def test_tapes_lie_between_their_stations(tapes, width):
    centres = stations.band_stations_mm(20 * (tapes + 1), tapes)
    pairs = stations.paired_stations_mm(centres, width)
    assert len(pairs) == 2 * tapes
    for centre, before, after in zip(centres, pairs[::2], pairs[1::2], strict=True):
        assert after - before == pytest.approx(width)
        assert (before + after) / 2 == pytest.approx(centre)


@settings(deadline=None)
@given(st.integers(1, 20), HEIGHT, END, COUNT, st.floats(0, 4), st.floats(0.5, 4))
def test_long_stitch_followed_in_and_out(sections, height, end, number, through, step):
    """Coordinates (along the fold, through cover and fold, across the spine): in and out by turns."""
    positions = stations.even_stations_mm(height, end, number)
    path, inside = [], True
    for i in range(sections):
        for z in positions if i % 2 == 0 else reversed(positions):
            path += [(z, through if inside else 0, i * step), (z, 0 if inside else through, i * step)]
            inside = not inside
    # a section that ends on the side where the next one starts needs no thread through the step but its length
    length = along(path)
    expected = stations.long_stitch_thread_mm(sections, height, end, number, through, step, 0)
    assert length == pytest.approx(expected)
    tied = stations.long_stitch_thread_mm(sections, height, end, number, through, step, 250)
    assert tied == pytest.approx(length + 250)


@settings(deadline=None)
@given(st.integers(1, 30), HEIGHT, END, st.floats(0.5, 4))
def test_all_along_section_by_section(sections, height, end, section):
    total = 0.0
    for i in range(sections):
        total += height - 2 * end
        if i:
            total += 2 * section
    assert stations.all_along_thread_mm(sections, height, end, section, 0) == pytest.approx(total)
    assert stations.all_along_thread_mm(sections, height, end, section, 0, 0.5) < total
    assert stations.all_along_thread_mm(sections + 1, height, end, section, 0) > total
    assert stations.all_along_thread_mm(sections, height, end, section, 250) == pytest.approx(total + 250)


@settings(deadline=None)
@given(st.integers(1, 30), HEIGHT, END, COUNT, st.floats(0.5, 4))
def test_link_stitch_drops_and_returns_at_every_station(sections, height, end, number, section):
    path = []
    for z in stations.even_stations_mm(height, end, number):
        path += [(z, 0.0), (z, -section), (z, 0.0)]
    expected = sections * along(path)
    assert stations.link_stitch_thread_mm(sections, height, end, number, section, 0) == pytest.approx(expected)
    assert stations.link_stitch_thread_mm(sections, height, end, number, section, 300) == pytest.approx(expected + 300)
