"""stock: put on the shelf, listed, taken off; a plan cuts from it; nonsense leaves it as it was."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Run, refused

import matref

LOFT = (
    "stock", "add", "--material", "paper", "--size", "A4", "--count", "60", "--grain", "long", "--label", "loft pile"
)  # fmt: skip
SAILCLOTH = ("stock", "add", "--material", "cloth", "--size", "24 x 18 in", "--grain", "long")


def test_add_list_show_against_the_python_call(run: Run, shop: Path) -> None:
    added = run(*LOFT, "--price", "0.02", "--note", "dry, no mould", "--json").json()
    assert (added["width_mm"], added["height_mm"]) == (210, 297)  # ISO 216
    assert (added["count"], added["grain"], added["price"]) == (60, "long", 0.02)
    with matref.open(shop) as workshop:
        assert [pile.as_json() for pile in workshop.stock.list()] == [added]
    assert run("stock", "list", "--json").json() == [added]
    assert run("stock", "show", "loft pile", "--json").json() == added
    assert run("stock", "show", added["id"], "--json").json() == added
    text = run("stock", "show", "loft pile").out
    for words in ("60 x 210 x 297 mm", "grain long", "0.02 each", "dry, no mould", added["id"]):
        assert words in text


def test_a_list_in_words_and_by_material(run: Run) -> None:
    assert "stock add" in run("stock", "list").out
    run(*LOFT)
    cloth = run(*SAILCLOTH, "--json").json()
    assert (cloth["width_mm"], cloth["height_mm"]) == pytest.approx((609.6, 457.2))  # 25.4 mm to the inch
    assert [one["id"] for one in run("stock", "list", "--material", "cloth", "--json").json()] == [cloth["id"]]
    lines = run("stock", "list").out.splitlines()
    assert len(lines) == 2
    assert "1 x 609.6 x 457.2 mm" in lines[1]
    assert "1 x 24 x 18 in" in run("stock", "list", "--units", "in").out
    assert "grain not known" in run("stock", "add", "--material", "card", "--size", "A3").out


def test_pieces_are_taken_off_until_none_is_left(run: Run) -> None:
    run(*LOFT)
    assert run("stock", "remove", "loft pile", "--count", "24").out == "loft pile: 36 left\n"
    assert run("stock", "remove", "loft pile", "--json").json()["count"] == 0
    assert run("stock", "list", "--json").json() == []
    refused(run("stock", "remove", "loft pile"), "no pile called")


def test_a_pile_of_a_sample_is_what_a_plan_takes(run: Run, shop: Path) -> None:
    """What the shelf knows of a pile, the plan need not say: its leaves, their size, its paper."""
    sample = run(
        "sample", "add", "--label", "tide tables", "--class", "bond_writing", "--size", "A4", "--sheets", "20",
        "--mass", "98 g", "--json",
    ).json()  # fmt: skip
    assert run(*LOFT, "--sample", "tide tables", "--json").json()["sample"] == sample["id"]
    run(*SAILCLOTH, "--label", "sailcloth offcut")
    (shop.parent / "logbook.toml").write_text(
        """[book]
structure = "soft-cover"
page_width_mm = 95
page_height_mm = 140
sections = 5
sheets_per_section = 4
[paper]
pile = "loft pile"
[cover]
cloth_mm = 0.4
card_mm = 0.3
""",
        encoding="utf-8",
    )
    plan = run("plan", "logbook.toml", "--json").json()
    assert plan["text_block"]["paper"] == "loft pile"
    assert plan["cutting"]["sheets_per_leaf"] >= 1
    (cloth,) = (line for line in plan["shopping"] if line["role"] == "cloth")
    assert cloth["from_shelf"] == ["sailcloth offcut"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--size", "A4"), ["--material"]),
        (("--material", "cloth"), ["--size"]),
        (("--material", "rope", "--size", "A4"), ["rope", "cloth"]),
        (("--material", "cloth", "--size", "large"), ["large"]),
        (("--material", "cloth", "--size", "3 x 4"), ["no unit"]),
        (("--material", "cloth", "--size", "A4", "--count", "0"), ["a count of 0"]),
        (("--material", "cloth", "--size", "A4", "--count", "1.5"), ["1.5"]),
        (("--material", "cloth", "--size", "A4", "--grain", "up"), ["up", "long"]),
        (("--material", "cloth", "--size", "A4", "--price", "-1"), ["a price of -1"]),
        (("--material", "cloth", "--size", "A4", "--price", "nan"), ["a price of nan"]),
        (("--material", "cloth", "--size", "A4", "--sample", "nobody"), ["no sample called"]),
        (("--material", "cloth", "--size", "A4", "--label", "x" * 81), ["81 characters", "80 at most"]),
    ],
)
def test_bad_input_is_one_line_and_keeps_nothing(run: Run, arguments: tuple[str, ...], words: list[str]) -> None:
    refused(run("stock", "add", *arguments), *words)
    assert run("stock", "list", "--json").json() == []


def test_too_many_pieces_and_unknown_names(run: Run) -> None:
    run(*LOFT)
    refused(run("stock", "remove", "loft pile", "--count", "61"), "61 pieces off loft pile, which has 60")
    refused(run("stock", "show", "loft pill"), "near: loft pile")
    refused(run("stock", "romove"), "no stock command", "near: remove")
    assert run("stock", "show", "loft pile", "--json").json()["count"] == 60
