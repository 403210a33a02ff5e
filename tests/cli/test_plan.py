"""plan: a file to begin with, and the same answer as the Python API, in words and as JSON."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from command_line import Run, refused

import matref

# A pocket logbook, invented.
PLAN = """
[book]
title = "harbour log"
structure = "soft-cover"
page_width_mm = 100
page_height_mm = 150
sections = 5
sheets_per_section = 4
[paper]
caliper_um = 104
[sewing]
thread = "0.3 mm"
"""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    place = tmp_path / "harbour.toml"
    place.write_text(PLAN, encoding="utf-8")
    return place


def test_json_is_the_answer_of_the_api(run: Run, shop: Path, plan: Path) -> None:
    found = run("plan", str(plan), "--json").json()
    with matref.open(shop) as workshop:
        answer = workshop.plan(plan).as_json()
    assert found == json.loads(json.dumps(answer))  # tuples become lists
    assert found["sections"]["pages"] == 80  # 5 sections of 4 sheets, 4 pages a sheet
    assert {"text_block", "sections", "creep", "spine", "cover", "stitching", "cutting", "shopping"} <= set(found)


def test_text_names_every_part_line_and_step(run: Run, plan: Path) -> None:
    found = run("plan", str(plan), "--json").json()
    text = " ".join(run("plan", str(plan)).out.split())
    assert text.startswith("Book harbour log: soft-cover, page 100 x 150 mm, 80 pages")
    for part in found["cover"]["parts"]:
        assert f"1 x {part['name']}, {part['width_mm']:.4g}" in text
    for step in found["steps"]:
        assert step["do"] in text
    for warning in found["warnings"]:
        assert warning in text
    order = ", ".join(f"{line:.10g}" for line in found["stitching"]["order"])
    assert f"in the order of sewing: {order} mm" in text


def test_cautions_stand_at_the_step_where_they_apply(run: Run, plan: Path) -> None:
    found = run("plan", str(plan), "--json").json()
    text = " ".join(run("plan", str(plan)).out.split())
    first: dict[str, int] = {}
    for number, step in enumerate(found["steps"], 1):
        first.setdefault(step["caution"], number)
    for kind in ("cutting", "machine sewing"):
        caution = next(one["text"] for one in found["cautions"] if one["step"] == kind)
        number = first[kind]
        assert f"{number}. " in text
        assert text.index(f" {number}. ") < text.index(caution) < text.index(f" {number + 1}. ")
        assert len(run("find", "--kind", "caution", *kind.split(), "--json").json()) > 3


def test_a_link_stitch_tells_the_holes_in_its_boards_and_its_cost_without_a_currency(run: Run, tmp_path: Path) -> None:
    """The board stands a square of 3 mm above the page; a published guide sets its holes 1/4 in from the spine edge."""
    place = tmp_path / "link.toml"
    text = PLAN.replace("soft-cover", "link-stitch").replace('"0.3 mm"', '"25/3 linen"')
    shop = '[[stock.shop]]\nmaterial = "board"\nsize = "A3"\nprice = 1.25\n'
    place.write_text(f"{text}\n{shop}", encoding="utf-8")
    found = run("plan", str(place), "--json").json()
    said = " ".join(run("plan", str(place)).out.split())
    stations, holes = found["stitching"]["stations_mm"], found["stitching"]["board_stations_mm"]
    assert holes == pytest.approx([station + 3 for station in stations])
    assert "holes in the boards from the head of the board: 15.7" in said
    assert "mark: holes from the spine edge 6.35 mm" in said
    assert "binder’s needle 18" in said
    assert "trim its fore-edge" in said
    assert f"Cost {found['cost']['words']}" in said
    assert found["cost"]["words"].startswith("1.25: 1.25 to buy")


def test_inches(run: Run, plan: Path) -> None:
    assert "page 3 15/16 x 5 29/32 in" in run("plan", str(plan), "--units", "in").out


def test_candidates_side_by_side(run: Run, plan: Path) -> None:
    plan.write_text(PLAN + '[[compare]]\nname = "thick"\n[compare.paper]\ncaliper_um = 150\n', encoding="utf-8")
    text = " ".join(run("plan", str(plan)).out.split())
    assert "Side by side harbour log thick " in text
    thicker = run("plan", str(plan), "--json").json()["compare"]
    assert [one["name"] for one in thicker] == ["harbour log", "thick"]
    assert thicker[0]["spine_mm"]["value"] < thicker[1]["spine_mm"]["value"]


def test_starter(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "logbook.toml"
    written = run("plan", "--starter", str(place))
    assert written.code == 0
    assert "book" in tomllib.loads(place.read_text(encoding="utf-8"))
    before = place.read_bytes()
    refused(run("plan", "--starter", str(place)), "exists already")
    assert place.read_bytes() == before
    assert run("plan", str(place)).code == 0


def test_nonsense_is_refused_in_one_line(run: Run, plan: Path, tmp_path: Path) -> None:
    refused(run("plan"), "--starter")
    refused(run("plan", str(plan), "--starter", str(tmp_path / "x.toml")), "one of the three")
    refused(run("plan", str(tmp_path / "none.toml")), "none.toml")
    refused(run("plan", "--starter", str(tmp_path / "no" / "folder.toml")), "folder.toml")
    refused(run("plan", str(tmp_path)), "cannot be read")
    plan.write_text(PLAN.replace("sections = 5", "sectons = 5"), encoding="utf-8")
    refused(run("plan", str(plan)), "book.sectons", "sections")
    plan.write_text("page_width_mm : 100", encoding="utf-8")
    refused(run("plan", str(plan)), "TOML")


def test_a_demo_and_two_files_side_by_side(run: Run, plan: Path, tmp_path: Path) -> None:
    demo = run("plan", "--demo", "quarter-cloth-case", "--json").json()
    assert demo["title"] == "quarter-cloth log"
    other = tmp_path / "other.toml"
    other.write_text(PLAN.replace("harbour log", "wider log").replace("= 100", "= 120"), encoding="utf-8")
    table = run("plan", str(plan), "--compare", str(other), "--json").json()["candidates"]
    assert [one["name"] for one in table] == ["harbour log", "wider log"]
    assert table[0]["cloth_m2"] < table[1]["cloth_m2"]
    assert "harbour log" in run("plan", str(plan), "--compare", str(other)).out.splitlines()[0]
    refused(run("plan", "--demo", "cookbook"), "pocket-logbook")
    refused(run("plan", str(plan), "--compare", str(tmp_path / "none.toml")), "does not exist")


def test_sums_come_out_as_printed(run: Run, plan: Path) -> None:
    """The dimension chains, redone with a pencil: every term is rounded to a tenth, so the sum may be a little off."""
    found = re.findall(r"(?:width|height): (.+?) = ([\d.]+) mm", " ".join(run("plan", str(plan)).out.split()))
    assert len(found) == 6  # three parts, two sides
    for terms, total in found:
        numbers = [float(sign + number) for sign, number in re.findall(r"(?:^|([+-]) )(\d+\.\d)(?= )", terms)]
        assert sum(numbers) == pytest.approx(float(total), abs=0.05 * (len(numbers) + 1))


def test_which_parts_to_cut_last(run: Run) -> None:
    text = " ".join(run("plan", "--demo", "quarter-cloth-case").out.split())
    last = text[text.index("Cut last ") : text.index("Lay out ")]
    assert "spine piece: after sewing, from the back as measured" in last
    assert "side paper" not in last  # the spine moves it not
    cut = text[text.index(" Cut ") : text.index("Cut last ")]
    assert cut.index("side paper") < cut.index("spine piece")


def test_planning_needs_nothing_heavy(run: Run, plan: Path, shop: Path) -> None:
    """The quick path, in a process of its own."""
    assert run("plan", str(plan)).code == 0
    code = (
        "import sys; from matref.cli import main; main(sys.argv[1:]);"
        "heavy = {'numpy', 'scipy', 'pandas', 'sqlite_utils', 'datasette'} & set(sys.modules);"
        "sys.exit(f'imported {heavy}' if heavy else 0)"
    )
    call = [sys.executable, "-c", code, "plan", str(plan), "--db", str(shop)]
    done = subprocess.run(call, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
