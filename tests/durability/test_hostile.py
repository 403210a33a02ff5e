"""Anything may be typed, posted, imported or planned: an answer or one plain line, never a traceback or a wait."""

from __future__ import annotations

import asyncio
import csv
import io
import json
import math
import shutil
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from command_line import Outcome
from durability.hostile import OFTEN, TEXTS, VALUES, cases, no_hang
from durability.scale import times, told
from durability.soundness import assert_nothing_half_counted, assert_sound
from hypothesis import example, given
from hypothesis import strategies as st

import matref
from matref import quantities
from matref.catalogue.grades import basis_factors, sheet_sizes
from matref.cli import main
from matref.errors import BadInput
from matref.finished import FinishedBooks
from matref.planning import starter
from matref.planning.schema import PIECES, PLAN_TABLES, SHOP
from matref.samples.importing import COLUMNS

TRIED: Counter[str] = Counter()
AMOUNTS = {
    "quantities": times(2500, 50_000),
    "evidence": times(500, 9000),
    "samples": times(250, 5000),
    "tables": times(900, 20_000),
    "plans": times(350, 6000),
    "pages": times(400, 8000),
    "records": times(250, 5000),
}


@pytest.fixture(scope="module")
def shop(compiled: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[matref.Workshop]:
    place = shutil.copy(compiled, tmp_path_factory.mktemp("hostile") / "matref.db")
    with matref.open(place) as opened:
        yield opened
    assert_sound(Path(place))
    assert_nothing_half_counted(Path(place))


def tried(what: str) -> None:
    TRIED[what] += 1


def one_line(error: BadInput) -> None:
    text = str(error)
    assert text.strip()
    assert "\n" not in text
    assert len(text) < 5000


def finite(found: object) -> None:
    """Assert that an answer holds no NaN and no infinity, and is JSON."""
    json.dumps(found, allow_nan=False)


# numbers


@pytest.fixture(scope="module")
def parsers(shop: matref.Workshop) -> dict[str, Callable[[Any], Any]]:
    factors, sizes = basis_factors(shop.connection), sheet_sizes(shop.connection)
    return {
        "length": quantities.parse_length,
        "thickness": quantities.parse_thickness,
        "mass": quantities.parse_mass,
        "count": quantities.parse_count,
        "percentage": lambda typed: quantities.parse_percentage(typed),
        "size": lambda typed: quantities.parse_size(typed, sizes),
        "grammage": lambda typed: quantities.parse_grammage(typed, factors),
    }


@cases(AMOUNTS["quantities"])
@given(typed=VALUES)
@example(typed="1" * 199 + "/" + "7" * 3)
@example(typed=10**4000)
def test_any_number_is_read_or_refused(parsers: dict[str, Callable[[Any], Any]], typed: Any) -> None:
    tried("quantities")
    for name, parse in parsers.items():
        try:
            with no_hang():
                found = parse(typed)
        except BadInput as error:
            one_line(error)
            continue
        numbers = (found.width_mm, found.height_mm) if name == "size" else (found.value, found.resolution)
        assert all(math.isfinite(n) and n >= 0 for n in numbers), (name, typed, found)


# the command line

EVIDENCE = ["class", "grammage", "size", "sheets", "mass", "scale-resolution", "stack-sheets", "stack", "book-pages"]
EVIDENCE += ["book-thickness", "book-mass", "level", "sample"]
GOOD = {"size": "A4", "sheets": "20", "mass": "98 g", "stack-sheets": "100", "stack": "10.5 mm", "grammage": "80"}
SAYABLE = TEXTS.filter(lambda text: "\x00" not in text)
TYPED = st.builds(
    lambda good, odd: {**{name: GOOD[name] for name in good}, **odd},
    st.sets(st.sampled_from(list(GOOD)), max_size=6),
    st.dictionaries(st.sampled_from(EVIDENCE), SAYABLE, max_size=3),
)


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> Outcome:
    capsys.readouterr()
    with no_hang():
        code = main([*arguments])
    outcome = Outcome(code, *capsys.readouterr())
    assert code in (0, 2), outcome
    if code:
        assert outcome.out == ""
        assert outcome.err.startswith("error: ")
        assert outcome.err.count("\n") == 1
        assert "Traceback" not in outcome.err
        assert "unexpected" not in outcome.err
    elif "--json" in arguments:
        outcome.json()
    return outcome


@cases(AMOUNTS["evidence"])
@given(typed=TYPED)
def test_any_evidence_is_answered_or_refused(
    compiled: Path, capsys: pytest.CaptureFixture[str], typed: dict[str, str]
) -> None:
    tried("evidence")
    words = [f"--{name}={text}" for name, text in typed.items()]
    called(capsys, "--db", str(compiled), "caliper", *words, "--json")


@cases(AMOUNTS["samples"])
@given(
    typed=TYPED.map(lambda typed: {n: t for n, t in typed.items() if n not in ("level", "sample")}),
    words=st.dictionaries(st.sampled_from(["label", "note", "measured-on", "same-as"]), SAYABLE, max_size=4),
)
def test_any_sample_is_kept_whole_or_refused(
    shop: matref.Workshop, capsys: pytest.CaptureFixture[str], typed: dict[str, str], words: dict[str, str]
) -> None:
    tried("samples")
    place = shop.connection.execute("PRAGMA database_list").fetchone()[2]
    before = shop.connection.execute("SELECT count(*) FROM sample").fetchone()[0]
    given_words = [f"--{name}={text}" for name, text in {**typed, **words}.items()]
    outcome = called(capsys, "--db", place, "sample", "add", *given_words, "--json")
    after = shop.connection.execute("SELECT count(*) FROM sample").fetchone()[0]
    assert after - before == (outcome.code == 0)
    if outcome.code == 0:
        kept = outcome.json()
        assert shop.samples.get(kept["id"]).as_json() == {**kept, "warnings": []}


# tables

SEPARATORS = st.sampled_from([",", ";", "\t", "|", ", "])
ENCODINGS = st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1", "utf-16-le", "utf-7", "cp500"])
HEADINGS = st.sampled_from([*COLUMNS, "class", "with", "Stack Sheets", "MASS", "price", "", "=id", "lable", '"'])
CELLS = SAYABLE | st.sampled_from(["A4", "20", "98 g", "98,5 g", "copier", "10,5 mm", "80", "ruler", "hand"])


@st.composite
def tables(draw: st.DrawFn) -> bytes:
    """Tables as programs might write them, good and bad."""
    separator = draw(SEPARATORS)
    heading = draw(st.lists(HEADINGS, min_size=1, max_size=8))
    if draw(st.booleans()):
        heading = ["label", "size", "sheets", "mass", *heading[:2]]
    lines = draw(st.lists(st.lists(CELLS, max_size=len(heading) + 1), max_size=6))
    out = io.StringIO()
    if draw(st.booleans()):
        writer = csv.writer(out, delimiter=separator[0], lineterminator=draw(st.sampled_from(["\n", "\r\n", "\r"])))
        writer.writerows([heading, *lines])
    else:
        out.write("\n".join(separator.join(line) for line in [heading, *lines]))
    content = out.getvalue().encode(draw(ENCODINGS), "replace")
    if draw(st.integers(0, 9)) == 0:
        content = content[: draw(st.integers(0, len(content)))] + draw(st.binary(max_size=8))
    return content


@cases(AMOUNTS["tables"])
@given(content=tables() | st.binary(max_size=200), apply=st.booleans())
def test_any_table_is_taken_whole_or_not_at_all(shop: matref.Workshop, content: bytes, apply: bool) -> None:
    tried("tables")
    before = shop.connection.execute("SELECT count(*) FROM sample").fetchone()[0]
    added = 0
    try:
        with no_hang():
            report = shop.samples.import_csv(io.BytesIO(content), apply=apply)
        finite(report.as_json())
        added = report.number("added") if report.applied else 0
        assert report.applied == apply
    except BadInput as error:
        one_line(error)
    assert shop.connection.execute("SELECT count(*) FROM sample").fetchone()[0] == before + added


# plans

PLAN = tomllib.loads(starter())
KEYS = [(table.path, name) for table in PLAN_TABLES for key in table.keys for name in key.names]
ROWS = {"pieces": PIECES, "shop": SHOP}


STRUCTURES = ["pamphlet", "soft-cover", "long-stitch", "link-stitch", "flat-back-case", "quarter-case", "rounded-case"]
ANYTHING = st.recursive(VALUES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3))


