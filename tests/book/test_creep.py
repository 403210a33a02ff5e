"""Creep, checked by laying sheets of paper out point by point and measuring where their edges come to lie."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book import creep
from matref.errors import BadInput

SHEETS = st.integers(1, 20)
LEAF = st.floats(30, 400)


def along(points):
    return math.fsum(math.dist(a, b) for a, b in pairwise(points))


def ellipse_fold(depth, half_height, offset, steps=20_000):
    """Half a fold: the curve `offset` outside an elliptical nose, from its apex to where the leaf runs flat."""
    points = []
    for i in range(steps + 1):
        u = math.pi / 2 * i / steps
        x, y = -depth * math.cos(u), half_height * math.sin(u)
        nx, ny = -half_height * math.cos(u), depth * math.sin(u)
        size = math.hypot(nx, ny)
        points.append((x + offset * nx / size, y + offset * ny / size))
    return points


def edges_and_folds(fold_of, half_sheet, sheets, thickness):
    """Where each sheet's fore-edge and fold lie (x, spine towards minus), inner sheet first."""
    edges, folds = [], []
    for k in range(1, sheets + 1):
        fold = fold_of((k - 0.5) * thickness)
        edges.append(fold[-1][0] + half_sheet - along(fold))
        folds.append(fold[0][0])
    return edges, folds


def round_fold(radius):
    return [(-radius * math.cos(u), radius * math.sin(u)) for u in (math.pi / 2 * i / 5000 for i in range(5001))]


@pytest.mark.parametrize("depth_over_height", [10, 3, 1, 1 / 3, 1 / 10])
def test_stagger_does_not_depend_on_the_shape_of_the_fold(depth_over_height):
    """Elliptical noses from 10:1 to 1:10, sheets in contact: (π/2)·t for each sheet."""
    sheets, leaf_um = 4, 100
    edges, _ = edges_and_folds(
        lambda offset: ellipse_fold(0.5 * depth_over_height, 0.5, offset), 100, sheets, leaf_um / 1000
    )
    steps = [a - b for a, b in pairwise(edges)]
    assert steps == pytest.approx([math.pi / 2 * 0.1] * 3, abs=1e-5)
    assert creep.stagger_mm(sheets, leaf_um) == pytest.approx(edges[0] - edges[-1], abs=1e-5)


@pytest.mark.parametrize("sheets", [2, 4, 8, 16])
def test_round_folds_laid_out(sheets):
    """Stagger, flush cut, page loss and starting width of nested round folds, all measured on the drawing."""
    thickness, half_sheet = 0.1, 100.0
    edges, folds = edges_and_folds(round_fold, half_sheet, sheets, thickness)
    assert creep.stagger_mm(sheets, 100) == pytest.approx(edges[0] - edges[-1], abs=1e-6)
    assert creep.fold_offsets_mm(sheets, 100) == pytest.approx([fold - folds[-1] for fold in reversed(folds)])
    clean = 2.0
    cut = edges[-1] - clean
    widths = [cut - fold for fold in folds]
    assert creep.least_trim_mm(sheets, 100, clean) == pytest.approx(edges[0] - cut, abs=1e-6)
    assert creep.page_loss_mm(sheets, 100) == pytest.approx(widths[-1] - widths[0])
    assert creep.page_widths_mm(widths[-1], sheets, 100) == pytest.approx(list(reversed(widths)))
    assert creep.sheet_width_before_trim_mm(widths[-1], sheets, 100, clean) == pytest.approx(2 * half_sheet, abs=1e-6)


@pytest.mark.parametrize(("sheets", "stagger", "loss"), [(4, 0.47, 0.30), (8, 1.10, 0.70), (16, 2.36, 1.50)])
def test_own_table(sheets, stagger, loss):
    assert creep.stagger_mm(sheets, 100) == pytest.approx(stagger, abs=0.005)
    assert creep.page_loss_mm(sheets, 100) == pytest.approx(loss)


def test_printers_offsets():
    """ColorVision Printing, saddle-stitch creep: t = .005 in puts sheets 0, .005, .010, .015 in from the spine."""
    offsets = creep.fold_offsets_mm(4, 0.005 * 25_400)
    assert [x / 25.4 for x in offsets] == pytest.approx([0, 0.005, 0.010, 0.015])


@pytest.mark.parametrize(("n", "loss"), [(1, 1), (2, 4), (3, 14), (4, 50), (5, 186), (6, 714)])
def test_semicircle_arithmetic_against_gallivan(n, loss):
    """Gallivan's loss function (Korpal 2015): folding n times loses (π·t/6)(2ⁿ + 4)(2ⁿ - 1).

    The i-th fold bends 2^(i-1) layers round semicircles of radius t, 2·t ... (outer faces). The drawing
    used above, summed over those arcs, has to give the published totals.
    """
    t = 0.1
    total = math.fsum(
        2 * along(round_fold(layer * t)) for fold in range(1, n + 1) for layer in range(1, 2 ** (fold - 1) + 1)
    )
    assert total == pytest.approx(loss * math.pi * t, rel=1e-6)
    assert math.pi * t / 6 * (2**n + 4) * (2**n - 1) == pytest.approx(total, rel=1e-6)


