"""The pieces of work that are killed, and what must hold afterwards. Run by `python -m durability.jobs`.

Each job goes through the command line's own code (or the served pages), prints what it acknowledges, and is judged by
what the file then holds: everything acknowledged, nothing by halves.
"""

from __future__ import annotations

import asyncio
import json
import random
import shutil
import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

from durability.attack import Heard, attack
from durability.soundness import PERSONAL, assert_nothing_half_counted, assert_sound, assert_tidies_up, rows

import matref.api
import matref.catalogue.compile
import matref.cli.finished
import matref.cli.sample
import matref.cli.upkeep
import matref.finished.books
import matref.samples.exporting
import matref.samples.importing
import matref.workshop
from matref.cli import main
from matref.migrations import MIGRATIONS

MARK = b"<writing>\n"
ROWS = 10_000


class Job:
    """A piece of work on a file in `folder`, made from the compiled file `shop`. `writes`: acknowledged and checked."""

    marked_share = 0.0
    """Of the kills, how many are timed from when the work says MARK; the others from its start."""

    def __init__(self, folder: Path, shop: Path, chance: random.Random) -> None:
        self.folder, self.shop, self.chance = folder, shop, chance
        self.place = folder / "matref.db"
        self.writes = self.kills = self.ended = self.unanswered = 0

    def prepare(self) -> None:
        """Set the scene before each kill."""
        if not self.place.exists():
            shutil.copy(self.shop, self.place)

    def work(self) -> None:
        """Do it, in the process that is killed."""
        raise NotImplementedError

    def judge(self, heard: Heard) -> None:
        """Look at the file after a kill."""
        raise NotImplementedError

    def end(self) -> None:
        """Look once more after the last kill."""

    def run(self, kills: int) -> dict[str, int]:
        """Kill it so often, at moments spread evenly over its course."""
        self.prepare()
        whole = attack(self.work, None, MARK)  # to know how long it takes
        assert not whole.killed
        self.judge(whole)
        tries = 0
        while self.kills < kills:
            tries += 1
            assert tries < 6 * kills + 20, "the work is over before it can be killed"
            self.prepare()
            marked = self.chance.random() < self.marked_share
            span = whole.after_mark if marked else whole.seconds
            heard = attack(self.work, self.chance.uniform(0, max(span, 0.02)), MARK if marked else b"")
            complaint = heard.complaint.replace(MARK, b"")
            assert complaint == b"", complaint.decode(errors="replace")
            if heard.killed:
                self.kills += 1
            else:
                self.ended += 1
                whole = heard if marked else replace(heard, after_mark=whole.after_mark)
            self.judge(heard)
        self.end()
        return {
            "kills": self.kills,
            "ended by themselves": self.ended,
            "writes acknowledged": self.writes,
            "kept though not acknowledged": self.unanswered,
            "leftovers cleared": assert_tidies_up(self.folder),
        }


class Adding(Job):
    """One record after another; each is printed once it is kept."""

    table = "sample"
    each = 6

    def __init__(self, folder: Path, shop: Path, chance: random.Random) -> None:
        super().__init__(folder, shop, chance)
        self.kept: dict[str, dict[str, Any]] = {}

    def arguments(self, label: str) -> list[str]:
        """Return a call of the command line that keeps one."""
        n = self.chance.randrange(10, 60)
        words = ["sample", "add", "--label", label, "--class", "copier", "--note", "n" * self.chance.randrange(3000)]
        words += ["--size", "A4", "--sheets", str(n), "--mass", f"{n * 5} g"]
        return [*words, "--stack-sheets", "100", "--stack", "10.5 mm", "--json"]

    def work(self) -> None:
        for _ in range(self.each):
            code = main(["--db", str(self.place), *self.arguments(f"leaf {self.chance.random()}")])
            assert code == 0, code

    def judge(self, heard: Heard) -> None:
        for answer in heard.answers():
            self.kept[answer["id"]] = answer
            self.writes += 1
        self.here = self.stored()
        lost = set(self.kept) - set(self.here)
        assert not lost, f"acknowledged and lost: {lost}"
        extra = set(self.here) - set(self.kept)
        assert len(extra) <= heard.killed, "more than the one in hand was kept without a word"
        self.unanswered += len(extra)
        for name, answer in self.kept.items():
            self.compare(self.here[name], answer)
        for name in extra:
            self.kept[name] = self.here[name]
        self.chance.random()  # the next process is to type something else

    def stored(self) -> dict[str, Any]:
        """Return what the file holds, by id, as the commands print it."""
        return {name: sample.as_json() for name, sample in assert_sound(self.place).items()}

    def compare(self, here: dict[str, Any], answer: dict[str, Any]) -> None:
        """Assert that what is kept is what was acknowledged, to the last digit."""
        assert {**here, "warnings": []} == {**answer, "warnings": []}

    def end(self) -> None:
        assert_nothing_half_counted(self.place)


