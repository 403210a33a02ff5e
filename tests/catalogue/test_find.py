"""Search: what a maker types finds the thing meant, and nothing typed acts as query syntax."""

# ruff: noqa: F401, F811 - fixtures are imported by name

from __future__ import annotations

import sqlite3
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packaged_catalogue import catalogue, scratch

from matref.catalogue.rows import KINDS, fetch, fold, names_of, said, split_list
from matref.catalogue.search import find, near
from matref.errors import BadInput


def first(connection: sqlite3.Connection, words: str, kind: str | None = None) -> tuple[str, str]:
    found = find(connection, words, kind)
    return found[0]["kind"], found[0]["id"]


@pytest.mark.parametrize(
    ("words", "kind", "entry_id"),
    [
        ("copier", "material_class", "copier"),
        ("copier paper", "material_class", "copier"),
        ("photocopy paper", "material_class", "copier"),
        ("A5", "sheet_size", "iso-a5"),
        ("a5", "sheet_size", "iso-a5"),
        ("DIN A4", "sheet_size", "iso-a4"),
        ("18/3 linen", "thread", "linen-18-3"),
        ("linen thread 18/3", "thread", "linen-18-3"),
        ("linen 25/3", "thread", "linen-25-3"),
        ("needle 14", "needle", "machine-90"),
        ("needle 90/14", "needle", "machine-90"),
        ("duck 10", "fabric", "duck.10"),
        ("2/0 duck", "fabric", "duck.naught-2"),
        ("2 mm greyboard", "board", "greyboard.2.0mm"),
        ("greyboard 2,0 mm", "board", "greyboard.2.0mm"),
        ("swell", "term", "swell"),
        ("kettle", "term", "kettle-stitch"),
        ("denim", "material_class", "denim"),
        ("iron", "unit", "iron"),
        ("linen-18-3", "thread", "linen-18-3"),
    ],
)
def test_the_thing_meant_comes_first(catalogue: sqlite3.Connection, words: str, kind: str, entry_id: str) -> None:
    assert first(catalogue, words) == (kind, entry_id)


@pytest.mark.parametrize(
    ("typed", "same"),
    [
        ("gsm", "grammage"),
        ("thickness", "caliper"),
        ("signature", "section"),
        ("super", "mull"),
        ("interlining", "interfacing"),
    ],
)
def test_trade_synonyms_find_the_same_term(catalogue: sqlite3.Connection, typed: str, same: str) -> None:
    assert same in [entry["name"] for entry in find(catalogue, typed) if entry["kind"] == "term"]


@pytest.mark.parametrize("typed", ["card", "cardstock"])
def test_card_by_any_name(catalogue: sqlite3.Connection, typed: str) -> None:
    assert first(catalogue, typed)[0] == "material_class"
    assert "cover_uncoated" in [entry["id"] for entry in find(catalogue, typed)]


def test_synonyms_come_from_the_glossary_not_from_code(scratch: sqlite3.Connection) -> None:
    assert find(scratch, "flotsamboard") == []
    with scratch:
        scratch.execute("UPDATE term SET synonyms = 'flotsamboard' WHERE id = 'swell'")
    assert "swell" in [entry["id"] for entry in find(scratch, "flotsamboard")]


def test_a_find_is_plain_and_sourced(catalogue: sqlite3.Connection) -> None:
    entry = find(catalogue, "greyboard 2.0 mm")[0]
    assert list(entry)[:3] == ["id", "kind", "name"]
    assert list(entry)[-1] == "source"
    assert (entry["thickness_mm"], entry["grammage_gsm"]) == (2.0, 1290.0)
    assert set(entry["source"]) <= {"id", "title", "year"}
    assert entry["source"]["title"]
    assert None not in entry.values()
    assert "" not in entry.values()


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_listed_with_its_sources(catalogue: sqlite3.Connection, kind: str) -> None:
    found = find(catalogue, "", kind, limit=5000)
    (count,) = catalogue.execute(f'SELECT count(*) FROM "{kind}"').fetchone()
    assert len(found) == count > 0
    assert {entry["kind"] for entry in found} == {kind}
    assert all(entry["name"] and entry["source"]["id"] for entry in found)


