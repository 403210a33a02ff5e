"""plan --pdf, --svg, --html: what is written is the sheet of the same plan, or nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Run, refused

import matref
from matref.bench import plan_svg, sheet_of_work_html
from matref.demo import demo

DEMO = ("plan", "--demo", "pocket-logbook")


def test_files_of_a_plan(run: Run, shop: Path) -> None:
    outcome = run(*DEMO, "--pdf", "book.pdf", "--svg", "book.svg", "--html", "book.html")
    assert outcome.code == 0, outcome
    assert outcome.out.endswith("Written: book.pdf\nWritten: book.svg\nWritten: book.html\n")
    with matref.open(shop) as workshop:
        plan = workshop.plan(demo("pocket-logbook"))
    assert (shop.parent / "book.svg").read_text(encoding="utf-8") == plan_svg(plan)
    assert (shop.parent / "book.html").read_text(encoding="utf-8") == sheet_of_work_html(plan)
    assert (shop.parent / "book.pdf").read_bytes().startswith(b"%PDF")


def test_page_and_units_reach_the_pdf(run: Run, shop: Path) -> None:
    sizes = []
    for more in ((), ("--page", "letter"), ("--units", "in")):
        assert run(*DEMO, "--pdf", "book.pdf", *more, "--json").json()["title"] == "pocket logbook"
        sizes.append((shop.parent / "book.pdf").read_bytes())
    assert len(set(sizes)) == 3
    assert b"/MediaBox [ 0 0 612 792 ]" in sizes[1]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--demo", "pocket-logbook", "--page", "A4"), ["--page without --pdf"]),
        (("--demo", "pocket-logbook", "--pdf", "a", "--html", "a"), ["asked for twice"]),
        (("--starter", "s.toml", "--pdf", "a.pdf"), ["one plan"]),
        (("--demo", "pocket-logbook", "--page", "A7", "--pdf", "a.pdf"), ["--page", "letter"]),
        (("--demo", "pocket-logbook", "--pdf", "no such folder/a.pdf"), ["cannot be written"]),
        (("missing.toml", "--pdf", "a.pdf"), ["missing.toml"]),
    ],
)
def test_refusals_write_nothing(run: Run, shop: Path, arguments: tuple[str, ...], words: list[str]) -> None:
    refused(run("plan", *arguments), *words)
    assert [path.name for path in shop.parent.iterdir() if not path.name.startswith("matref.db")] == []
