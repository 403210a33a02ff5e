"""lay_out against enumeration, replayed cuts, grain and blade."""

from __future__ import annotations

import math
from collections import Counter
from itertools import product

import pytest
from cutting_replay import replay, sets_that_fit
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.book.cutting import Layouts, Part, Piece, Progress, lay_out
from matref.errors import BadInput


def check(done: Layouts, parts: list[Part], stock: list[Piece], blade_mm: float = 0.0) -> None:
    """Replay every sheet, count the parts, and check the grain of each."""
    out: Counter[int] = Counter()
    sizes = {i: (p.length_mm, p.width_mm) for i, p in enumerate(parts)}
    for sheet in done.sheets:
        piece = stock[sheet.stock]
        assert (sheet.layout.length_mm, sheet.layout.width_mm) == pytest.approx(
            (piece.length_mm, piece.width_mm), abs=2e-3
        )
        out += replay(sheet.layout, sizes, blade_mm)
        for placed in sheet.layout.placed:
            grain = parts[placed.piece].grain
            if grain == "either" or piece.grain == "either":
                continue
            assert piece.grain != "unknown"
            runs = "width" if placed.turned else "length"  # the part's side along the stock's length
            if piece.grain == "width":
                runs = "length" if runs == "width" else "width"
            assert grain == runs, "grain runs the wrong way"
    for index, count in Counter(sheet.stock for sheet in done.sheets).items():
        assert count <= stock[index].count
    left = dict(done.missing)
    assert {p.name: p.count - out[i] for i, p in enumerate(parts) if p.count != out[i]} == left
    assert done.area_mm2 == pytest.approx(sum(stock[s.stock].length_mm * stock[s.stock].width_mm for s in done.sheets))


grains = st.sampled_from(["length", "width", "either"])


@st.composite
def tiny_jobs(draw: st.DrawFn) -> tuple[list[Part], list[Piece]]:
    stock = [Piece(f"sheet {i}", draw(st.integers(3, 7)), draw(st.integers(3, 6)), 1, draw(grains)) for i in range(3)]
    parts = []
    for i in range(draw(st.integers(1, 3))):
        part = Part(
            f"part {i}", draw(st.integers(1, 4)), draw(st.integers(1, 4)), draw(st.integers(1, 2)), draw(grains)
        )
        if any(lying(part, piece) for piece in stock):
            parts.append(part)
    return parts or [Part("dot", 1, 1)], stock


def lying(part: Part, piece: Piece) -> list[tuple[int, int]]:
    a, b = int(part.length_mm), int(part.width_mm)
    free = "either" in (part.grain, piece.grain)
    ways = [(a, b), (b, a)] if free else [(a, b)] if part.grain == piece.grain else [(b, a)]
    return [way for way in ways if way[0] <= piece.length_mm and way[1] <= piece.width_mm]


@settings(max_examples=80, deadline=None)
@given(tiny_jobs(), st.integers(0, 1))
def test_tiny_jobs_against_enumeration(job: tuple[list[Part], list[Piece]], blade: int) -> None:
    parts, stock = job
    limits = [p.count for p in parts]
    per_sheet = [
        sets_that_fit(int(s.length_mm), int(s.width_mm), [lying(p, s) for p in parts], limits, blade) for s in stock
    ]
    least = math.inf
    for use in product([0, 1], repeat=len(stock)):
        reach = {tuple(0 for _ in limits)}
        for used, fits in zip(use, per_sheet, strict=True):
            if used:
                reach = {
                    tuple(min(a + b, m) for a, b, m in zip(one, two, limits, strict=True))
                    for one in reach
                    for two in fits
                }
        if tuple(limits) in reach:
            area = sum(s.length_mm * s.width_mm for s, used in zip(stock, use, strict=True) if used)
            least = min(least, area)
    done = lay_out(parts, stock, blade_mm=blade)
    check(done, parts, stock, blade)
    if done.missing:
        assert least == math.inf
        assert done.bound is None or not done.proved
    else:
        assert done.bound is not None
        assert done.bound <= least <= done.area_mm2
        if done.proved:
            assert done.area_mm2 == least


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.floats(20, 260), st.floats(20, 180), st.integers(1, 4), grains), min_size=1, max_size=7),
    st.lists(st.tuples(st.floats(270, 700), st.floats(270, 500), st.integers(1, 2), grains), min_size=1, max_size=4),
    st.sampled_from([0.0, 0.5]),
    st.integers(300, 8000),
)
def test_any_job_can_be_cut(
    rows: list[tuple[float, float, int, str]],
    sheets: list[tuple[float, float, int, str]],
    blade: float,
    steps: int,
) -> None:
    parts = [Part(f"part {i}", *row) for i, row in enumerate(rows)]
    stock = [Piece(f"remnant {i}", *sheet) for i, sheet in enumerate(sheets)]
    done = lay_out(parts, stock, blade_mm=blade, steps=steps)
    check(done, parts, stock, blade)
    assert 0 <= done.waste <= 1
    if not done.missing and done.bound is not None:
        assert done.bound <= done.area_mm2 * (1 + 1e-9)


