"""Plan files as read: every mistake is one line with the path of its key."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matref.errors import BadInput, FileTrouble
from matref.planning import schema
from matref.planning.document import Document, read_document
from matref.planning.keys import Length

WRONG: list[tuple[dict[Any, Any], tuple[str, ...]]] = [
    ({"book": {"page_widht_mm": 100}}, ("book.page_widht_mm", "nearest is page_width_mm")),
    ({"bok": {}}, ("bok", "nearest is book")),
    ({"bindery": {}}, ("bindery", "[sewing]")),
    ({"structure": "pamphlet"}, ("structure", "belongs in [book]")),
    ({"book": {"square_mm": 3}}, ("book.square_mm", "belongs in [cover]")),
    ({"book": {"page_width_mm": 100, "page_width_in": 4}}, ("book.page_width_in", "page_width_mm")),
    ({"book": {"page_width_mm": "four"}}, ("book.page_width_mm", "'four'")),
    ({"book": {"page_width_mm": True}}, ("book.page_width_mm", "a length")),
    ({"book": {"page_width_mm": [100]}}, ("book.page_width_mm", "a length")),
    ({"book": {"page_width_mm": float("nan")}}, ("book.page_width_mm",)),
    ({"book": {"page_width_mm": float("inf")}}, ("book.page_width_mm",)),
    ({"book": {"page_width_mm": 10**400}}, ("book.page_width_mm",)),
    ({"book": {"page_width_mm": 0}}, ("book.page_width_mm", "outside")),
    ({"book": {"page_width_mm": -100}}, ("book.page_width_mm", "negative")),
    ({"book": {"page_width_mm": 5000}}, ("book.page_width_mm", "10 to 2000")),
    ({"book": {"page_width_mm": "98 g"}}, ("book.page_width_mm", "mass")),
    ({"book": {"page_width_mm": ""}}, ("book.page_width_mm", "nothing")),
    ({"book": {"sections": 2.5}}, ("book.sections", "whole")),
    ({"book": {"sections": 0}}, ("book.sections",)),
    ({"book": {"sections": "five"}}, ("book.sections",)),
    ({"book": {"structure": "softcover"}}, ("book.structure", "near: soft-cover")),
    ({"book": {"structure": 3}}, ("book.structure",)),
    ({"book": {"use": "half the pile"}}, ("book.use", "whole pile")),
    ({"book": {"pressed": 1}}, ("book.pressed", "true or false")),
    ({"book": {"level": 90}}, ("book.level", "0.5 to 0.999")),
    ({"book": {"title": "log\nbook"}}, ("book.title",)),
    ({"book": "soft-cover"}, ("book", "[book]")),
    ({"book": {1: 2}}, ("book.1",)),
    ({1: 2}, ("1: no such table",)),
    ({"paper": {"mass_g": "3 mm"}}, ("paper.mass_g", "length")),
    ({"paper": {"class": []}}, ("paper.class",)),
    ({"paper": {"class": ["copier", 3]}}, ("paper.class",)),
    ({"paper": {"with": "callipers"}}, ("paper.with", "micrometer")),
    ({"paper": {"size": "A44"}}, ("paper.size",)),
    ({"paper": {"caliper_um": "0"}}, ("paper.caliper_um",)),
    ({"cover": {"turn_inn_mm": 3}}, ("cover.turn_inn_mm", "nearest is turn_in_mm")),
    ({"cover": {"board_mm": 25}}, ("cover.board_mm",)),
    ({"sewing": {"by": "hands"}}, ("sewing.by", "hand")),
    ({"sewing": {"pitch_mm": 0}}, ("sewing.pitch_mm",)),
    ({"stock": {"pieces": {"material": "cloth"}}}, ("stock.pieces", "[[stock.pieces]]")),
    ({"stock": {"pieces": ["cloth"]}}, ("stock.pieces.1",)),
    ({"stock": {"pieces": [{"material": "clothe"}]}}, ("stock.pieces.1.material", "near: cloth")),
    ({"stock": {"pieces": [{"size": "3 x 4"}]}}, ("stock.pieces.1.size", "unit")),
    ({"stock": {"pieces": [{}] * 101}}, ("stock.pieces", "at most 100")),
    ({"stock": {"shop": [{}, {"prise": 3}]}}, ("stock.shop.2.prise", "nearest is price")),
    ({"stock": {"shop": [{"price": -1}]}}, ("stock.shop.1.price",)),
    ({"compare": [{"paper": {"colour": "blue"}}]}, ("compare.1", "paper.colour")),
    ({"compare": [{"papers": {}}]}, ("compare.1.papers", "nearest is paper")),
    ({"compare": "thread"}, ("compare",)),
]


@pytest.mark.parametrize(("plan", "words"), WRONG)
def test_one_line_with_the_path(plan: dict[Any, Any], words: tuple[str, ...]) -> None:
    with pytest.raises(BadInput) as caught:
        read_document(plan)
    line = str(caught.value)
    assert "\n" not in line
    assert len(line) < 600
    for word in words:
        assert word in line


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"[book]\npage_width_mm : 100\n", ("is not TOML", "line 2")),
        (b"[book]\n[book]\n", ("is not TOML",)),
        (b"\xff\xfe\x00", ("not UTF-8",)),
        (b"x = " + b"[" * 4000, ("is not TOML",)),
        (b"x = " + b"[" * 5000, ("a line of more than 5000 characters",)),
        (b"# " + b"x" * 1_000_001, ("too large",)),
        (b"book.page_width_mm = 1979-05-27\n", ("book.page_width_mm", "a length")),
    ],
)
def test_files_that_are_no_plan(tmp_path: Path, content: bytes, words: tuple[str, ...]) -> None:
    place = tmp_path / "plan.toml"
    place.write_bytes(content)
    with pytest.raises(BadInput) as caught:
        read_document(place)
    for word in words:
        assert word in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match="does not exist"):
        read_document(tmp_path / "none.toml")
    with pytest.raises(FileTrouble, match="cannot be read"):
        read_document(tmp_path)


def test_a_file_is_named_by_its_title_or_its_name(tmp_path: Path) -> None:
    place = tmp_path / "harbour.toml"
    place.write_text("[book]\n", encoding="utf-8-sig")  # a byte order mark, as some editors write
    assert read_document(place).name == "harbour"
    assert read_document({"book": {"title": "tide log"}}).name == "tide log"


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ({"page_width_in": 4}, 101.6),
        ({"page_width_in": "4 1/8"}, 104.775),
        ({"page_width_mm": "4 in"}, 101.6),
        ({"page_width_in": "101.6 mm"}, 101.6),
        ({"page_width_mm": "10,16 cm"}, 101.6),
        ({"page_width_mm": "1/3 ft"}, 101.6),
    ],
)
def test_lengths_in_any_unit(written: dict[str, Any], mm: float) -> None:
    """International inch of 25.4 mm (1959)."""
    assert read_document({"book": written}).book.mm("page_width_mm") == pytest.approx(mm, abs=1e-12)


def test_every_length_has_its_inches() -> None:
    """The contract: `*_in` works as well as `*_mm` for every length."""
    for table in schema.TABLES:
        for name in table.names:
            if name.endswith("_mm"):
                assert name.removesuffix("_mm") + "_in" in table.names, name


def test_the_step_of_a_length_is_kept() -> None:
    assert read_document({"cover": {"board_mm": 2.5}}).cover.length("board_mm") == Length(2.5, 0.1)
    step = read_document({"cover": {"board_mm": "3/32 in"}}).cover.length("board_mm")
    assert step is not None
    assert step.step_mm == pytest.approx(25.4 / 32)


def test_quantities_of_the_evidence_stay_as_typed() -> None:
    paper = read_document(
        {"paper": {"grammage": "20 lb bond", "mass_g": 98, "stack_in": 0.5, "caliper_mm": 0.104}}
    ).paper
    assert paper.typed("grammage_gsm") == "20 lb bond"
    assert paper.typed("mass_g") == "98 g"
    assert paper.typed("stack_mm") == "0.5 in"
    assert paper.typed("caliper_um") == "0.104 mm"


def test_a_candidate_takes_the_place_of_what_it_names() -> None:
    plan = {
        "book": {"title": "log", "sections": 5, "page_width_mm": 100},
        "paper": {"class": "copier"},
        "sewing": {"thread": "0.5 mm", "by": "hand"},
        "compare": [
            {"name": "other", "book": {"pages": 80, "page_width_in": 4}, "sewing": {"thread": "0.3 mm"}},
            {"paper": {"caliper_um": 90}},
        ],
    }
    first, second = read_document(plan).candidates
    assert (first.name, second.name) == ("other", "candidate 2")
    assert first.book.given == {"pages": 80, "page_width_mm": first.book.length("page_width_mm")}
    assert first.book.mm("page_width_mm") == pytest.approx(101.6)
    assert first.sewing.given == {"thread": "0.3 mm", "by": "hand"}
    assert first.paper.given == {"class": "copier"}
    assert second.paper.given == {"caliper_um": "90 um"}  # a paper replaces the whole table
    assert second.book.whole("sections") == 5


def _one_line(error: BadInput) -> None:
    assert "\n" not in str(error)
    assert str(error).isprintable()


_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12) | st.binary(max_size=3),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8) | st.integers(), inner, max_size=3),
    max_leaves=8,
)
_NAMES = st.sampled_from([name for table in schema.TABLES for name in table.names] + ["pieces", "shop"])
_TABLE_NAMES = st.sampled_from(["book", "paper", "cover", "sewing", "stock", "compare", "x"])
_TABLES = st.dictionaries(_NAMES | st.text(max_size=5), _VALUES, max_size=4)


@settings(max_examples=400, deadline=None)
@given(
    st.dictionaries(_TABLE_NAMES | st.text(max_size=4), _TABLES | _VALUES | st.lists(_TABLES, max_size=2), max_size=4)
)
def test_any_mapping_is_read_or_refused_in_one_line(plan: dict[str, Any]) -> None:
    try:
        assert isinstance(read_document(plan), Document)
    except BadInput as error:
        _one_line(error)
