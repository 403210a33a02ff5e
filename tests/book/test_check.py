"""Every geometry function refuses nonsense in one line, whichever number it hides in."""

import ast
import inspect
import math
from fractions import Fraction

import pytest

from matref.book import (
    block,
    case,
    check,
    cloth,
    creep,
    leaves,
    limp,
    machine_sewing,
    rounding,
    stations,
    swell,
    thread,
)
from matref.errors import BadInput

TURN = leaves.turns(297, 210, 148.5, 210)[1]
GOOD = {
    block.bulk_cm3_g: (100, 80),
    block.caliper_um: (1.3, 80),
    block.grammage_gsm: (100, 1.3),
    block.bulk_from_volume_cm3_g: (18,),
    block.caliper_limits_um: (100, 0.05),
    block.leaf_in_block_um: (100, 0.95),
    block.pages: (4, 5),
    block.sections_for_pages: (80, 4),
    block.pages_per_inch: (100,),
    block.leaves_per_inch: (100,),
    block.section_thickness_mm: (4, 100),
    block.fore_edge_mm: (4, 5, 100, 0.4),
    thread.tex_from_indirect_count: (18, 1000, 3),
    thread.tex_from_direct_count: (90, 0.1, 3),
    thread.diameter_mm: (276, 900),
    thread.wound_mm: (10, 20),
    thread.pinched_mm: (0.5, 0.8),
    swell.two_on_threads_per_fold: (12, 4),
    swell.sewn_singly: (12, 4),
    swell.swell_mm: (5, 0.5, 0.6, 1, 0.2, 0.1),
    swell.swell_ratio: (4, 100, 0.5, 0.6, 1),
    swell.thread_for_ratio_mm: (0.25, 4, 100, 0.6, 1),
    creep.stagger_mm: (4, 100, 1.57),
    creep.stagger_limits_mm: (4, 100),
    creep.crease_stagger: (45,),
    creep.fold_offsets_mm: (4, 100),
    creep.page_loss_mm: (4, 100),
    creep.page_widths_mm: (100, 4, 100),
    creep.least_trim_mm: (4, 100, 1, 1.57),
    creep.sheet_width_before_trim_mm: (100, 4, 100, 1),
    creep.single_section_cover_width_mm: (100, 0, 4, 100, 0.3),
    rounding.arc_ratio: (120,),
    rounding.arc_mm: (20, 120),
    rounding.sagitta_mm: (20, 120),
    rounding.radius_mm: (20, 120),
    rounding.round_from_swell_deg: (0.25,),
    rounding.backed_arc_mm: (24, 2.5),
    case.board_height_mm: (150, 3),
    case.board_width_mm: (100, 3, 6),
    case.quarter_joint_board_width_mm: (150, 20, 1.6),
    case.spine_piece_mm: (12, "boards", 2.5, 0.3),
    case.joint_mm: (6, 2.5, "one-wall"),
    case.gap_mm: (12, 8.5),
    case.cloth_size_mm: (97, 156, 29, 17),
    case.turn_in_overlap_mm: (17, 2.5, 0.3),
    case.mitre_leg_mm: (17, 3),
    case.quarter_cloth_size_mm: (156, 29, 20, 17),
    case.side_paper_size_mm: (97, 156, 20, 3, 17),
    case.endpaper_size_mm: (100, 150, 2, 3),
    case.pastedown_size_mm: (100, 150, 2),
    case.lining_size_mm: (12, 150, 3, 30),
    case.cord_length_mm: (6, 250, 30),
    limp.limp_cover_size_mm: (100, 150, 8, 0.6, 3, 15),
    limp.slip_on_cover_size_mm: (150, 210, 10, 5, 7, 60),
    machine_sewing.flat_pitch_mm: (4, 100, 0.3, 0.6, 0.1),
    machine_sewing.line_positions_mm: (5, 2),
    machine_sewing.spine_allowance_mm: (5, 2, 1.8),
    machine_sewing.under_needle_mm: (4, 100),
    machine_sewing.paper_left: (0.9, 2.5),
    machine_sewing.between_lines_mm: (2, 0.9),
    machine_sewing.lockstitch_thread_mm: (100, 2.5, 1, 400),
    stations.span_mm: (150, 12),
    stations.hole_count: (150, 178),
    stations.even_stations_mm: (150, 12, 5),
    stations.band_stations_mm: (180, 5, 2, 4),
    stations.paired_stations_mm: ((50, 100), 10),
    stations.with_kettles_mm: (150, 10, (45, 55)),
    stations.pamphlet_thread_mm: (150, 12, 150),
    stations.all_along_thread_mm: (5, 150, 10, 1, 200, 1),
    stations.long_stitch_thread_mm: (5, 150, 12, 4, 1, 1.5, 200),
    stations.link_stitch_thread_mm: (5, 150, 12, 4, 1, 200, 8),
    leaves.turns: (297, 210, 148.5, 210, "long", 5),
    leaves.leaves_needed: (9, TURN),
    cloth.cut_for_shrinkage_mm: (360, 0.1),
    cloth.cut_size_mm: (180, 190, 0.1, 0.05),
    cloth.interfacing_size_mm: (220, 156, 2),
    cloth.moisture_movement_mm: (210, 0.003, 20, 38),
}
SIGNED = {(cloth.moisture_movement_mm, "humidity_change")}
NONSENSE = (-1, math.nan, math.inf, -math.inf, 1e300, 10**400, True, "many", None)
NUMBERS = [
    (function, place, name)
    for function, good in GOOD.items()
    for place, (name, value) in enumerate(zip(inspect.signature(function).parameters, good, strict=False))
    if isinstance(value, int | float)
]


