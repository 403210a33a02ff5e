"""Books of the invented chandler's shop worked again at the bench: leaves, lines and covers laid out and measured."""

import math
from dataclasses import replace

import numpy as np
import pytest

from matref.book.leaf_supply import Salvage
from matref.book.plan import plan
from matref.book.rule_row import number
from matref.estimator.distribution import Exact

T = 0.1


def known(asked, thread=0.3):
    """The same with every doubt taken away: leaf 0.1 mm in the block, thread 0.3 mm, of which half is left."""
    paper = replace(asked.paper, caliper_um=Exact(100), in_block=True, flattening=Exact(0.5))
    return replace(asked, paper=paper, sewing=replace(asked.sewing, thread_mm=Exact(thread)))


def nested(sheets, half_width, points=2001):
    """Fore-edge positions and fold positions of nested sheets, outermost first, drawn with round folds.

    Every sheet is a polyline of one length: a quarter circle of its own radius, then straight on.
    """
    edges, folds = [], []
    for k in range(sheets, 0, -1):
        radius = (k - 0.5) * T
        angle = np.linspace(0, math.pi / 2, points)
        x, y = -radius * np.cos(angle), radius * np.sin(angle)
        bent = np.hypot(np.diff(x), np.diff(y)).sum()
        edges.append(half_width - bent)
        folds.append(x[0])
    return np.array(edges), np.array(folds)


@pytest.mark.parametrize("sheets", [1, 4, 9])
def test_sheets_come_out_at_the_page_after_folding_and_trimming(chandler, sheets):
    found = plan(known(chandler("long-stitch", sections=5, sheets_per_section=sheets)))
    edges, folds = nested(sheets, found.sheet.width_mm / 2)
    clean = number(chandler().practice.clean_cut)
    cut = folds[0] + 95  # the outermost page is as wide as wanted
    assert cut == pytest.approx(edges[0] - clean, abs=1e-4)  # the shortest leaf loses the clean cut
    assert edges[-1] - cut == pytest.approx(found.fore_edge_trim_mm, abs=0.3 * T)
    assert (edges[-1] - edges[0]) == pytest.approx(math.pi / 2 * (sheets - 1) * T, abs=1e-4)
    assert (cut - folds[0]) - (cut - folds[-1]) == pytest.approx(found.page_loss_mm)


def stack(found, thread, endpapers=0):
    """Height of the sewn block at the back and at the fore-edge, added up leaf by leaf and thread by thread.

    endpapers: folded ones, each sewn as a section of its own with one leaf pasted to the board, one in the block.
    """
    back = edge = 0.0
    for _ in range(endpapers):
        back, edge = back + T + 0.5 * thread, edge + T
    for _ in range(found.sections.sections):
        for _ in range(2 * found.sections.sheets_per_section):
            back, edge = back + T, edge + T
        back += 0.5 * thread
    return back, edge


def test_pocket_logbook(chandler):
    """Five sections of four sheets, lines at the pitch that lies flat: the folds of the closed book meet the lines."""
    asked = known(chandler(sections=5, sheets_per_section=4, sewing={"pitch_mm": 1.2}), thread=0.8)
    found = plan(asked)
    back, edge = stack(found, 0.8)
    assert found.spine.spine_mm.value == pytest.approx(back)
    assert found.spine.fore_edge_mm.value == pytest.approx(edge)
    closed = back / 5
    assert found.spine.closed_section_mm.value == pytest.approx(closed) == pytest.approx(1.2)
    middles = [closed * (i + 0.5) - back / 2 for i in range(5)]
    assert list(found.stitching.lines_mm) == pytest.approx(middles)
    assert not [w for w in found.warnings if "apart" in w]
    card = found.parts[-1]
    clear = number(asked.practice.interfacing_clearance)
    assert card.width_mm + 2 * clear == pytest.approx(95 + back + math.pi * 0.15 + 95)