class Finishing(Adding):
    """Finished books, likewise."""

    each = 3

    def arguments(self, label: str) -> list[str]:
        words = ["finished", "add", "--label", label, "--sheets-per-section", "4", "--sections", "8"]
        words += ["--thread", "30/3 linen", "--caliper", "104", "--fore-edge", "6.4", "--spine", "9.0"]
        return [*words, "--measured-with", "vernier", "--note", "n" * self.chance.randrange(9000), "--json"]

    def stored(self) -> dict[str, Any]:
        assert_sound(self.place)
        with matref.api.open(self.place) as workshop:
            return {b.id: b.as_json() for b in matref.finished.FinishedBooks(workshop.connection).list()}

    def end(self) -> None:
        assert len(rows(self.place, "finished_book")) == len(self.kept)


class Posting(Adding):
    """Samples sent to the served pages."""

    each = 8
    marked_share = 0.9

    def work(self) -> None:
        import httpx

        from matref.web.serve import datasette

        async def post() -> None:
            app = datasette(self.place, host="127.0.0.1", secret="eight bells and all well").app()
            transport = httpx.ASGITransport(app=app, client=("127.0.0.1", 50000))
            async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8001") as client:
                assert (await client.get("/-/samples.json")).status_code == 200
                say_mark()
                for _ in range(self.each):
                    fields = {"label": f"leaf {self.chance.random()}", "class": "copier", "grammage": "80"}
                    fields |= {"stack_sheets": "100", "stack": "10.5 mm"}
                    answer = await client.post("/-/samples.json", json=fields)
                    assert answer.status_code == 201, answer.text
                    print(answer.text, flush=True)

        asyncio.run(post())


class Importing(Job):
    """A table of ten thousand rows: all of it or nothing."""

    marked_share = 0.8

    def prepare(self) -> None:
        self.table = self.folder / "loft.csv"
        if not self.table.exists():
            lines = [f"loft {i},A4,{20 + i % 5},{98 + i % 7} g,copier,100,1{i % 3} mm" for i in range(ROWS)]
            text = "\n".join(["label,size,sheets,mass,class,stack_sheets,stack", *lines])
            self.table.write_text(text, encoding="utf-8")
        if not self.place.exists() or rows(self.place, "sample"):
            for old in (self.place, *self.folder.glob("matref.db-*")):
                old.unlink(missing_ok=True)
            shutil.copy(self.shop, self.place)

    def work(self) -> None:
        write = matref.samples.importing._write

        def told(*arguments: Any) -> None:
            say_mark()
            write(*arguments)

        matref.samples.importing._write = told  # type: ignore[assignment]
        code = main(["--db", str(self.place), "sample", "import", str(self.table)])
        assert code == 0, code

    def judge(self, heard: Heard) -> None:
        kept = assert_sound(self.place)
        assert len(kept) in (0, ROWS), f"{len(kept)} rows of a table"
        if heard.said:
            assert len(kept) == ROWS
            self.writes += ROWS
        elif kept:
            self.unanswered += ROWS
        if kept:
            assert len({s.label for s in kept.values()}) == ROWS


class BackingUp(Job):
    """Copies of a file that holds some samples."""

    def prepare(self) -> None:
        if not self.place.exists():
            shutil.copy(self.shop, self.place)
            for i in range(40):
                with matref.api.open(self.place) as workshop:
                    workshop.samples.add(f"leaf {i}", "n" * 4000, grammage=80)
            self.before = {table: rows(self.place, table) for table in PERSONAL}

    def work(self) -> None:
        for i in range(3):
            target = self.folder / f"copy-{self.chance.random()}-{i}.db"
            assert main(["--db", str(self.place), "backup", str(target), "--json"]) == 0

    def judge(self, heard: Heard) -> None:
        copies = set(self.folder.glob("copy-*.db"))
        told = {Path(answer["backup"]) for answer in heard.answers()}
        assert told <= copies
        for copy in copies:
            assert_sound(copy)
            assert {table: rows(copy, table) for table in PERSONAL} == self.before
            copy.unlink()
        assert_sound(self.place)
        self.writes += len(told)
        self.unanswered += len(copies - told)
        self.chance.random()


