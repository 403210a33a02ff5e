"""caliper: the same answer as the Python API, short words for people, one line for what makes no sense."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from command_line import Run, refused

import matref

# A pile of old tide tables, invented: 20 sheets of A4 on a kitchen scale, 100 sheets under a ruler.
PILE = ("--size", "A4", "--sheets", "20", "--mass", "98 g", "--stack-sheets", "100", "--stack", "10.5 mm")


def test_json_is_the_answer_of_the_api(run: Run, shop: Path) -> None:
    found = run("caliper", *PILE, "--json").json()
    with matref.open(shop) as workshop:
        answer = workshop.caliper(size="A4", sheets=20, mass="98 g", stack_sheets=100, stack="10.5 mm")
    assert found == answer.as_json()
    assert {"caliper_um", "bulk_cm3_g", "grammage_gsm", "level", "classes", "rests_on", "advice", "warnings"} <= set(
        found
    )


def test_the_grammage_is_that_of_the_weighing(run: Run) -> None:
    """20 sheets of 210 mm x 297 mm (ISO 216) weighing 98 g have 98 / (20 · 0.06237) = 78.6 g/m²."""
    found = run("caliper", *PILE, "--json").json()["grammage_gsm"]
    assert found["low"] < 98 / (20 * 0.210 * 0.297) < found["high"]


def test_text_says_number_range_reasons_and_the_next_measurement(run: Run) -> None:
    found = run("caliper", *PILE, "--json").json()
    text = run("caliper", *PILE).out
    first = re.match(r"Caliper +(\d+) µm \((\d+) to (\d+), 90 times in 100\)\n", text)
    assert first
    for group, key in zip(first.groups(), ("value", "low", "high"), strict=True):
        assert float(group) == pytest.approx(found["caliper_um"][key], abs=0.51)
    flat = " ".join(text.split())
    for word in ("Bulk", "Grammage", "Likely", "Why so wide", "Rests on", "Next"):
        assert word in flat
    assert found["advice"][0]["measure"] in flat
    assert found["classes"][0]["name"] in flat
    assert found["why"][0]["cause"] in flat


def test_inches(run: Run) -> None:
    found = run("caliper", *PILE, "--json").json()["caliper_um"]["value"]
    text = run("--units", "in", "caliper", *PILE).out
    shown = re.match(r"Caliper +([\d.]+) in", text)
    assert shown
    assert float(shown[1]) == pytest.approx(found / 25400, abs=0.00011)


def test_a_class_named_tells_pile_from_average(run: Run) -> None:
    found = run("caliper", "--class", "copier", "--grammage", "80", "--json").json()
    mean, pile = found["class_mean_caliper_um"], found["caliper_um"]
    assert pile["low"] < mean["low"] < mean["high"] < pile["high"]
    assert "on average" in run("caliper", "--class", "copier", "--grammage", "80").out


def test_several_classes(run: Run) -> None:
    together = run("caliper", "--class", "ledger,copier", "--grammage", "80", "--json").json()
    apart = run("caliper", "--class", "ledger", "--class", "copier", "--grammage", "80", "--json").json()
    assert together == apart
    assert {one["class"] for one in together["classes"]} == {"ledger", "copier"}


def test_level(run: Run) -> None:
    wide = run("caliper", *PILE, "--level", "0.99", "--json").json()["caliper_um"]
    usual = run("caliper", *PILE, "--json").json()["caliper_um"]
    assert wide["low"] < usual["low"] < usual["high"] < wide["high"]
    assert run("caliper", *PILE, "--level", "99%", "--json").json()["caliper_um"] == wide
    assert "99 times in 100" in run("caliper", *PILE, "--level", "99 %").out


def test_target_says_how_many_sheets(run: Run) -> None:
    found = run("caliper", "--grammage", "90", "--target", "5%", "--json").json()
    reached = [one for one in found["targets"] if one["sheets"]]
    assert reached
    assert all(one["half_width_pct"] <= 5 for one in reached)
    text = " ".join(run("caliper", "--grammage", "90", "--target", "5").out.split())
    assert f"{reached[0]['measure']}: {reached[0]['sheets']} sheet" in text
    assert "cannot" in text  # weighing alone never gives a thickness to 5 %
    assert run("caliper", "--grammage", "90", "--json").json()["targets"] == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), ("at least one",)),
        (("--stack-sheets", "0", "--stack", "10 mm"), ("0", "sheets")),
        (("--stack-sheets", "-5", "--stack", "10 mm"), ("-5",)),
        (("--grammage", "-80"), ("-80",)),
        (("--grammage", "9e9"), ()),
        (("--grammage", "nan"), ()),
        (("--grammage", "80 furlongs"), ("furlongs",)),
        (("--class", "copyer"), ("copyer", "copier")),
        (("--class", "tissue", "--stack-sheets", "10", "--stack", "20 mm"), ()),
        (("--mass", "98 g"), ("--size", "--sheets")),
        (("--size", "A4"), ("--size",)),
        (("--with", "vernier"), ("--stack",)),
        (("--with", "tape", *PILE), ("--with", "ruler", "for example: matref caliper")),
        (("--level", "2", *PILE), ("level",)),
        (("--level", "sure", *PILE), ("--level",)),
        (("--target", "0", *PILE), ("--target",)),
        (("--target", "-3%", *PILE), ("--target",)),
        (("--grammge", "80"), ("--grammge", "near: --grammage")),
        (("--sample", "no-such-sample"), ("no-such-sample",)),
        (("copier",), ("copier",)),
        (("--stack",), ("--stack",)),
    ],
)
def test_nonsense_is_refused_in_one_line(
    run: Run, shop: Path, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    before = shop.read_bytes()
    refused(run("caliper", *arguments), *words)
    refused(run("caliper", *arguments, "--json"), *words)
    assert shop.read_bytes() == before