def test_ledger_in_long_stitch(chandler):
    pile = Salvage(420, 297, "long", 5, 24)
    asked = known(chandler("long-stitch", whole_pile=True, paper_known={"pile": pile}))
    found = plan(asked)
    rows, columns = int((420 - 10) // found.sheet.height_mm), int((297 - 10) // found.sheet.width_mm)
    assert found.supply.per_leaf == rows * columns
    assert found.sections.sheets + found.sections.left_over_sheets == 24 * rows * columns
    back, _ = stack(found, 0.3)
    cover = found.parts[0]
    over = number(asked.practice.long_stitch_extra) / 2
    assert cover.width_mm - 2 * (95 + over) == pytest.approx(back + math.pi / 2 * 0.4)
    steps = np.diff(found.stitching.lines_mm)
    assert steps == pytest.approx([back / found.sections.sections] * len(steps))
    assert len(found.stitching.stations_mm) % 2 == 1


def test_quarter_case(chandler):
    """Lay boards, joints and spine piece side by side, then the cloth back and the papers over them."""
    asked = known(chandler("quarter-case", sections=6, sheets_per_section=4))
    found = plan(asked)
    part = {one.name: one for one in found.parts}
    back, edge = stack(found, 0.3, endpapers=2)
    assert found.spine.fore_edge_mm.value == pytest.approx(edge)
    assert part["spine piece"].width_mm == pytest.approx(back)
    joint, shown = number(asked.practice.gap), number(asked.practice.quarter_show)
    board = part["board"].width_mm
    left = 0.0
    spots = {}
    widths = {"front": board, "joint a": joint, "spine": back, "joint b": joint, "back": board}
    for name, width in widths.items():
        spots[name] = (left, left + width)
        left += width
    cloth = (spots["front"][1] - shown, spots["back"][0] + shown)
    assert cloth[1] - cloth[0] == pytest.approx(part["cloth back"].width_mm)
    overlap, turn = number(asked.practice.side_paper_overlap), number(asked.practice.turn_in)
    paper = (-turn, cloth[0] + overlap)
    assert paper[1] - paper[0] == pytest.approx(part["side paper"].width_mm)
    assert part["mull"].width_mm - back == pytest.approx(2 * number(asked.practice.lining_side))
    assert part["mull"].height_mm < 140 < part["board"].height_mm < part["cloth back"].height_mm


def test_rounded_back_measured_along_a_polyline(chandler):
    """Chord of the block, 120 degrees, drawn with 2000 short lines, and one shoulder on either side."""
    asked = known(chandler("rounded-case", sections=12, sheets_per_section=8), thread=0.2)
    found = plan(asked)
    chord = 12 * 16 * T + 2 * T
    angle = np.linspace(-math.pi / 3, math.pi / 3, 2001)
    radius = chord / (2 * math.sin(math.pi / 3))
    x, y = radius * np.sin(angle), radius * np.cos(angle)
    assert x[-1] - x[0] == pytest.approx(chord)
    arc = np.hypot(np.diff(x), np.diff(y)).sum()
    assert found.spine.arc_mm.value == pytest.approx(arc, rel=1e-6)
    shoulder = number(asked.practice.shoulder_over_board) * 2.0
    inlay = next(one for one in found.parts if one.name.startswith("spine inlay"))
    assert inlay.width_mm == pytest.approx(arc + 2 * shoulder, rel=1e-6)


@pytest.mark.parametrize("sheets", [2, 6, 10])
def test_pamphlet_cover_wraps_the_nest(chandler, sheets):
    """The cover as one more nested sheet, c thick: its half is a quarter circle of s·t + c/2 and a flat run."""
    asked = known(chandler("pamphlet", sheets_per_section=sheets))
    found = plan(replace(asked, practice=asked.practice.with_own({"overhang": 1.5})))
    cover = found.parts[0]
    _, folds = nested(sheets, found.sheet.width_mm / 2)
    fore_edge = folds[0] + 95
    angle = np.linspace(0, math.pi / 2, 4001)
    radius = sheets * T + 0.3 / 2
    quarter = np.hypot(np.diff(radius * np.cos(angle)), np.diff(radius * np.sin(angle))).sum()
    assert cover.width_mm / 2 == pytest.approx(quarter + fore_edge + 1.5, abs=1e-4)


def test_layers_under_the_needle_are_those_of_the_open_section(chandler):
    """The section lies open on the cover, so each sheet is there once: half of what it is when closed."""
    found = plan(known(chandler(sections=5, sheets_per_section=6)))
    assert found.stitching.layers[0][1] == pytest.approx(found.spine.section_mm.value / 2)
    assert found.as_json()["under_needle_mm"] == pytest.approx(0.6 + 0.3 + 0.2 + 0.4)
    by_hand = plan(known(chandler("long-stitch", sections=5, sheets_per_section=6)))
    assert [name for name, _ in by_hand.stitching.layers] == ["6 sheets", "sailcloth"]
    case = plan(known(chandler("flat-back-case", sections=5, sheets_per_section=6)))
    assert case.stitching.under_needle_mm == pytest.approx(0.6)
