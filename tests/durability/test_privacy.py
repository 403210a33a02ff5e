"""Notes and prices are a person's own: they leave the file only when that is asked for."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from command_line import Run
from durability.test_hostile import Pages

import matref
from matref.finished import FinishedBooks

SECRET = "behind the compass locker"
PRICE = 1234.5


@pytest.fixture
def noted(place: Path) -> Path:
    """A file with a note or a price in every table that can hold one, former versions included."""
    with matref.open(place) as shop:
        kept = shop.samples.add("chart paper", SECRET, size="A4", sheets=20, mass="98 g")
        shop.samples.edit(kept.id, note=SECRET + " again")
        shop.stock.add("cloth", "600 x 450 mm", price=PRICE, note=SECRET)
        FinishedBooks(shop.connection).add(
            sheets_per_section=4, sections=8, thread="30/3 linen", caliper_um=104, fore_edge_mm=6.4, note=SECRET
        )
    return place


@pytest.fixture
def pages(noted: Path) -> Iterator[Pages]:
    opened = Pages(noted)
    yield opened
    opened.loop.run_until_complete(opened.client.aclose())
    opened.loop.close()


def test_every_personal_column_of_words_or_money_is_hidden(noted: Path, pages: Pages) -> None:
    """Every table and view, by every way Datasette has of showing one."""
    with matref.open(noted) as shop:
        names = [
            name
            for (name,) in shop.connection.execute(
                "SELECT name FROM sqlite_schema WHERE type IN ('table', 'view') AND name NOT LIKE 'sqlite_%'"
            ).fetchall()
        ]
    for name in names:
        for path in (
            f"/shelf/{name}",
            f"/shelf/{name}.json",
            f"/shelf/{name}.csv",
            f"/shelf.json?sql=select+*+from+[{name}]",
        ):
            text = pages.get(path).text
            assert "compass locker" not in text, path
            assert "1234.5" not in text, path
    for sql in ("select hex(note) from stock", "select price * 2 from stock", "select max(note) from sample_history"):
        answer = pages.get("/shelf.json", params={"sql": sql, "_shape": "arrays"}).json()
        assert answer["rows"][0][0] in (None, ""), sql


def test_exports_leave_notes_out_unless_asked(run: Run, noted: Path, tmp_path: Path) -> None:
    db = ("--db", str(noted))
    assert run(*db, "sample", "export", str(tmp_path / "plain.csv")).code == 0
    assert SECRET not in (tmp_path / "plain.csv").read_text(encoding="utf-8")
    assert run(*db, "sample", "export", str(tmp_path / "all.csv"), "--notes").code == 0
    assert SECRET in (tmp_path / "all.csv").read_text(encoding="utf-8")


def test_estimates_carry_no_notes(noted: Path) -> None:
    with matref.open(noted) as shop:
        answer = shop.caliper(sample="chart paper").as_json()
        assert "compass" not in json.dumps(answer)
        text = io.StringIO()
        shop.samples.export_csv(text)
        assert "compass" not in text.getvalue()