@pytest.mark.parametrize("function", GOOD, ids=lambda f: f.__name__)
def test_the_good_values_are_good(function):
    result = function(*GOOD[function])
    numbers = [x for x in (result if isinstance(result, tuple) else (result,)) if not isinstance(x, leaves.Turn)]
    assert numbers or function is leaves.turns
    assert all(math.isfinite(number) for number in numbers)
    if function is not machine_sewing.line_positions_mm:
        assert all(number >= 0 for number in numbers)


@pytest.mark.parametrize(("function", "place", "name"), NUMBERS, ids=lambda x: getattr(x, "__name__", x))
@pytest.mark.parametrize("nonsense", NONSENSE, ids=lambda x: str(x)[:8])
def test_nonsense_is_refused_in_one_line(function, place, name, nonsense):
    if (function, name) in SIGNED and nonsense == -1:
        pytest.skip("a falling humidity is negative")
    arguments = list(GOOD[function])
    arguments[place] = nonsense
    with pytest.raises(BadInput) as refused:
        function(*arguments)
    message = str(refused.value)
    assert "\n" not in message
    assert len(message) < 200
    assert "expected" in message


@pytest.mark.parametrize("module", {f.__module__ for f in GOOD})
def test_no_function_escapes_this_table(module):
    members = inspect.getmembers(inspect.getmodule(next(f for f in GOOD if f.__module__ == module)))
    public = {o for n, o in members if inspect.isfunction(o) and o.__module__ == module and n[0] != "_"}
    named_or_spread = {swell.threads_per_fold, leaves.preferred, machine_sewing.sewing_order_mm, thread.thread_from_tex}
    assert public - named_or_spread <= set(GOOD)


@pytest.mark.parametrize("module", {f.__module__ for f in GOOD})
def test_the_modules_use_the_standard_library_alone(module):
    source = inspect.getsource(inspect.getmodule(next(f for f in GOOD if f.__module__ == module)))
    nodes = list(ast.walk(ast.parse(source)))
    imported = {alias.name.split(".")[0] for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    imported |= {str(node.module).split(".")[0] for node in nodes if isinstance(node, ast.ImportFrom)}
    assert imported <= {"__future__", "math", "typing", "collections", "dataclasses", "itertools", "matref"}


@pytest.mark.parametrize("value", [0, 0.0, -0.0, 1e-12])
def test_positive_leaves_no_room_for_zero(value):
    with pytest.raises(BadInput, match="above 0"):
        check.positive(value, "leaf, mm")


@pytest.mark.parametrize("value", [0, -3, 2.5, math.nan, "4", True, 10**7])
def test_counts_are_whole_and_believable(value):
    with pytest.raises(BadInput):
        check.count(value, "sections")


def test_numbers_of_other_kinds_pass():
    assert check.positive(Fraction(1, 2), "share") == 0.5
    assert check.count(4.0, "sections") == 4
    assert isinstance(check.count(4.0, "sections"), int)


def test_a_long_wrong_value_does_not_flood_the_message():
    with pytest.raises(BadInput) as refused:
        check.positive("x" * 5000, "leaf, mm")
    assert len(str(refused.value)) < 120
