"""Servers on this machine for as long as a benchmark needs them: matref's own, and a plain Datasette on the same file.

As a script it is the plain Datasette: `python servers.py FILE PORT`. It has the tables' facets and order and the page
size that matref gives its own, so that both run the same queries, and nothing else of matref.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from http.client import HTTPConnection
from pathlib import Path

_START_S = 60


def ask(port: int, path: str) -> bytes:
    """Return the answer of the server on this machine; RuntimeError unless it is a good one."""
    with closing(HTTPConnection("127.0.0.1", port, timeout=60)) as connection:
        connection.request("GET", path)
        answer = connection.getresponse()
        body = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"status {answer.status}: {path}")
    return body


@contextmanager
def matref(place: Path) -> Iterator[int]:
    """Serve the file as `matref serve` does; yield the port."""
    command = [str(Path(sys.executable).with_name("matref")), "serve", "--db", str(place), "--port"]
    with _running(command) as port:
        yield port


@contextmanager
def plain_datasette(place: Path) -> Iterator[int]:
    """Serve the file with Datasette alone; yield the port."""
    with _running([sys.executable, __file__, str(place)]) as port:
        if b'"matref"' in ask(port, "/-/plugins.json"):
            raise RuntimeError("the plain Datasette has loaded the plugin")
        yield port


@contextmanager
def _running(command: list[str]) -> Iterator[int]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    server = subprocess.Popen([*command, str(port)], stdout=subprocess.DEVNULL)
    try:
        _wait(server, port)
        yield port
    finally:
        server.terminate()
        server.wait()


def _wait(server: subprocess.Popen[bytes], port: int) -> None:
    began = time.monotonic()
    while time.monotonic() < began + _START_S and server.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.1)
    raise RuntimeError("a server did not start")


def _serve_plainly(place: str, port: int) -> None:
    import sqlite3

    import uvicorn
    from datasette.app import Datasette
    from datasette.plugins import pm

    from matref.web.shelf import ROUTE, metadata

    pm.unregister(name="matref")  # Datasette loads what is installed; this takes it out again
    kept = ("facets", "sort", "sort_desc")
    with closing(sqlite3.connect(place)) as connection:
        described = metadata(connection)["databases"][ROUTE]["tables"]
    tables = {name: {key: table[key] for key in kept if key in table} for name, table in described.items()}
    settings = {"suggest_facets": False, "default_page_size": 50, "default_cache_ttl": 0}
    made = Datasette([place], metadata={"databases": {ROUTE: {"tables": tables}}}, settings=settings)
    uvicorn.run(made.app(), host="127.0.0.1", port=port, log_level="warning", lifespan="on", proxy_headers=False)


if __name__ == "__main__":
    _serve_plainly(sys.argv[1], int(sys.argv[2]))