def test_kinds_of_their_own_do_not_hide_the_entrys_kind(catalogue: sqlite3.Connection) -> None:
    assert find(catalogue, "newsprint", "reading")[0]["reading_kind"] in ("specified", "nominal", "measured")
    assert find(catalogue, "Bookbinding", "source")[0]["source_kind"]
    assert find(catalogue, "needle 14", "needle")[0]["needle_kind"] == "size"


def test_kind_and_limit_narrow(catalogue: sqlite3.Connection) -> None:
    assert {entry["kind"] for entry in find(catalogue, "linen", "thread")} == {"thread"}
    assert len(find(catalogue, "paper", limit=3)) == 3
    assert find(catalogue, "paper", limit=3) == find(catalogue, "paper", limit=10)[:3]


def test_a_number_sorts_and_does_not_exclude(catalogue: sqlite3.Connection) -> None:
    found = find(catalogue, "80 gsm copier")
    assert found[0]["kind"] == "reading"
    assert found[0]["grammage_gsm"] == pytest.approx(80, rel=0.011)
    assert ("material_class", "copier") in [(entry["kind"], entry["id"]) for entry in found]


@pytest.mark.parametrize("words", ["300 gsm", "300gsm", "300 g/m2", "300 g/m²"])
def test_a_measure_alone_finds_what_has_it(catalogue: sqlite3.Connection, words: str) -> None:
    found = find(catalogue, words)
    assert len(found) == 20
    for entry in found[:10]:
        assert entry.get("grammage_gsm", entry.get("mass_gsm")) == pytest.approx(300, rel=0.011)


def test_inches_and_points_find_millimetres(catalogue: sqlite3.Connection) -> None:
    for words in ("0.125 in mat board", "125 pt mat board", "3.175 mm mat board"):
        assert first(catalogue, words) == ("board", "mat-board.8-ply")


def test_a_measure_within_a_range(catalogue: sqlite3.Connection) -> None:
    found = find(catalogue, "1.2 mm greyboard", limit=50)
    assert found[0]["id"] == "greyboard.1.2mm"
    ranged = next(entry for entry in found if entry["id"] == "greyboard.uk-craft")
    assert ranged["thickness_low_mm"] < 1.2 < ranged["thickness_high_mm"]


def test_plurals_prefixes_and_accents(catalogue: sqlite3.Connection) -> None:
    assert first(catalogue, "needles")[0] == "needle"
    assert first(catalogue, "newspr") == ("material_class", "newsprint")
    assert "buckram" in find(catalogue, "BÜCKRAM")[0]["name"].lower()


def test_words_all_count(catalogue: sqlite3.Connection) -> None:
    assert find(catalogue, "linen zzyzx") == []


SYNTAX = ['"', '""', "'", "*", "-", "^", ":", "(", ")", "{a b}", "+", "AND", "OR", "NOT", "NEAR(", "NEAR(a b, 2)"]


@pytest.mark.parametrize("syntax", SYNTAX)
@pytest.mark.parametrize("shape", ["{}", "{} linen", "linen {}", "linen{}", "{}linen", "name:{}", '"linen {}'])
def test_query_syntax_is_inert(catalogue: sqlite3.Connection, syntax: str, shape: str) -> None:
    try:
        found = find(catalogue, shape.format(syntax))
    except BadInput as refusal:
        assert "nothing to look for" in str(refusal)  # noqa: PT017 - either outcome is right
    else:
        assert isinstance(found, list)


def test_operators_are_words(catalogue: sqlite3.Connection) -> None:
    assert find(catalogue, "linen NOT thread") != find(catalogue, "linen")
    assert find(catalogue, "linen OR zzyzx") == []
    assert find(catalogue, "kind : thread zzyzx") == []
    assert find(catalogue, "linen -thread") == find(catalogue, "linen thread")
    assert find(catalogue, '"linen" "thread"') == find(catalogue, "linen thread")