class Upgrading(Job):
    """A file of the first layout and of another edition, opened by this matref."""

    fit: Callable[[sqlite3.Connection], None] | None = None

    def prepare(self) -> None:
        for old in self.folder.glob("matref*.db*"):
            old.unlink()
        shutil.copy(self.old(), self.place)
        self.before = {table: rows(self.place, table) for table in ("sample", "sample_history", "setting")}

    def old(self) -> Path:
        """Return a file as an earlier matref would have left it."""
        made = self.folder / "earlier.db"
        if not made.exists():
            shutil.copy(self.shop, made)
            with matref.api.open(made) as workshop:
                for i in range(30):
                    workshop.samples.add(f"leaf {i}", "n" * 3000, grammage=80, stack_sheets=100, stack=10.5)
                workshop.connection.execute("INSERT INTO setting VALUES ('habit', 'clips')")
                workshop.connection.commit()
            with closing(sqlite3.connect(made, isolation_level=None)) as connection:
                for kind, name in (("TABLE", "stock"), ("TABLE", "finished_book")):
                    connection.execute(f"DROP {kind} {name}")
                for (name,) in connection.execute(
                    "SELECT name FROM sqlite_schema WHERE type = 'trigger' AND name LIKE 'sample_held%'"
                ).fetchall():
                    connection.execute(f"DROP TRIGGER {name}")
                connection.execute("DROP VIEW stack_reading")
                connection.execute("DROP TABLE held_both_ways")
                connection.execute("PRAGMA user_version = 2")
                connection.execute("UPDATE info SET value = 'an earlier one' WHERE key = 'edition'")
        return made

    def work(self) -> None:
        matref.workshop.connect(self.place, fit=self.fit).close()
        print(json.dumps("upgraded"), flush=True)

    def judge(self, heard: Heard) -> None:
        with closing(sqlite3.connect(self.place)) as connection:
            layout = connection.execute("PRAGMA user_version").fetchone()[0]
        assert layout in (2, len(MIGRATIONS))
        assert matref.workshop.check(self.place).ok
        assert {table: rows(self.place, table) for table in self.before} == self.before
        if heard.answers():
            assert layout == len(MIGRATIONS)
            self.writes += 1
        elif layout == len(MIGRATIONS):
            self.unanswered += 1
        for copy in self.folder.glob("matref.layout-2*.db"):
            assert matref.workshop.check(copy).ok
            assert {table: rows(copy, table) for table in self.before} == self.before
        matref.workshop.connect(self.place, fit=self.fit).close()
        assert_sound(self.place)
        assert {table: rows(self.place, table) for table in self.before} == self.before


class UpgradingLayout(Upgrading):
    """The same with the fitted model carried over, so that most of the time goes into the file."""

    def __init__(self, folder: Path, shop: Path, chance: random.Random) -> None:
        super().__init__(folder, shop, chance)
        with closing(sqlite3.connect(shop)) as connection:
            tables = connection.execute(
                "SELECT name, sql FROM sqlite_schema WHERE type = 'table' AND name LIKE 'model%'"
            ).fetchall()
            kept = [(name, sql, connection.execute(f"SELECT * FROM {name}").fetchall()) for name, sql in tables]

        def carry_over(connection: sqlite3.Connection) -> None:
            for name, sql, lines in kept:
                connection.execute(f"DROP TABLE IF EXISTS {name}")
                connection.execute(sql)
                marks = ", ".join("?" * len(lines[0]))
                connection.executemany(f"INSERT INTO {name} VALUES ({marks})", lines)

        self.fit = carry_over


def say_mark() -> None:
    """Tell the attacker that the writing begins."""
    sys.stderr.write(MARK.decode())
    sys.stderr.flush()


JOBS: dict[str, type[Job]] = {
    "sample add": Adding,
    "finished add": Finishing,
    "sample import": Importing,
    "backup": BackingUp,
    "layout upgrade": UpgradingLayout,
    "catalogue upgrade": Upgrading,
    "web post": Posting,
}


if __name__ == "__main__":
    if sys.argv[1] == "web post":
        import httpx  # noqa: F401 - so that no child has to

        import matref.web.serve
    name, kills, seed, folder, shop = sys.argv[1:]
    made = JOBS[name](Path(folder), Path(shop), random.Random(f"{name} {seed}"))
    figures = made.run(int(kills))
    print(json.dumps(figures))