@cases(AMOUNTS["plans"])
@given(
    changes=st.lists(st.tuples(st.sampled_from(KEYS), VALUES | ANYTHING), max_size=3),
    shelf=st.dictionaries(
        st.sampled_from([(kind, name) for kind, table in ROWS.items() for key in table.keys for name in key.names]),
        VALUES,
        max_size=3,
    ),
    structure=st.sampled_from(STRUCTURES),
    extent=st.sampled_from([{}, {"sections": 1}, {"pages": 81}, {"sections": 400}, {"pages": 10**6}]),
)
def test_any_plan_is_planned_or_refused(
    shop: matref.Workshop,
    changes: list[tuple[tuple[str, str], Any]],
    shelf: dict[tuple[str, str], Any],
    structure: str,
    extent: dict[str, int],
) -> None:
    tried("plans")
    plan: dict[str, Any] = json.loads(json.dumps(PLAN, default=str))
    plan["book"]["structure"] = structure
    if extent:
        plan["book"] = {k: v for k, v in plan["book"].items() if k not in ("sections", "pages", "use")} | extent
    for (table, name), value in changes:
        if isinstance(plan.setdefault(table, {}), dict):
            plan[table][name] = value
    for (kind, name), value in shelf.items():
        stock = plan.setdefault("stock", {})
        stock[kind] = [{**(stock.get(kind) or [{}])[0], name: value}]
    try:
        with no_hang():
            found = shop.plan(plan)
        finite(found.as_json())
    except BadInput as error:
        one_line(error)


