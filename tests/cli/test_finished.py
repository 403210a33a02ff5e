"""finished: predicted against measured, and what later spines learn."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Run, refused

# A pocket logbook, invented: 8 sections of 4 sheets of 104 µm.
MADE = ("--sheets-per-section", "4", "--sections", "8", "--thread", "30/3 linen", "--caliper", "104")
BOOK = ("finished", "add", "--label", "first logbook", *MADE, "--measured-with", "vernier")


def test_add_compares(run: Run) -> None:
    book = run(*BOOK, "--fore-edge", "6.4", "--spine", "9.0", "--json").json()
    assert book["fore_edge_mm"]["measured"] == 6.4
    assert book["pressing_factor"] == pytest.approx(6.4 / (64 * 0.104))  # 64 leaves of 0.104 mm
    assert book["spine_mm"]["inside"] is True
    assert [one["id"] for one in run("finished", "list", "--json").json()] == [book["id"]]
    text = " ".join(run("finished", "list").out.split())
    assert "first logbook" in text
    assert "measured 9.0" in text
    assert "inside the range" in text
    assert "What to expect of the next book" in text


def test_later_spines_learn(run: Run) -> None:
    ask = ("spine", *MADE, "--json")
    before = run(*ask).json()["swell_mm"]
    for _ in range(4):
        assert run(*BOOK, "--fore-edge", "6.4", "--spine", "8.2").code == 0
    book = run("finished", "list", "--json").json()[-1]
    assert book["spine_mm"]["predicted"]["value"] < before["value"] + 6.4  # four thin spines were entered before it


def test_what_is_not_given_comes_from_the_plan(run: Run, tmp_path: Path) -> None:
    plan = tmp_path / "logbook.toml"
    plan.write_text(
        '[book]\nsections = 8\nsheets_per_section = 4\n[paper]\ncaliper_um = 104\n[sewing]\nthread = "30/3 linen"\n',
        encoding="utf-8",
    )
    planned = run("finished", "add", "--plan", str(plan), "--spine", "9.0", "--json").json()
    assert (planned["sections"], planned["sheets_per_section"], planned["thread"]) == (8, 4, "30/3 linen")
    plan.write_text("[book\n", encoding="utf-8")
    refused(run("finished", "add", "--plan", str(plan), "--spine", "9.0"), "logbook.toml")


def test_an_empty_list_says_how_to_begin(run: Run) -> None:
    assert run("finished", "list", "--json").json() == []
    assert "matref finished add" in run("finished", "list").out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (BOOK, ("measured",)),
        ((*BOOK, "--spine", "-9"), ("-9",)),
        ((*BOOK, "--spine", "90"), ("90",)),
        ((*BOOK, "--fore-edge", "9", "--spine", "6"), ("thinner",)),
        (("finished", "add", "--spine", "9"), ("not given",)),
        ((*BOOK, "--spine", "9", "--plan", "none.toml"), ("none.toml",)),
        ((*BOOK, "--spine", "9", "--pressing", "ironed"), ("--pressing",)),
    ],
)
def test_nonsense_is_refused_in_one_line(run: Run, arguments: tuple[str, ...], words: tuple[str, ...]) -> None:
    refused(run(*arguments), *words)
    assert run("finished", "list", "--json").json() == []