def test_the_smallest_sheet_that_does_is_taken() -> None:
    stock = [Piece("chart", 841, 594), Piece("ledger leaf", 330, 210), Piece("strip", 900, 70)]
    done = lay_out([Part("endpaper", 160, 208, 2, "width")], stock)
    check(done, [Part("endpaper", 160, 208, 2, "width")], stock)
    assert [sheet.name for sheet in done.sheets] == ["chart"], "the grain forbids the ledger leaf"
    free = lay_out([Part("endpaper", 160, 208, 2)], stock)
    assert [sheet.name for sheet in free.sheets] == ["ledger leaf"]
    assert free.proved
    assert free.bound == free.area_mm2 == 330 * 210


def test_cost_can_count_instead_of_area() -> None:
    stock = [Piece("new board", 420, 297, price=3.0), Piece("salvaged board", 700, 500, price=0.5)]
    parts = [Part("board", 156, 104, 2)]
    assert [s.name for s in lay_out(parts, stock).sheets] == ["new board"]
    cheap = lay_out(parts, stock, least="cost")
    assert [s.name for s in cheap.sheets] == ["salvaged board"]
    assert (cheap.cost, cheap.bound, cheap.proved) == (0.5, 0.5, True)


def test_leftovers_are_few_and_large() -> None:
    parts = [Part("board", 150, 100, 4)]
    done = lay_out(parts, [Piece("greyboard", 700, 300)], keep_mm=50)
    check(done, parts, [Piece("greyboard", 700, 300)])
    assert done.offcuts[0][1].rect.area_mm2 >= 0.9 * (700 * 300 - 4 * 150 * 100)
    assert len(done.offcuts) == 1


def test_what_does_not_fit_is_listed() -> None:
    parts = [Part("leaf", 210, 148, 9)]
    stock = [Piece("sheet", 420, 297)]
    done = lay_out(parts, stock)
    check(done, parts, stock)
    assert done.missing == (("leaf", 5),)  # ISO 216: four A5 leaves from an A3 sheet
    assert done.proved
    assert done.bound is None


def test_iso_sizes_halve() -> None:
    """ISO 216: an A1 sheet (841 x 594) gives eight A4 leaves (297 x 210)."""
    parts = [Part("leaf", 297, 210, 24)]
    done = lay_out(parts, [Piece("A1", 841, 594, 20)])
    check(done, parts, [Piece("A1", 841, 594, 20)])
    assert len(done.sheets) == 3
    assert done.proved
    assert [s.name for s in done.sheets] == ["A1 (1 of 20)", "A1 (2 of 20)", "A1 (3 of 20)"]


def test_many_remnants_do_not_need_a_full_list_of_choices() -> None:
    parts = [Part("patch", 90, 60, 20)]
    stock = [Piece(f"remnant {i}", 100 + i, 130) for i in range(30)]
    done = lay_out(parts, stock)
    check(done, parts, stock)
    assert not done.missing
    assert len(done.sheets) <= 11
    assert done.bound is not None
    assert done.bound <= done.area_mm2