@settings(deadline=None)
@given(st.text(max_size=80))
def test_any_text_gives_a_list_or_a_reason(catalogue: sqlite3.Connection, words: str) -> None:
    try:
        found = find(catalogue, words)
    except BadInput:
        assert not fold(words)
        return
    assert len(found) <= 20
    assert all(isinstance(name, str) for name in near(catalogue, words))


PIECES = st.sampled_from(
    ["linen", "80", "gsm", "18/3", "0", "1e30", "½", "mm", "-1", "9" * 60, "a" * 60, "*", '"', "\0"]
)


@settings(deadline=None)
@given(st.lists(PIECES, max_size=8).map(" ".join))
def test_mixtures_of_numbers_units_and_words(catalogue: sqlite3.Connection, words: str) -> None:
    try:
        found = find(catalogue, words)
    except BadInput:
        return
    keys = [(entry["kind"], entry["id"]) for entry in found]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize(
    ("words", "kind", "limit", "reason"),
    [
        ("", None, 20, "nothing to look for"),
        (" *** ", None, 20, "nothing to look for"),
        ("linen", "codebook", 20, "no kind"),
        ("linen", "thread; DROP TABLE thread", 20, "no kind"),
        ("linen", None, 0, "limit"),
        ("x" * 201, None, 20, "characters"),
    ],
)
def test_refusals(catalogue: sqlite3.Connection, words: str, kind: str | None, limit: int, reason: str) -> None:
    with pytest.raises(BadInput, match=reason) as caught:
        find(catalogue, words, kind, limit)
    assert "for example" in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("buckrum", "buckram"),
        ("kopier", "copier"),
        ("foolscop", "foolscap"),
        ("lineen thread", "linen"),
        ("sewel", "swell"),
    ],
)
def test_near_names_for_a_slip(catalogue: sqlite3.Connection, typed: str, meant: str) -> None:
    assert find(catalogue, typed) == []
    suggestions = near(catalogue, typed)
    assert any(meant in name.lower() for name in suggestions)
    assert len(suggestions) <= 5


def test_a_suggestion_finds_something(catalogue: sqlite3.Connection) -> None:
    for typed in ("buckrum", "kopier", "needel", "foolscop"):
        assert all(find(catalogue, name) for name in near(catalogue, typed))


def test_near_nothing(catalogue: sqlite3.Connection) -> None:
    assert near(catalogue, "") == []
    assert near(catalogue, "***") == []
    assert near(catalogue, "zzyzxqqj") == []


def test_search_reads_and_never_writes(catalogue: sqlite3.Connection) -> None:
    before = catalogue.total_changes
    find(catalogue, "linen")
    near(catalogue, "lenin")
    assert catalogue.total_changes == before
    assert not catalogue.in_transaction


def test_rows_come_by_column_name_whatever_the_row_factory(scratch: sqlite3.Connection) -> None:
    plain = find(scratch, "A5")
    scratch.row_factory = sqlite3.Row
    assert find(scratch, "A5") == plain
    assert scratch.row_factory is sqlite3.Row
    assert "synonyms" not in fetch(scratch, "SELECT id, NULL AS synonyms FROM term LIMIT 1")[0]


def test_names_and_lists() -> None:
    assert names_of({"id": "x", "term": "mull", "synonyms": "super; crash"}) == ["mull", "super", "crash"]
    assert names_of({"id": "x"}) == ["x"]
    assert split_list("") == []
    assert said({"note": 3}, "flag", "note") == "3"
    assert fold("Appliqué ½ 10³") == ("applique", "1", "2", "103")


def test_look_up_starts_without_heavy_libraries() -> None:
    code = (
        "import sys, matref.catalogue.convert, matref.catalogue.search, matref.catalogue.show\n"
        "print({'numpy', 'scipy', 'pandas', 'sqlite_utils', 'datasette'} & set(sys.modules) or 'light')"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "light"
