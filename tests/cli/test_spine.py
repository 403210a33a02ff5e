"""spine: the same answer as the Python API, in words and as JSON."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from command_line import Run, refused

import matref

BOOK = ("--sheets-per-section", "4", "--sections", "5", "--thread", "0.5 mm")
PAPER = ("--caliper", "104")


def test_json_is_the_answer_of_the_api(run: Run, shop: Path) -> None:
    found = run("spine", *BOOK, *PAPER, "--json").json()
    with matref.open(shop) as workshop:
        answer = workshop.spine(sheets_per_section=4, sections=5, thread="0.5 mm", caliper_um="104")
    assert found == answer.as_json()
    names = ("fore_edge_mm", "swell_mm", "spine_mm", "swell_ratio", "creep_mm", "pages_per_inch", "arc_mm")
    for name in names:
        assert found[name]["low"] <= found[name]["value"] <= found[name]["high"]
    assert found["pages"] == 80  # 5 sections of 4 sheets, 4 pages a sheet


def test_fore_edge_is_leaves_times_caliper(run: Run) -> None:
    """40 leaves of 104 µm are 4.16 mm unpressed, and pressing takes at most a tenth (design: k is 0.90 to 1.00)."""
    found = run("spine", *BOOK, *PAPER, "--json").json()["fore_edge_mm"]
    assert 0.9 * 4.16 < found["low"] < found["high"] < 4.16 * 1.01


def test_text(run: Run) -> None:
    found = run("spine", *BOOK, *PAPER, "--json").json()
    text = run("spine", *BOOK, *PAPER).out
    shown = re.match(r"Spine +([\d.]+) mm \(([\d.]+) to ([\d.]+), 90 times in 100\)\n", text)
    assert shown
    for group, key in zip(shown.groups(), ("value", "low", "high"), strict=True):
        assert float(group) == pytest.approx(found["spine_mm"][key], abs=0.051)
    flat = " ".join(text.split())
    assert "5 sections of 4 sheets, 80 pages" in flat
    assert found["biggest_cause"].partition(" (")[0] in flat
    assert "Over the back" not in flat
    for warning in found["warnings"]:
        assert warning in flat
    assert "Over the back" in run("spine", *BOOK, *PAPER, "--rounding", "60").out


def test_inches(run: Run) -> None:
    found = run("spine", *BOOK, *PAPER, "--json").json()["spine_mm"]["value"]
    shown = re.match(r"Spine +(0\.\d+) in ", run("spine", *BOOK, *PAPER, "--units", "in").out)
    assert shown
    assert float(shown[1]) == pytest.approx(found / 25.4, abs=0.0051)


def test_pages_that_leave_some_over(run: Run) -> None:
    book = ("--sheets-per-section", "4", "--pages", "90", "--thread", "30/3 linen", *PAPER)
    found = run("spine", *book, "--json").json()
    assert (found["sections"], found["pages"]) == (6, 96)
    assert any("to spare" in one for one in found["warnings"])


def test_paper_from_evidence(run: Run) -> None:
    pile = ("--size", "A4", "--sheets", "20", "--mass", "98 g")
    paper = run("caliper", *pile, "--json").json()["caliper_um"]
    assert run("spine", *BOOK, *pile, "--json").json()["caliper_um"] == pytest.approx(paper)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((*BOOK,), ("at least one",)),
        ((*BOOK, *PAPER, "--grammage", "80"), ("one of the two",)),
        ((*BOOK, *PAPER, "--pages", "80"), ("one of the two",)),
        (
            ("--sections", "5", "--thread", "0.5 mm", *PAPER),
            ("--sheets-per-section is missing", "for example: matref spine"),
        ),
        (("--sheets-per-section", "0", "--sections", "5", "--thread", "0.5 mm", *PAPER), ("0 sheets",)),
        (("--sheets-per-section", "four", "--sections", "5", "--thread", "1 mm", *PAPER), ("four",)),
        (("--sheets-per-section", "4", "--sections", "-5", "--thread", "0.5 mm", *PAPER), ()),
        (("--sheets-per-section", "4", "--sections", "5", "--thread", "cobweb", *PAPER), ("cobweb",)),
        ((*BOOK, *PAPER, "--rounding", "270"), ("270",)),
        ((*BOOK, *PAPER, "--sewing", "staples"), ("all-along",)),
        ((*BOOK, "--caliper", "0"), ()),
    ],
)
def test_nonsense_is_refused_in_one_line(run: Run, arguments: tuple[str, ...], words: tuple[str, ...]) -> None:
    refused(run("spine", *arguments), *words)