def test_notes_tell_of_nap_grain_and_blade() -> None:
    parts = [Part("velvet cover", 200, 150, 1, "length", nap=True), Part("lining", 100, 100)]
    stock = [Piece("velvet", 400, 300), Piece("mystery sheet", 200, 200, grain="unknown")]
    done = lay_out(parts, stock, blade_mm=0.5)
    text = " ".join(done.notes)
    assert "velvet cover" in text
    assert "unknown grain" in text
    assert "0.5 mm" in text
    assert "fingers" in text


def test_steps_are_words_for_a_knife_and_a_rule() -> None:
    done = lay_out([Part("board", 156, 104, 2)], [Piece("greyboard", 330, 160)])
    assert done.steps[0] == "greyboard"
    assert len(done.steps) == 1 + len(done.cuts)
    assert done.steps[1].startswith("1. the sheet, 330 x 160 mm: measure ")
    assert sum(line.count("board") for line in done.steps[1:]) == 2


JOB = [Part(f"part {i}", 60 + 13 * i % 110, 50 + 31 * i % 90, 2) for i in range(9)]
SHELF = [Piece(f"remnant {i}", 300 + 45 * i, 260 + 20 * i) for i in range(5)]


def test_interrupt_and_deadline_give_the_best_so_far() -> None:
    full = lay_out(JOB, SHELF)
    told: list[Progress] = []

    def stop(progress: Progress) -> None:
        told.append(progress)
        raise KeyboardInterrupt

    for some in (lay_out(JOB, SHELF, progress=stop), lay_out(JOB, SHELF, deadline_s=1e-6)):
        check(some, JOB, SHELF)
        assert some.missing or some.area_mm2 >= full.area_mm2
    assert len(told) == 1
    assert not lay_out(JOB, SHELF, progress=stop).proved


@pytest.mark.parametrize(
    ("parts", "stock", "words"),
    [
        ([], [Piece("a", 10, 10)], ["no parts"]),
        ([Part("p", 10, 10)], [], ["no stock"]),
        ([Part("cover", 500, 200)], [Piece("small", 300, 200), Piece("big", 420, 297)], ["'cover'", "'big'", "80 mm"]),
        (
            [Part("strip", 400, 200, 1, "width")],
            [Piece("cloth", 420, 297)],
            ["'strip'", "'cloth'", "against the grain"],
        ),
        ([Part("p", 10, 10, 1, "length")], [Piece("s", 50, 50, grain="unknown")], ["'p'", "unknown"]),
        ([Part("p", 10, 0)], [Piece("s", 50, 50)], ["width of part 'p', mm is 0"]),
        ([Part("p", math.nan, 5)], [Piece("s", 50, 50)], ["length of part 'p', mm is nan"]),
        ([Part("p", 5, 5)], [Piece("s", math.inf, 50)], ["length of stock 's', mm is inf"]),
        ([Part("p", 5, 5, 0)], [Piece("s", 50, 50)], ["count of part 'p' is 0"]),
        ([Part("p", 5, 5, 1, "diagonal")], [Piece("s", 50, 50)], ["grain of part 'p'", "diagonal"]),
        ([Part("p", 5, 5)], [Piece("s", 50, 50, 1, "round")], ["grain of stock 's'"]),
        ([Part("p", 5, 5, nap=True)], [Piece("s", 50, 50)], ["'p' has a nap"]),
        ([Part("p", 5, 5), Part("p", 6, 6)], [Piece("s", 50, 50)], ["'p' is listed twice"]),
        ([Part(" ", 5, 5)], [Piece("s", 50, 50)], ["name"]),
        ([Part("p", 5, 5)], [Piece("s", 50, 50, price=-1)], ["price of 's'"]),
    ],
)
def test_nonsense_is_refused_by_name(parts: list[Part], stock: list[Piece], words: list[str]) -> None:
    with pytest.raises(BadInput) as caught:
        lay_out(parts, stock)
    assert all(word in str(caught.value) for word in words), str(caught.value)
    assert "\n" not in str(caught.value)


def test_least_cost_needs_every_price() -> None:
    with pytest.raises(BadInput, match="price"):
        lay_out([Part("p", 5, 5)], [Piece("a", 50, 50, price=1), Piece("b", 50, 50)], least="cost")
    with pytest.raises(BadInput, match="least is 'waste'"):
        lay_out([Part("p", 5, 5)], [Piece("a", 50, 50)], least="waste")
