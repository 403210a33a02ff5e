"""Plans of cases: what is taken where nothing is named, tapes to buy, and text, JSON and sheet saying the same."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from matref.api import Workshop
from matref.bench.content import sheet_of_work
from matref.cli.plan_text import as_text
from matref.planning import PlannedBook

INCH = 25.4
CASES = ["flat-back-case", "quarter-case", "rounded-case"]
BOOK = {"page_width_mm": 148, "page_height_mm": 210, "sections": 12, "sheets_per_section": 4}


def planned(workshop: Workshop, name: str = "flat-back-case", /, **tables: Any) -> PlannedBook:
    book = {**BOOK, "structure": name, **tables.pop("book", {})}
    return workshop.plan({"book": book, "paper": {"caliper_um": 104}, **tables})


def test_a_rounded_back_gets_an_inlay_that_bends(workshop: Workshop) -> None:
    """Roberts & Etherington, "inlay": stiff paper of 0.012 to 0.025 in; the boards are 2.5 mm."""
    found = planned(workshop, "rounded-case", cover={"board_mm": 2.5, "cloth": "book_cloth", "cloth_mm": 0.35})
    inlay = next(part for part in found.parts if part.name.startswith("spine inlay"))
    card = found.materials["card"]
    assert inlay.material == card.name != found.materials["board"].name
    thickness = [card.thickness_mm.quantile(p) for p in (0, 0.5, 1)]
    assert thickness[0] == pytest.approx(0.012 * INCH)
    assert thickness[2] == pytest.approx(0.025 * INCH)
    assert any("no card is named" in said and "0.3 to 0.6 mm" in said for said in found.assumed)
    assert any("spine_piece.inlay.roberts" in support.words for support in found.rests_on)
    board = found.need("board")
    assert board is not None
    assert [part.name for part in board.parts] == ["board"]
    assert not [w for w in found.warnings if "follow the round" in w]
    flat = next(part for part in planned(workshop).parts if part.name == "spine piece")
    assert flat.material.startswith("board")


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize(
    "paper", [{"class": "bible_thin", "grammage_gsm": 40}, {"class": "watercolour", "grammage_gsm": 300}]
)
def test_endpapers_are_not_of_whatever_the_text_is_of(workshop: Workshop, name: str, paper: dict[str, Any]) -> None:
    """McColl 2021 (material.grammage.endpaper): endpapers of 90 to 170 g/m², cartridge being the everyday one."""
    found = planned(workshop, name, paper=paper)
    endpaper = found.materials["endpaper"]
    assert 90 <= endpaper.grammage_gsm.quantile(0.001) < endpaper.grammage_gsm.quantile(0.999) <= 170
    assert 0.1 < endpaper.layer.thickness_mm < 0.3
    (said,) = [said for said in found.assumed if "no endpaper" in said]
    assert "cartridge" in said
    assert "90 to 170 g/m²" in said
    assert any("material.grammage.endpaper" in support.words for support in found.rests_on)
    own = planned(workshop, name, paper=paper, cover={"endpaper": "text"})
    assert own.materials["endpaper"].name == own.plan.paper
    assert not [said for said in own.assumed if "endpaper" in said]


@pytest.mark.parametrize("name", CASES)
def test_tapes_are_on_every_list(workshop: Workshop, name: str) -> None:
    """Canadian library rule: three tapes from 20 to 30 cm; an inch or two on to each board."""
    found = planned(workshop, name)
    tapes = found.stitching.tapes
    assert tapes.count == 3
    plain = json.loads(json.dumps(found.as_json(), allow_nan=False))
    (line,) = [line for line in plain["shopping"] if line["role"] == "tape"]
    assert line["buy"]["amount"] == pytest.approx(3 * tapes.length_mm)
    assert plain["stitching"]["tapes"]["length_mm"] == tapes.length_mm
    pieces = f"3 pieces of {tapes.length_mm:g} mm"
    assert pieces in line["buy"]["words"]
    assert pieces in " ".join(as_text(found, "mm").split())
    sheet = sheet_of_work(plain, "mm")
    assert any(pieces in need for need in sheet.needs)
    assert any("3 tapes 12.5 mm wide" in text for what, text in sheet.facts if what == "Sewing")
    assert "mm" not in next(need for need in sheet_of_work(plain, "in").needs if need.startswith("tape"))
    soft = workshop.plan({"book": {**BOOK, "structure": "soft-cover", "sections": 5}, "paper": {"caliper_um": 104}})
    assert soft.tape is None
    assert not [line for line in soft.as_json()["shopping"] if line["role"] == "tape"]


def test_tape_is_paid_by_the_roll(workshop: Workshop) -> None:
    """Three tapes of less than 12 cm come off one roll of 1 m, off four rolls of 0.1 m."""
    roll = {"material": "tape", "name": "cotton tape", "length_m": 1, "price": 0.8}
    one = planned(workshop, stock={"currency": "EUR", "shop": [roll]})
    assert one.tape is not None
    assert one.cost is not None
    assert (one.tape.amount, one.tape.unit, one.tape.cost) == (1, "rolls", 0.8)
    assert one.cost.to_buy == pytest.approx(0.8)
    assert "cotton tape" not in one.cost.unpriced
    short = planned(workshop, stock={"shop": [{**roll, "length_m": 0.1}]})
    assert short.tape is not None
    assert short.tape.amount == -(-3 * one.stitching.tapes.length_mm // 100)


@pytest.mark.parametrize("name", CASES)
def test_a_thin_back_says_the_same_everywhere(workshop: Workshop, name: str) -> None:
    found = planned(workshop, name, book={"sections": 1}, sewing={"two_on": True})
    assert not [part for part in found.parts if part.name.startswith("spine") or part.name == "back lining"]
    text, sheet = " ".join(as_text(found, "mm").split()), sheet_of_work(found.as_json(), "mm")
    words = "too narrow to cut a spine piece or a lining"
    assert words in text
    assert any(words in said for said in sheet.warnings)
    assert not [said for said in found.assumed if said.startswith(("no lining", "no card"))]
    assert "lining" not in found.materials
    assert "two-on finds no pair" in text
    assert not [said for said in found.warnings if "would bring it down" in said and "two-on" in said]
    assert not [note for note in found.stitching.notes if note.startswith("two-on")]


@pytest.mark.parametrize("sections", [4, 8, 9])
def test_two_on_says_what_it_counts(workshop: Workshop, sections: int) -> None:
    """Threads by the words of the note, against the swell: each adds φ·d, learnt here from the book all along."""

    def book(**sewing: Any) -> PlannedBook:
        return planned(workshop, book={"sections": sections}, sewing={"thread": "0.4 mm", **sewing})

    plain, two_on = book(), book(two_on=True)
    each = plain.spine.swell_mm.value / (sections + 2)
    (note,) = [note for note in two_on.stitching.notes if note.startswith("two-on")]
    pairs = int(re.search(r"(\d+) sections in pairs", note)[1])  # type: ignore[index]
    threads = pairs / 2 + (sections - pairs) + 2
    assert two_on.spine.swell_mm.value == pytest.approx(threads * each)
    tails = 2 * 100
    thread = two_on.stitching.thread_length_mm - tails
    assert thread / (plain.stitching.thread_length_mm - tails) == pytest.approx(threads / (sections + 2))


@pytest.mark.parametrize("name", CASES)
def test_endpapers_to_cut_and_to_find_are_as_wide_as_the_sheets(workshop: Workshop, name: str) -> None:
    found = planned(workshop, name, book={"trim_head_tail": True})
    need = found.need("endpaper")
    assert need is not None
    (part,) = need.parts
    assert part.width_mm >= found.sheet.width_mm
    assert part.length_mm >= found.sheet.height_mm == 216
    page = f"{found.sheet.width_mm:.1f} x {found.sheet.height_mm:g} mm"
    assert f"endpaper, folded once, {page}" in " ".join(as_text(found, "mm").split())