@pytest.mark.parametrize(
    "text",
    [
        "a" + ".a" * 490_000 + " = 1",
        "[" + "a." * 400_000 + "a]",
        "x = " + "[" * 900_000,
        "x = " + "[\n" * 400_000,
        "[[stock.pieces]]\n" * 55_000,
        "[[compare]]\n" * 55_000,
        "\n".join(f"k{i} = 1" for i in range(90_000)),
        "x = 1e99999",
        "[book]\npage_width_mm = nan",
        "[book]\npage_width_mm = " + "9" * 4999,
        "\ufeff[book]\n",
        "\x00",
    ],
    ids=lambda text: text[:20].encode("unicode_escape").decode(),
)
def test_hostile_plan_files(text: str, tmp_path: Path, compiled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "hostile.toml"
    place.write_text(text, encoding="utf-8")
    assert called(capsys, "--db", str(compiled), "plan", str(place)).code == 2


# the served pages

FIELDS = [
    "class",
    "grammage",
    "size",
    "sheets",
    "mass",
    "stack_sheets",
    "stack",
    "with",
    "held",
    "level",
    "sample",
    "note",
]
FIELDS += ["label", "measured_on", "same_as", "units", "action", "odd", "book_pages", "ream_mass", "start", "q", "id"]
FIELDS += [
    "book.structure",
    "book.page_width_mm",
    "book.sections",
    "paper.class",
    "sewing.thread",
    "cover.board_mm",
    "more",
]
PATHS = [
    "/-/pile",
    "/-/pile.json",
    "/-/samples",
    "/-/samples.json",
    "/-/samples/new",
    "/-/find.json",
    "/-/class/copier",
]
PATHS += ["/shelf/sample", "/shelf/readings.json", "/-/samples/nobody", "/-/samples/export.csv"]
PATHS += ["/-/book", "/-/book.json"]


class Pages:
    def __init__(self, place: Path) -> None:
        from matref.web.serve import datasette

        self.loop = asyncio.new_event_loop()
        app = datasette(place, host="127.0.0.1", secret="eight bells and all well").app()
        transport = httpx.ASGITransport(app=app, client=("127.0.0.1", 50000))
        self.client = httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8001")

    def get(self, path: str, **options: Any) -> httpx.Response:
        return self.loop.run_until_complete(self.client.get(path, **options))

    def post(self, path: str, **options: Any) -> httpx.Response:
        return self.loop.run_until_complete(self.client.post(path, **options))


@pytest.fixture(scope="module")
def pages(compiled: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pages]:
    place = Path(shutil.copy(compiled, tmp_path_factory.mktemp("pages") / "matref.db"))
    opened = Pages(place)
    yield opened
    opened.loop.run_until_complete(opened.client.aclose())
    opened.loop.close()
    assert_sound(place)


@cases(AMOUNTS["pages"])
@given(
    path=st.sampled_from(PATHS),
    fields=st.dictionaries(st.sampled_from(FIELDS), TEXTS, max_size=6),
    body=st.dictionaries(st.sampled_from(FIELDS), ANYTHING, max_size=6) | ANYTHING,
    raw=st.binary(max_size=60),
)
def test_anything_sent_gets_an_answer(pages: Pages, path: str, fields: dict[str, str], body: Any, raw: bytes) -> None:
    tried("pages")
    encodable = {name: text.encode("utf-8", "replace").decode() for name, text in fields.items()}
    with no_hang():
        answers = [pages.get(path, params=encodable)]
        headers = {"content-type": "application/json"}
        for sent in (json.dumps(body, default=str).encode("utf-8", "replace"), raw):
            answers += [pages.post(p, content=sent, headers=headers) for p in ("/-/pile.json", "/-/samples.json")]
        answers.append(pages.post("/-/samples/import.json", data={"pasted": encodable.get("note", "label\nx")}))
    for answer in answers:
        assert answer.status_code in (200, 201, 302, 400, 403, 404, 405, 413, 414), answer.text
        assert "Traceback" not in answer.text


# records


@cases(AMOUNTS["records"])
@given(
    fields=st.dictionaries(
        st.sampled_from(
            ["fore_edge_mm", "spine_mm", "sheets_per_section", "sections", "thread", "caliper_um", "label"]
        ),
        VALUES,
        max_size=4,
    ),
    stock=st.dictionaries(st.sampled_from(["count", "grain", "price", "label", "note", "sample", "entry"]), VALUES),
    size=TEXTS,
)
def test_any_record_is_kept_or_refused(
    shop: matref.Workshop, fields: dict[str, Any], stock: dict[str, Any], size: str
) -> None:
    tried("records")
    book = {"sheets_per_section": 4, "sections": 8, "thread": "30/3 linen", "caliper_um": 104, "fore_edge_mm": 6.4}
    for keep in (
        lambda: FinishedBooks(shop.connection).add(**{**book, **fields}),
        lambda: shop.stock.add("cloth", size, **stock),
    ):
        try:
            with no_hang():
                finite(keep().as_json())
        except BadInput as error:
            one_line(error)
    books = FinishedBooks(shop.connection)
    for done in books.list():
        books.remove(done.id)


def test_enough_was_tried() -> None:
    assert sum(AMOUNTS.values()) >= times(5000, 100_000)
    if set(TRIED) == set(AMOUNTS):  # all of this file was run
        assert sum(TRIED.values()) >= times(5000, 100_000)
    told(f"cases tried: {dict(TRIED)}, {sum(TRIED.values())} in all")


def test_the_odd_words_are_words() -> None:
    assert len(OFTEN) == len(set(OFTEN))
