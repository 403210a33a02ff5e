"""Whatever is asked: a plan, or one line that says what is wrong. Never anything else."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from matref.api import Workshop
from matref.cli.plan_text import as_text
from matref.errors import BadInput
from matref.planning import PlannedBook, schema

_MM = st.floats(5, 700) | st.integers(5, 700) | st.sampled_from(["4 in", "1/2 in", "10 cm", 0, -3, 1e9, "wide"])
_SMALL = st.floats(0, 30) | st.sampled_from(["1/8 in", 0, 0.3, 2.5])
_FEW = st.integers(0, 40)
_SIZE = st.sampled_from(["A4", "A3", "210 x 297 mm", "17 x 22 in", "30 x 30 mm", "foolscap", "1 x 1 m"])
_GRAIN = st.sampled_from(schema.GRAINS)
_IDS = [
    "none",
    "greyboard.2.0mm",
    "canvas_duck",
    "plain_cotton",
    "map_chart",
    "cover_uncoated",
    "kraft",
    "duck.10",
    "?",
]


def _some(**values: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=values)


_BOOK = st.fixed_dictionaries(
    {
        "structure": st.sampled_from(schema.STRUCTURES),
        "page_width_mm": _MM,
        "page_height_mm": _MM,
    },
    optional={
        "sections": _FEW,
        "pages": st.integers(0, 600),
        "use": st.just("whole pile"),
        "sheets_per_section": st.integers(0, 60),
        "trim_head_tail": st.booleans(),
        "pressed": st.booleans(),
        "rounding_deg": st.floats(0, 180),
        "level": st.sampled_from([0.5, 0.9, 0.999]),
    },
)
_PAPER = _some(
    **{
        "class": st.sampled_from(["copier", "ledger", "newsprint", "map_chart", "copier,ledger", "??"]),
        "grammage_gsm": st.integers(5, 600),
        "caliper_um": st.integers(5, 2000),
        "in_block": st.booleans(),
        "size": _SIZE,
        "sheets": _FEW,
        "mass_g": st.floats(0.1, 900),
        "leaves": _FEW,
        "leaf_size": _SIZE,
        "grain": st.sampled_from(schema.PILE_GRAINS),
        "edge_mm": _SMALL,
        "price": st.floats(0, 5),
    }
)
_COVER = _some(
    **{role: st.sampled_from(_IDS) for role in schema.ROLES},
    **{f"{role}_mm": _SMALL for role in schema.ROLES},
    **{
        f"{name}_mm": _SMALL
        for name in ("square", "turn_in", "overhang", "gap", "lining_side", "interfacing_clearance")
    },
)
_SEWING = _some(
    by=st.sampled_from(["hand", "machine"]),
    thread=st.sampled_from(["30/3 linen", "0.1 mm", "2 mm", "metric-ticket-75", "string"]),
    needle=st.sampled_from(["90/14", "110/18", "hand-sharps-8", "x"]),
    pitch_mm=_SMALL,
    stitch_mm=_SMALL,
    end_mm=_MM,
    stations=_FEW,
    machine_limit_mm=_SMALL,
    two_on=st.booleans(),
    singly=_FEW,
)
_PIECE = st.fixed_dictionaries(
    {"material": st.sampled_from(list(schema.ROLES)), "size": _SIZE},
    optional={"grain": _GRAIN, "price": st.floats(0, 9)},
)
_SHOP = st.fixed_dictionaries(
    {"material": st.sampled_from([*schema.ROLES, "thread"])},
    optional={"size": _SIZE, "width_mm": _MM, "length_m": st.floats(0.1, 99), "price": st.floats(0, 9)},
)
_STOCK = _some(pieces=st.lists(_PIECE, max_size=3), shop=st.lists(_SHOP, max_size=3), blade_mm=_SMALL)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(book=_BOOK, paper=_PAPER, cover=_COVER, sewing=_SEWING, stock=_STOCK)
def test_a_plan_or_one_line(
    workshop: Workshop,
    book: dict[str, Any],
    paper: dict[str, Any],
    cover: dict[str, Any],
    sewing: dict[str, Any],
    stock: dict[str, Any],
) -> None:
    try:
        found = workshop.plan({"book": book, "paper": paper, "cover": cover, "sewing": sewing, "stock": stock})
    except BadInput as error:
        _one_line(error)
        return
    _sound(found)


_TABLE = st.one_of(
    *(
        st.tuples(st.just(name), table)
        for name, table in (("paper", _PAPER), ("cover", _COVER), ("sewing", _SEWING), ("stock", _STOCK))
    )
)


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
@given(structure=st.sampled_from(schema.STRUCTURES), extra=_TABLE)
def test_one_odd_table_in_an_ordinary_plan(
    workshop: Workshop, structure: str, extra: tuple[str, dict[str, Any]]
) -> None:
    book = {"structure": structure, "page_width_mm": 120, "page_height_mm": 170, "pages": 60}
    try:
        found = workshop.plan({"book": book, **dict([extra])})
    except BadInput as error:
        _one_line(error)
        return
    _sound(found)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    structure=st.sampled_from(schema.STRUCTURES),
    width=st.integers(70, 200),
    height=st.integers(90, 280),
    extent=st.integers(1, 20),
    thick=st.integers(60, 160),
    stock=_STOCK,
)
def test_ordinary_books_are_planned_and_sound(
    workshop: Workshop, structure: str, width: int, height: int, extent: int, thick: int, stock: dict[str, Any]
) -> None:
    sections = 1 if structure == "pamphlet" else extent
    book = {"structure": structure, "page_width_mm": width, "page_height_mm": height, "sections": sections}
    try:
        found = workshop.plan({"book": book, "paper": {"caliper_um": thick}, "stock": stock})
    except BadInput as error:
        _one_line(error, "stock.")  # only the shelf can be nonsense here
        return
    _sound(found)
    assert found.sections.sections == sections


def _one_line(error: BadInput, word: str = "") -> None:
    assert "\n" not in str(error)
    assert word in str(error)


def _sound(found: PlannedBook) -> None:
    plain = found.as_json()
    json.dumps(plain, allow_nan=False)
    assert found.spine.spine_mm.low <= found.spine.spine_mm.value <= found.spine.spine_mm.high
    for part in found.parts:
        assert part.width_mm > 0
        assert part.height_mm > 0
        assert part.width_low_mm <= part.width_high_mm
    if found.cost is not None:
        assert found.cost.to_buy >= 0
        assert found.cost.from_shelf >= 0
    for need in found.needs:
        for layout in need.layouts():
            assert 0 <= layout["waste_share"] <= 1
    for units in ("mm", "in"):
        assert as_text(found, units)
