"""Eight writers, a reader of the served pages and one long reader on one file at once. `python -m durability.crowd`."""

from __future__ import annotations

import asyncio
import json
import os
import sqlite3
import sys
import traceback
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from matref import workshop
from matref.cli import main

WRITERS = 8


def start(work: Callable[[], None], said: Path) -> int:
    """Do `work` in a process of its own that prints into a file; return its number."""
    child = os.fork()
    if child:
        return child
    code = 1
    try:
        sys.stdout = said.open("w", encoding="utf-8")
        sys.stderr = said.with_suffix(".err").open("w", encoding="utf-8")
        work()
        code = 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.close()
        sys.stderr.close()
        os._exit(code)


def write(place: Path, writer: int, each: int) -> None:
    """Keep samples by the command line."""
    for i in range(each):
        words = ["--label", f"{writer}/{i}", "--class", "copier", "--grammage", str(60 + i % 40)]
        words += ["--stack-sheets", "100", "--stack", f"{9 + i % 4} mm", "--json"]
        code = main(["--db", str(place), "sample", "add", *words])
        if code:
            raise SystemExit(code)


def look(place: Path, stop: Path) -> None:
    """Read the served pages until told to stop; what they show may only grow."""
    import httpx

    from matref.web.serve import datasette

    async def reading() -> None:
        app = datasette(place, host="127.0.0.1", secret="eight bells and all well").app()
        transport = httpx.ASGITransport(app=app, client=("127.0.0.1", 50000))
        before = looks = 0
        async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8001") as client:
            while not stop.exists():
                for path in ("/-/samples", "/-/pile?class=copier&grammage=80", "/shelf/sample", "/-/samples.json"):
                    answer = await client.get(path)
                    assert answer.status_code == 200, answer.text
                counted = (await client.get("/shelf.json?sql=select+count(*)+from+sample&_shape=arrays")).json()
                assert counted["rows"][0][0] >= before
                before = counted["rows"][0][0]
                looks += 1
        print(json.dumps(looks))

    asyncio.run(reading())


def read_long(place: Path, stop: Path, ready: Path) -> None:
    """Hold one view of the file open all the time: it must not change, nor hold anybody up."""
    import time

    with closing(workshop.connect(place, read_only=True)) as connection:
        connection.execute("BEGIN")
        first = connection.execute("SELECT count(*), sum(length(as_typed)) FROM sample").fetchone()
        ready.touch()
        looks = 0
        while not stop.exists():
            again = connection.execute("SELECT count(*), sum(length(as_typed)) FROM sample").fetchone()
            assert tuple(again) == tuple(first)
            looks += 1
            time.sleep(0.02)
        connection.rollback()
    print(json.dumps(looks))


def crowd(folder: Path, place: Path, each: int) -> dict[str, object]:
    """Let them all at it; return what came out, every complaint included."""
    stop, ready = folder / "stop", folder / "ready"
    readers = {
        start(lambda: read_long(place, stop, ready), folder / "long"): "long",
        start(lambda: look(place, stop), folder / "web"): "web",
    }
    while not ready.exists():
        os.sched_yield()
    writers = {}
    for n in range(WRITERS):
        writers[start(lambda n=n: write(place, n, each), folder / f"writer-{n}")] = f"writer-{n}"  # type: ignore[misc]
    codes = {name: os.waitpid(child, 0)[1] for child, name in writers.items()}
    stop.touch()
    codes |= {name: os.waitpid(child, 0)[1] for child, name in readers.items()}
    told = 0
    for name in writers.values():
        told += (folder / name).read_text(encoding="utf-8").count('"measured_on"')
    with closing(sqlite3.connect(place)) as connection:
        kept, labels = connection.execute("SELECT count(*), count(DISTINCT label) FROM sample").fetchone()
    return {
        "codes": codes,
        "complaints": {f.stem: f.read_text(encoding="utf-8") for f in folder.glob("*.err") if f.stat().st_size},
        "acknowledged": told,
        "kept": kept,
        "labels": labels,
        "looks": {name: json.loads((folder / name).read_text(encoding="utf-8") or "0") for name in ("long", "web")},
    }


if __name__ == "__main__":
    print(json.dumps(crowd(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))))
