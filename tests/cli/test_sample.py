"""sample: kept at once, counted at once, taken back exactly; tables in and out."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from command_line import Run, refused

from matref.samples.importing import COLUMNS

# A pile of old tide tables, invented.
WEIGHED = ("--size", "A4", "--sheets", "20", "--mass", "98 g")
TIDES = ("sample", "add", "--label", "tide tables", "--class", "bond_writing", *WEIGHED)
GAUGED = ("--stack-sheets", "1", "--stack", "0.104 mm", "--with", "micrometer")


def test_add_then_list_then_show(run: Run) -> None:
    added = run(*TIDES, "--note", "crate 3", "--json").json()
    assert added["grammage_gsm"]["value"] == pytest.approx(98 / (20 * 0.210 * 0.297))  # ISO 216: A4 is 210 x 297 mm
    assert added["as_typed"]["mass"] == "98 g"
    assert added["parsed"]["mass_g"] == 98
    listed = run("sample", "list", "--json").json()
    assert [one["id"] for one in listed] == [added["id"]]
    shown = run("sample", "show", "tide tables", "--json").json()
    assert shown["id"] == added["id"]
    assert shown["history"] == []
    text = run("sample", "show", added["id"]).out
    for word in ("tide tables", "98 g", "78.6 ± 0.4 g/m²", "crate 3"):
        assert word in text
    assert "tide tables" in run("sample", "list").out


def test_an_empty_list_says_how_to_begin(run: Run) -> None:
    assert run("sample", "list", "--json").json() == []
    assert "matref sample add" in run("sample", "list").out


def test_a_sample_counts_until_it_is_removed(run: Run) -> None:
    ask = ("caliper", "--class", "bond_writing", "--grammage", "78.6", "--json")
    before = run(*ask).json()
    thick = run(*TIDES, "--stack-sheets", "1", "--stack", "0.130 mm", "--with", "micrometer", "--json").json()
    during = run(*ask).json()
    assert during["caliper_um"]["value"] > before["caliper_um"]["value"]
    assert any(one["kind"] == "samples" for one in during["rests_on"])
    removed = run("sample", "remove", thick["id"])
    assert removed.code == 0
    assert f"sample restore {thick['id']}" in removed.out
    assert run(*ask).json() == before
    assert run("sample", "list", "--json").json() == []
    assert len(run("sample", "list", "--all", "--json").json()) == 1
    assert "(removed)" in run("sample", "list", "--all").out
    assert run("sample", "restore", thick["id"]).code == 0
    assert run(*ask).json() == during


def test_caliper_of_a_sample(run: Run) -> None:
    run(*TIDES, *GAUGED)
    own = run("caliper", "--sample", "tide tables", "--json").json()
    assert own["caliper_um"]["low"] < 104 < own["caliper_um"]["high"]
    same = run("caliper", "--class", "bond_writing", *WEIGHED, "--json").json()
    assert own["caliper_um"]["high"] - own["caliper_um"]["low"] < same["caliper_um"]["high"] - same["caliper_um"]["low"]


def test_edit_keeps_what_was_said_before(run: Run) -> None:
    run(*TIDES)
    changed = run("sample", "edit", "tide tables", "--sheets", "21", "--json").json()
    assert changed["grammage_gsm"]["value"] == pytest.approx(98 / (21 * 0.210 * 0.297))
    shown = run("sample", "show", "tide tables", "--json").json()
    assert [version["as_typed"]["sheets"] for version in shown["history"]] == ["20"]
    assert "sheets 20" in run("sample", "show", "tide tables").out
    cleared = run("sample", "edit", "tide tables", "--class", "", "--json").json()
    assert cleared["class"] is None


def test_out_and_in_again(run: Run, tmp_path: Path) -> None:
    run(*TIDES, *GAUGED, "--note", "found behind the stove")
    run("sample", "add", "--label", "Kanzleipapier, Größe 2", "--grammage", "90", *GAUGED)
    table = tmp_path / "loft.csv"
    assert run("sample", "export", str(table), "--json").json() == {"file": str(table), "samples": 2}
    assert "stove" not in table.read_text(encoding="utf-8")
    refused(run("sample", "export", str(table)), "loft.csv")
    assert run("sample", "export", str(table), "--overwrite", "--notes").code == 0
    assert "stove" in table.read_text(encoding="utf-8")
    before = run("sample", "list", "--json").json()
    other = ("--db", str(tmp_path / "other.db"))
    shop_copy = run("sample", "import", str(table), *other, "--json").json()
    assert (shop_copy["applied"], shop_copy["added"]) == (True, 2)
    there = run("sample", "list", *other, "--json").json()
    for mine, theirs in zip(before, there, strict=True):
        for name in ("id", "label", "as_typed", "parsed", "grammage_gsm", "caliper_um", "note"):
            assert mine[name] == theirs[name], name
    again = run("sample", "import", str(table), *other)
    assert again.code == 0
    assert "0 added, 2 here already" in again.out


def test_the_help_names_every_column_of_a_table(run: Run) -> None:
    told = run("sample", "import", "--help").out.partition("in any order:")[2].partition(".")[0].replace("\n", " ")
    assert {name.strip() for name in told.split(",")} == {
        {"paper_class": "class", "with_": "with"}.get(c, c) for c in COLUMNS
    }


def test_a_bad_table_changes_nothing(run: Run, tmp_path: Path) -> None:
    table = tmp_path / "loft.csv"
    with table.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(
            [["label", "size", "sheets", "mass"], ["good", "A4", "20", "98 g"], ["bad", "A4", "0", "98 g"]]
        )
    refused(run("sample", "import", str(table)), "line 3", "nothing imported")
    assert run("sample", "list", "--json").json() == []
    checked = run("sample", "import", str(table), "--check", "--json").json()
    assert (checked["applied"], checked["added"], checked["refused"]) == (False, 1, 1)
    text = run("sample", "import", str(table), "--check").out
    assert "1 would be added" in text
    assert "line 3 refused" in text
    assert run("sample", "list", "--json").json() == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("add", "--label", "nothing measured"), ()),
        (("add", "--label", "x", "--sheets", "-3", "--size", "A4", "--mass", "98 g"), ("-3",)),
        (("add", *WEIGHED, "--measured-on", "31/12/2023"), ("31/12/2023",)),
        (("add", *WEIGHED, "--class", "copyer"), ("copyer", "copier")),
        (("add", *WEIGHED, "--same-as", "nobody"), ("nobody",)),
        (("show", "nobody"), ("nobody",)),
        (("edit", "nobody", "--label", "x"), ("nobody",)),
        (("remove", "nobody"), ("nobody",)),
        (("restore", "nobody"), ("nobody",)),
        (("remove",), ("ID is missing",)),
        (("list", "--class", "copyer"), ("copyer",)),
        (("import", "none.csv"), ("none.csv",)),
        (("export", "no such folder/loft.csv"), ("loft.csv",)),
        (("lst",), ("near: list",)),
    ],
)
def test_nonsense_is_refused_in_one_line(run: Run, arguments: tuple[str, ...], words: tuple[str, ...]) -> None:
    refused(run("sample", *arguments), *words)
    assert run("sample", "list", "--all", "--json").json() == []
