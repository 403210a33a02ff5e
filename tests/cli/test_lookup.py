"""find, show and convert: answers for people, JSON for programs, and empty answers that help."""

from __future__ import annotations

import pytest
from command_line import Run, refused


def test_find_lists_entries(run: Run) -> None:
    found = run("find", "A5", "--json").json()
    assert found[0]["id"] == "iso-a5"
    assert found[0]["kind"] == "sheet_size"
    assert (found[0]["width_mm"], found[0]["height_mm"]) == (148.0, 210.0)  # ISO 216:2007, table 1
    assert found[0]["source"]["id"]
    text = run("find", "A5")
    assert text.code == 0
    assert " ".join(text.out.splitlines()[0].split()) == "iso-a5 A5 (sheet size): 148 x 210 mm; ISO 216; half an A4"


def test_sizes_of_one_name_are_told_apart(run: Run) -> None:
    """Every 'Medium' has a line that says whose it was and when."""
    named = [one for one in run("find", "--kind", "sheet_size", "medium", "--json").json() if one["name"] == "Medium"]
    lines = {line.split()[0]: line for line in run("find", "--kind", "sheet_size", "medium").out.splitlines()}
    assert len({(one["system"], one["period"]) for one in named}) >= 6
    for one in named:
        assert f"; {one['system']}"[:20] in lines[one["id"]]
    assert "British traditional, traditional" not in run("show", "crown").out
    assert "current" not in run("find", "A5").out


def test_find_in_inches(run: Run) -> None:
    assert "8 1/2 x 11 in" in run("find", "letter", "--kind", "sheet_size", "--units", "in").out


def test_find_keeps_a_kind_and_a_limit(run: Run) -> None:
    found = run("find", "--kind", "thread", "linen", "--limit", "3", "--json").json()
    assert len(found) == 3
    assert {one["kind"] for one in found} == {"thread"}


def test_nothing_found_is_an_answer(run: Run) -> None:
    empty = run("find", "millbord", "--json")
    assert (empty.code, empty.json(), empty.err) == (0, [], "")
    text = run("find", "millbord")
    assert (text.code, text.err) == (0, "")
    assert text.out.startswith('nothing called "millbord"; near: Millboard')
    assert run("find", "qqqqq").out.startswith('nothing called "qqqqq"; try')


def test_lines_fit_the_screen(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for words in (["find", "linen"], ["find", "80 gsm copier"], ["caliper", "--grammage", "80"]):
        lines = run(*words).out.splitlines()
        assert lines
        assert max(map(len, lines)) <= 80


def test_show_names_every_source(run: Run) -> None:
    found = run("show", "copier", "--json").json()
    text = " ".join(run("show", "copier").out.split())
    assert len(found["sources"]) > 2
    for source in found["sources"]:
        assert f"[{source['id']}]" in text
    assert f"{found['readings']['count']} published pairs" in text


def test_show_turns_ids_into_names(run: Run) -> None:
    lines = [line.split(maxsplit=1) for line in run("show", "linen-30-3").out.splitlines()]
    assert ["fibre", "linen (flax)"] in lines
    assert ["count", "30"] in lines


def test_show_by_name_in_several_words(run: Run) -> None:
    assert run("show", "Copier", "paper", "--json").json()["id"] == "copier"


def test_show_refuses_what_is_not_there(run: Run) -> None:
    refused(run("show", "copyer"), "copyer", "matref show")
    refused(run("show"), "ID is missing")


# GNU units 2.22: 20 lb of 500 sheets 17 in x 22 in = 75.194607 g/m²; 4 oz/yd² = 135.62299 g/m².
@pytest.mark.parametrize(
    ("typed", "value", "unit", "text"),
    [
        ("20 lb bond", 75.194607, "g/m2", "75.19 g/m²"),
        ("4 oz/yd2", 135.62299, "g/m2", "135.6 g/m²"),
        ("10 pt", 254.0, "um", "254 µm"),
        ("needle 14", 0.9, "mm", "0.9 mm"),
    ],
)
def test_convert(run: Run, typed: str, value: float, unit: str, text: str) -> None:
    found = run("convert", typed, "--json").json()
    assert found["input"] == typed
    assert found["value"] == pytest.approx(value, rel=1e-7)
    assert found["unit"] == unit
    assert found["source"]["id"]
    assert run("convert", *typed.split()).out.startswith(text)


def test_convert_gives_every_meaning(run: Run) -> None:
    found = run("convert", "medium", "--json").json()
    text = " ".join(run("convert", "medium").out.split())
    assert len(found["also"]) >= 2
    for other in found["also"]:
        assert other["source"]["id"] in text
    assert "trade says" in text


def test_convert_refuses_in_one_line(run: Run) -> None:
    refused(run("convert", "forty", "winks"), "forty winks", "for example")
    refused(run("convert"), "TEXT is missing")
