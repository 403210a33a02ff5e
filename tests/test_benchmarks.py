"""The benchmarks run as one command, count no refusal as an answer, and keep nothing that names a machine."""

from __future__ import annotations

import importlib.util
import platform
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib import import_module
from pathlib import Path
from types import ModuleType
from urllib.parse import parse_qs, urlsplit

import load
import many_samples
import pytest
from serving import QUESTIONS, TURNS, questions
from table import HEADINGS, Limit, Row, as_text, at_least, at_most, broken_off, in_time

import matref
from matref import workshop
from matref.web import desk

FOLDER = Path(__file__).with_name("benchmarks")
RESULTS = FOLDER / "RESULTS.md"
_OWN_ADDRESSES = ("/-/", "/shelf/")


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, str(FOLDER), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, encoding="utf-8")


def lines_of(text: str) -> list[list[str]]:
    """The cells of the table's rows, without its heading."""
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in text.splitlines() if line[:2] == "| "][
        1:
    ]


def in_seconds(text: str) -> float:
    number, unit = text.split()
    return float(number) * {"s": 1.0, "ms": 1e-3, "µs": 1e-6}[unit]


@pytest.fixture(scope="module")
def command() -> ModuleType:
    spec = importlib.util.spec_from_file_location("benchmarks_command", FOLDER / "__main__.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_one_part_from_end_to_end() -> None:
    done = run("predict")
    assert done.returncode in (0, 1), done.stderr
    found = lines_of(done.stdout)
    assert len(found) == 2, done.stderr
    for cells in found:
        part, _, value, _, its_value, ratio, limit, kept = cells[:8]
        assert part == "predict"
        assert float(ratio) == pytest.approx(in_seconds(value) / in_seconds(its_value), rel=0.02)
        assert limit == "at most 5"
        assert kept == ("yes" if float(ratio) <= 5 else "NO")
    assert (done.returncode == 1) == any(cells[7] == "NO" for cells in found)


@pytest.mark.parametrize(("arguments", "said"), [(["tides"], "no part tides"), (["--keep", "predict"], "whole run")])
def test_what_cannot_be_asked(arguments: list[str], said: str) -> None:
    before = RESULTS.read_bytes()
    done = run(*arguments)
    assert done.returncode == 2
    assert said in done.stderr
    assert RESULTS.read_bytes() == before


def test_every_part_can_be_imported(command: ModuleType) -> None:
    for name in command.PARTS.values():
        assert callable(import_module(name).rows)


def test_a_part_that_breaks_off_keeps_no_limit(command: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    def rows() -> Iterator[Row]:
        yield Row("a leaf", "1 s", "another", "1 s", 1.0)
        raise OSError("no /such/place")

    monkeypatch.setattr("predicting.rows", rows)
    first, last = command.measured("predict")
    assert first.kept is None
    assert last.kept is False
    assert "/such" not in as_text([("predict", last)])


def test_the_table_says_what_was_kept() -> None:
    made = [
        Row("a", "3 s", "b", "2 s", 1.5, at_most(2), "note"),
        Row("a", "5 s", "b", "2 s", 2.5, at_most(2)),
        Row("a", "1 s", "b", "2 s", 0.5, at_least(1)),
        Row("a", "1 s", "b", "2 s", 0.5, Limit("half", 0.5, 0.5)),
        Row("a", "1 s", "b", "2 s", 0.5),
        broken_off(ValueError("x")),
    ]
    text = as_text([("part", row) for row in made])
    assert [cells[7] for cells in lines_of(text)] == ["yes", "NO", "NO", "yes", "", "NO"]
    assert len({len(line) for line in text.splitlines()}) == 1
    assert in_time(0.0005) == "500 µs"
    assert in_time(1200) == "1200 s"


def test_questions_differ_and_are_good_ones() -> None:
    from matref.web.fields import fill
    from matref.web.pile import estimate

    asked = questions(QUESTIONS * TURNS)
    assert len(set(asked)) == QUESTIONS * TURNS
    assert QUESTIONS > desk._MOST_KEPT  # asked in turn, none is still kept when its turn comes again
    with matref.open(":memory:") as shop:
        for path in asked[:60]:
            filled = fill(parse_qs(urlsplit(path).query), "mm", strict=True)
            assert estimate(shop, filled) is not None, (path, filled.errors, filled.general)


def test_a_filled_file_is_like_one_that_a_person_filled(tmp_path: Path) -> None:
    place = tmp_path / "many.db"
    many_samples.make(place, 300)
    assert workshop.check(place).ok
    with matref.open(place) as shop:
        one = shop.connection.execute
        by_class = dict(one("SELECT class_id, count(*) FROM sample GROUP BY class_id").fetchall())
        assert by_class == {"ledger": 30, "copier": 210, "newsprint": 60}
        assert one("SELECT count(DISTINCT pile_id) FROM sample").fetchone()[0] == 270
        assert one("SELECT count(*) FROM pile_line").fetchone()[0] == 270
        assert one("SELECT count(*) FROM held_both_ways").fetchone()[0] == 30
        assert one("SELECT count(DISTINCT added_at) FROM sample").fetchone()[0] == 300
        copy = one("SELECT id FROM sample WHERE label = 'invented 0, 2'").fetchone()[0]
        assert shop.samples.edit(copy, mass="119 g").grammage_gsm.value == pytest.approx(119 / 20 / 0.06237, rel=1e-3)


class _Answers(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        good = self.path.startswith("/leaf")
        self.server.asked.add(self.path)  # type: ignore[attr-defined]
        self.send_response(200 if good else 404)
        self.send_header("content-length", "2")
        self.end_headers()
        self.wfile.write(b"ok")

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def server() -> Iterator[ThreadingHTTPServer]:
    made = ThreadingHTTPServer(("127.0.0.1", 0), _Answers)
    made.daemon_threads = True
    made.asked = set()  # type: ignore[attr-defined]
    thread = threading.Thread(target=made.serve_forever)
    thread.start()
    yield made
    made.shutdown()
    thread.join()
    made.server_close()


@pytest.mark.parametrize("press", [load.press, load._by_threads])
def test_load_asks_for_all_and_takes_no_refusal(press: object, server: ThreadingHTTPServer) -> None:
    assert callable(press)
    paths = [f"/leaf/{i}" for i in range(40)]
    found = press(server.server_port, paths, 1)
    assert found.per_second > 0
    assert 0 < found.p50_s <= found.p95_s
    assert server.asked == set(paths)  # type: ignore[attr-defined]
    with pytest.raises(RuntimeError, match=r"/leaf/0|/nowhere"):
        press(server.server_port, [*paths, "/nowhere"], 1)


def test_the_kept_results_name_no_machine(command: ModuleType) -> None:
    text = RESULTS.read_text(encoding="utf-8")
    for path in re.findall(r"(?:^|[\s`'\"(|])(/[\w.-]+/?)", text, re.MULTILINE):
        assert path.startswith(_OWN_ADDRESSES), path
    assert not re.search(r"[A-Za-z]:\\|~/", text)
    facts = dict(re.findall(r"^- ([^:]+): (.+)$", text, re.MULTILINE))
    assert list(facts) == list(command.described())
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", facts["date"])
    assert not any(
        re.search(rf"\b{re.escape(platform.node())}\b", words) for words in facts.values() if platform.node()
    )
    assert facts["data"].startswith("edition ")


def test_the_kept_results_are_of_every_part(command: ModuleType) -> None:
    found = lines_of(RESULTS.read_text(encoding="utf-8"))
    assert {len(cells) for cells in found} == {len(HEADINGS)}
    assert list(dict.fromkeys(cells[0] for cells in found)) == list(command.PARTS)
