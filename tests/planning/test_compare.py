"""Candidates side by side: papers and threads before buying, or whole plan files."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from matref.api import Workshop
from matref.cli.plan_text import as_table
from matref.errors import BadInput
from matref.planning import compare

BOOK = {"structure": "long-stitch", "page_width_mm": 100, "page_height_mm": 150, "sections": 6, "sheets_per_section": 5}
PLAN = {
    "book": {**BOOK, "title": "as planned"},
    "paper": {"caliper_um": 104},
    "sewing": {"thread": "0.4 mm"},
    "cover": {"cloth": "canvas_duck", "cloth_mm": 0.5},
    "stock": {"shop": [{"material": "thread", "length_m": 50, "price": 3}]},
    "compare": [
        {"name": "thin thread", "sewing": {"thread": "0.2 mm"}},
        {"name": "thick paper", "paper": {"caliper_um": 208}},
        {"name": "by machine", "sewing": {"by": "machine"}},
    ],
}


def test_each_candidate_is_the_plan_with_its_change(workshop: Workshop) -> None:
    table = workshop.plan(PLAN).as_json()["compare"]
    plan, thin, thick, machine = table
    assert [one["name"] for one in table] == ["as planned", "thin thread", "thick paper", "by machine"]
    alone = workshop.plan({**PLAN, "compare": []})
    assert plan["spine_mm"] == alone.spine.spine_mm.as_json()
    assert plan["weight_g"] == alone.weight_g.as_json()
    assert plan["cost"]["to_buy"] == 3
    assert thin["swell_ratio"]["value"] == pytest.approx(plan["swell_ratio"]["value"] / 2, rel=0.02)  # half the thread
    assert thick["swell_ratio"]["value"] == pytest.approx(plan["swell_ratio"]["value"] / 2, rel=0.02)  # twice the paper
    assert thick["weight_g"]["value"] > plan["weight_g"]["value"]
    assert set(machine) == {"name", "refused"}  # a long-stitch book is not sewn by machine
    assert "by hand" in machine["refused"]
    for one in table[:3]:
        assert {"sections", "sheets_per_section", "pages", "cloth", "cost", "warnings", "paper", "thread"} <= set(one)


def test_files_side_by_side(workshop: Workshop, tmp_path: Path) -> None:
    place = tmp_path / "pocket.toml"
    place.write_text(
        '[book]\nstructure = "pamphlet"\npage_width_mm = 90\npage_height_mm = 140\nsections = 1\n', encoding="utf-8"
    )
    table = compare(workshop.connection, [place, PLAN])
    assert [one.name for one in table.candidates] == [
        "pocket",
        "as planned",
        "thin thread",
        "thick paper",
        "by machine",
    ]
    json.dumps(table.as_json(), allow_nan=False)
    text = as_table(table, "mm")
    head, *rows = text.splitlines()
    assert head.split("  ")[-1] != ""
    for one in table.candidates[:4]:
        assert one.name in head
    assert "by machine: cannot be made" in text
    assert {row.split()[0] for row in rows[:8]} == {
        "paper",
        "thread",
        "sections",
        "spine",
        "swell",
        "cloth",
        "cost",
        "weight",
    }
    with pytest.raises(BadInput, match="does not exist"):
        compare(workshop.connection, [place, tmp_path / "none.toml"])


def test_only_refused_candidates(workshop: Workshop) -> None:
    table = compare(workshop.connection, [{"book": {**BOOK, "structure": "pamphlet"}}])
    assert as_table(table, "mm").startswith("plan: cannot be made")
