import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book.hand_sewing import by_hand
from matref.book.rule_row import number
from matref.book.stitching import Wish, by_machine
from matref.book.structures.parts import Block
from matref.errors import BadInput
from matref.estimator.estimate import Estimate

INCH = 25.4
LAYERS = (("4 sheets", 0.4), ("card", 0.3), ("fleece", 0.2), ("sailcloth", 0.4))


def block(sections=5, height=150.0, pitch=2.0, sheets=4):
    flat = Estimate(1.1, 1.0, 1.3)
    return Block(100.0, height, sheets, sections, flat, flat, Estimate(0.8, 0.7, 0.9), flat, pitch)


def machine(practice, needles, one=None, layers=LAYERS, **wish):
    return by_machine(one or block(), layers, "polyester 30 tex", 0.21, needles, Wish(**wish), practice)


def hand(structure, practice, needles, one=None, thread=0.5, **wish):
    return by_hand(structure, one or block(), LAYERS, "linen", thread, needles, Wish(**wish), practice)


def test_practice_of_lines_and_order(practice, needles):
    """Common practice, no source: lines 2 mm apart, first on the centre, then the outermost, then inward."""
    found = machine(practice, needles)
    assert found.lines_mm == (-4, -2, 0, 2, 4)
    assert found.order == (0, -4, 4, -2, 2)
    assert found.under_needle_mm == pytest.approx(1.3)
    assert found.stitch_mm == 4
    assert found.paper_left == pytest.approx(1 - 0.9 / 4)
    assert found.needle == "machine needle 90/14"


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 25), st.floats(1.5, 4))
def test_lines_are_mirrored_and_the_order_sews_each_once(practice, needles, sections, pitch):
    found = machine(practice, needles, block(sections, pitch=pitch))
    assert found.lines_mm == pytest.approx([-line for line in reversed(found.lines_mm)])
    assert sorted(found.order) == list(found.lines_mm)
    assert len(found.lines_mm) == sections


def test_machine_limit_warns_then_refuses_with_a_plan_that_works(practice, needles):
    over = (("12 sheets", 1.2), *LAYERS[1:])
    (said,) = machine(practice, needles, block(sheets=12), over).warnings
    assert "11 sheets in a section" in said
    assert machine(practice, needles, block(sheets=11), (("11 sheets", 1.1), *LAYERS[1:])).warnings == ()
    weak = practice.with_own({"under_needle_limit": 1.2})
    with pytest.raises(BadInput, match=r"are 1\.30 mm under the needle") as refused:
        machine(weak, needles)
    assert refused.value.example == "sheets_per_section = 3"
    assert machine(weak, needles, block(sheets=3), (("3 sheets", 0.3), *LAYERS[1:])).under_needle_mm <= 1.2 + 1e-9
    with pytest.raises(BadInput, match="by hand"):
        machine(weak, needles, layers=(("4 sheets", 0.4), ("hide", 3.0)))


def test_stitch_follows_machine_cloth_and_needle(practice, needles):
    """Book-Arts-L 2004: the longest stitch. Coated cloth 3 to 4 mm."""
    short = machine(practice, needles, longest_stitch_mm=3)
    assert short.stitch_mm == 3
    assert "longest stitch is 3 mm" in short.warnings[0]
    assert 3 <= machine(practice, needles, coated=True).stitch_mm <= 4
    dense = machine(practice, needles, stitch_mm=1.5)
    assert dense.paper_left == pytest.approx(0.4)
    longer = float(dense.warnings[0].split(": ")[1].split(" mm")[0])
    assert machine(practice, needles, stitch_mm=longer + 0.05).warnings == ()


def test_lines_nearer_than_the_needle_are_refused(practice, needles):
    with pytest.raises(BadInput, match="nearer") as refused:
        machine(practice, needles, block(pitch=0.8))
    pitch = float(refused.value.example.split("= ")[1])
    assert len(machine(practice, needles, block(pitch=pitch)).lines_mm) == 5


def test_single_section_stops_short_of_the_ends(practice, needles):
    """Book-Arts-L 2004: start and stop 1 to 2 in from head and tail; a small page keeps half its height sewn."""
    found = machine(practice, needles, block(1, 210.0))
    assert found.lines_mm == found.order == (0,)
    assert INCH <= found.seam_mm[0] <= 2 * INCH
    assert found.seam_mm[0] + found.seam_mm[1] == pytest.approx(210)
    small = machine(practice, needles, block(1, 90.0))
    assert small.seam_mm == (22.5, 67.5)
    assert machine(practice, needles, end_mm=0).seam_mm == (0, 150)


def test_thread_of_a_machine_seam(practice, needles):
    """Coats: a lockstitch takes about two and a half lengths of seam; thick work with short stitches takes more."""
    found = machine(practice, needles, end_mm=0)
    tails = 4 * number(practice.thread_tail)
    seam = found.thread_length_mm / 5 - tails
    assert seam / 150 == pytest.approx(2 * (1 + 1.3 / 4))
    assert 2.2 < seam / 150 < 3.0