def mitred(corner, offset):
    """Offset of a half fold with square corners or a V: apex, corner, end; corners extended to a point."""
    (x0, y0), (x1, y1), (x2, y2) = corner
    first, second = math.atan2(y1 - y0, x1 - x0), math.atan2(y2 - y1, x2 - x1)
    half_turn = (first - second) / 2
    middle = (first + second) / 2 + math.pi / 2
    reach = offset / math.cos(half_turn)
    tip = (x1 + reach * math.cos(middle), y1 + reach * math.sin(middle))
    start = (x0 + offset * math.cos(first + math.pi / 2), y0 + offset * math.sin(first + math.pi / 2))
    end = (x2 + offset * math.cos(second + math.pi / 2), y2 + offset * math.sin(second + math.pi / 2))
    return [start, tip, end]


def test_square_fold_laid_out():
    """A square spine with mitred corners staggers 2·t a sheet, the upper limit."""
    edges, _ = edges_and_folds(lambda r: mitred([(0, 0), (0, 0.5), (1, 0.5)], r), 100, 4, 0.1)
    assert creep.stagger_limits_mm(4, 100)[1] == pytest.approx(edges[0] - edges[-1])


@pytest.mark.parametrize(("angle", "printed"), [(90, 1.571), (60, 1.624), (45, 1.785), (30, 2.256)])
def test_v_crease_laid_out(angle, printed):
    """The sides of a V leave the centre plane at the half angle, then bend round to the flat leaf on an arc."""
    a, nose = math.radians(angle), 0.5

    def fold(offset):
        apex = (-offset / math.sin(a), 0.0)
        foot = (math.cos(a) - offset * math.sin(a), math.sin(a) + offset * math.cos(a))
        centre = (math.cos(a) + nose * math.sin(a), math.sin(a) - nose * math.cos(a))
        radius, steps = nose + offset, 20_000
        bend = [math.pi / 2 + a * (1 - i / steps) for i in range(steps + 1)]
        arc = [(centre[0] + radius * math.cos(u), centre[1] + radius * math.sin(u)) for u in bend]
        assert math.dist(foot, arc[0]) < 1e-9
        return [apex, *arc]

    edges, _ = edges_and_folds(fold, 100, 3, 0.1)
    assert creep.crease_stagger(angle) == pytest.approx((edges[0] - edges[-1]) / 2 / 0.1, rel=1e-6)
    assert creep.crease_stagger(angle) == pytest.approx(printed, abs=0.001)


@pytest.mark.parametrize("angle", [0, 91, -5])
def test_no_other_creases(angle):
    with pytest.raises(BadInput):
        creep.crease_stagger(angle)


@pytest.mark.parametrize("overhang", [0.0, 3.0])
def test_single_section_cover_laid_out(overhang):
    """The cover's middle as a half circle round the nest with straight runs to the trimmed edge and beyond."""
    sheets, thickness, cover, page = 5, 0.12, 0.4, 105.0
    fore_edge_x = page - (sheets - 0.5) * thickness
    middle = round_fold(sheets * thickness + cover / 2)
    half = [*middle, (fore_edge_x + overhang, middle[-1][1])]
    width = creep.single_section_cover_width_mm(page, overhang, sheets, 120, cover)
    assert width == pytest.approx(2 * along(half), abs=1e-6)


def test_a_section_thicker_than_its_page_is_refused():
    with pytest.raises(BadInput, match="thicker"):
        creep.single_section_cover_width_mm(1, 0, 20, 100, 0.3)
    with pytest.raises(BadInput, match="thicker"):
        creep.page_widths_mm(1, 20, 100)


@settings(deadline=None)
@given(SHEETS, LEAF)
def test_stagger_grows_and_stays_within_its_limits(sheets, leaf):
    low, high = creep.stagger_limits_mm(sheets, leaf)
    stagger = creep.stagger_mm(sheets, leaf)
    assert 0 <= low <= stagger <= high
    assert creep.stagger_mm(sheets + 1, leaf) > stagger
    assert creep.stagger_mm(sheets + 1, leaf + 1) > stagger
    assert creep.stagger_mm(1, leaf) == 0


@settings(deadline=None)
@given(st.floats(50, 300), SHEETS, LEAF, st.floats(0, 5))
def test_sheets_are_cut_wider_than_two_pages(page, sheets, leaf, clean):
    width = creep.sheet_width_before_trim_mm(page, sheets, leaf, clean)
    assert width > 2 * page
    assert creep.sheet_width_before_trim_mm(page + 1, sheets, leaf, clean) == pytest.approx(width + 2)
    widths = creep.page_widths_mm(page, sheets, leaf)
    assert widths[0] == page
    assert list(widths) == sorted(widths, reverse=True)
    assert widths[0] - widths[-1] == pytest.approx(creep.page_loss_mm(sheets, leaf))