@pytest.mark.parametrize(("height", "holes"), [(6.9 * INCH, 3), (177.8, 5), (11 * INCH, 5)])
def test_pamphlet_of_the_repair_guide(practice, needles, height, holes):
    """book-repair.com: end holes at most 3/4 in in, three holes under 7 in, else five, thread 2H + 4 to 6 in."""
    found = hand("pamphlet", practice, needles, block(1, height))
    assert len(found.stations_mm) == holes
    assert found.stations_mm[0] <= 0.75 * INCH + 1e-9
    assert height - found.stations_mm[-1] <= 0.75 * INCH + 1e-9
    assert 2 * height + 4 * INCH <= found.thread_length_mm <= 2 * height + 6 * INCH
    assert found.lines_mm == (0,)


def test_indiana_pamphlet_holes_are_odd(practice, needles):
    """Indiana University Libraries: three, five or seven holes."""
    assert len(hand("pamphlet", practice, needles, block(1), stations=7).stations_mm) == 7
    with pytest.raises(BadInput, match="odd"):
        hand("pamphlet", practice, needles, block(1), stations=4)


def test_long_stitch_columns(practice, needles):
    found = hand("long-stitch", practice, needles)
    assert found.stations_mm[0] == pytest.approx(INCH / 2)
    assert len(found.lines_mm) == 5
    assert found.lines_mm == found.order
    assert hand("soft-cover", practice, needles).order == (0, -4, 4, -2, 2)
    assert found.stitch_mm is None
    assert "eye 0.70 mm wide" in found.needle  # two fifths wider than the thread


@pytest.mark.parametrize(("height", "tapes"), [(150, 2), (199, 2), (250, 3), (301, 4)])
def test_tapes_and_kettles(practice, needles, height, tapes):
    """Canadian library specification: 2 tapes under 20 cm, 3 to 30 cm, 4 above. Cockerell: kettle 1/4 in in."""
    found = hand("flat-back-case", practice, needles, block(height=float(height)))
    assert len(found.stations_mm) == 2 + 2 * tapes
    assert found.stations_mm[0] == pytest.approx(INCH / 4)
    assert found.stations_mm[-1] == pytest.approx(height - INCH / 4)
    widths = [b - a for a, b in zip(found.stations_mm[1:-1:2], found.stations_mm[2:-1:2], strict=True)]
    assert widths == pytest.approx([number(practice.tape_width)] * tapes)


def test_two_on_takes_less_thread(practice, needles):
    """Cockerell 1901: two-on takes half the thread of the sections in pairs; tails are the same."""
    six = block(6)
    alone, pairs = (
        hand("quarter-case", practice, needles, six, kind=kind, endpapers="tipped") for kind in ("all-along", "two-on")
    )
    tails = 2 * number(practice.thread_tail)
    assert pairs.thread_length_mm - tails == pytest.approx((alone.thread_length_mm - tails) / 2)
    assert any("two-on" in note for note in pairs.notes)


def test_link_stitch_takes_its_links(practice, needles):
    """Two stations more: in five sections two links down and up, at two boards twice out to the hole and back."""
    few, many = (hand("link-stitch", practice, needles, stations=count) for count in (4, 6))
    edge = number(practice.board_edge)
    assert many.thread_length_mm - few.thread_length_mm == pytest.approx(2 * (5 * 2 * 1.1 + 2 * 2 * edge))
    (thick,) = (by_hand("link-stitch", block(), LAYERS, "linen", 0.5, needles, Wish(stations=4), practice, 2.5),)
    assert thick.thread_length_mm - few.thread_length_mm == pytest.approx(4 * 2 * 2 * 2.5)


def test_holes_in_the_boards_of_a_link_stitch(practice, needles):
    """A published guide to a covered Coptic binding (2018) sets them 1/4 in from the spine edge. The board stands a
    square above the page, so a hole level with a station is a square further from the board's head."""
    found = hand("link-stitch", practice, needles)
    square = number(practice.square)
    assert found.board_edge_mm == pytest.approx(INCH / 4)
    assert found.board_stations_mm == pytest.approx([station + square for station in found.stations_mm])
    wide = hand("link-stitch", practice.with_own({"square": 5, "board_edge": 10}), needles)
    assert wide.board_stations_mm[0] - wide.stations_mm[0] == 5
    assert wide.board_edge_mm == 10
    assert "10 mm from the spine edge" in " ".join(wide.notes)
    assert hand("long-stitch", practice, needles).board_stations_mm == ()


def test_stations_on_a_cover_that_stands_out(practice, needles):
    """A long-stitch cover is 1/4 in larger than the block (in a classroom guide of 2013): 1/8 in at the head."""
    found = hand("long-stitch", practice, needles)
    assert found.cover_head_mm == pytest.approx(INCH / 8)
    assert any("3.175 mm" in note for note in found.notes)
    flush = machine(practice, needles)
    assert flush.cover_head_mm == 0
    assert not any("stands out" in note for note in flush.notes)
    assert not any("outermost lines" in note for note in machine(practice, needles, block(1)).notes)
    proud = machine(practice.with_own({"overhang": 2}), needles)
    assert proud.cover_head_mm == 2
    assert any("add the 2 mm" in note for note in proud.notes)


def test_json(practice, needles):
    plain = machine(practice, needles).as_json()
    assert plain["lines_mm"] == [-4, -2, 0, 2, 4]
    assert sum(layer["mm"] for layer in plain["layers"]) == pytest.approx(1.3)
    assert plain["thread"] == "polyester 30 tex"
