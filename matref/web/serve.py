"""Start Datasette on a workshop file: on this machine alone, unless another address is asked for."""

from __future__ import annotations

import secrets as random
import sqlite3
import webbrowser
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from threading import Timer

from datasette.app import Datasette

from matref import workshop
from matref.errors import BadInput
from matref.web.database import WorkshopDatabase
from matref.web.shelf import ROUTE, metadata

_SHORTEST_SECRET = 12
_TEMPLATES = Path(__file__).parent / "shelf"
_SETTINGS = {"suggest_facets": False, "allow_download": False, "default_page_size": 50, "default_cache_ttl": 0}
_LOOPBACK = ("127.0.0.1", "::1", "localhost")


def datasette(path: workshop.StrPath | None, *, host: str, secret: str, notes: bool = False) -> Datasette:
    """Return Datasette over the workshop file at `path` (None: the user's own), made or upgraded first if need be.

    `host`: the address it will be served on. `secret`: signs cookies, and whoever types it may write from afar.
    `notes`: let Datasette's tables show notes and prices.
    """
    with closing(workshop.connect(path)) as connection:
        place = _file_of(connection)
        described = metadata(connection)
    described["plugins"] = {"matref": {"serve": True, "loopback": host in _LOOPBACK, "notes": notes}}
    made = Datasette(memory=True, metadata=described, template_dir=str(_TEMPLATES), settings=_SETTINGS, secret=secret)
    made.remove_database("_memory")
    made.add_database(WorkshopDatabase(made, path=place, is_mutable=True), name=ROUTE)
    return made


def run(
    path: workshop.StrPath | None = None,
    *,
    port: int = 8001,
    host: str = "127.0.0.1",
    open_browser: bool = False,
    secret: str | None = None,
    notes: bool = False,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the workshop file until interrupted.

    On 127.0.0.1 whoever sits at this machine may write. On another address everybody may read, and writing needs the
    secret, which is printed (None: a new one each time).
    """
    import uvicorn

    if not 1 <= port <= 65535:
        raise BadInput(f"port {port}", expected="1 to 65535", example="--port 8001")
    if secret is not None and len(secret) < _SHORTEST_SECRET:
        raise BadInput("a secret that is easy to guess", expected=f"{_SHORTEST_SECRET} characters or more")
    key = secret or random.token_urlsafe(15)
    made = datasette(path, host=host, secret=key, notes=notes)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{port}/"
    for line in announcement(address, host, key):
        say(line)
    if open_browser:
        opener = Timer(1.0, webbrowser.open, [address])
        opener.daemon = True
        opener.start()
    uvicorn.run(made.app(), host=host, port=port, log_level="warning", lifespan="on", workers=1, proxy_headers=False)


def announcement(address: str, host: str, secret: str) -> list[str]:
    """Return what to say at the start: where it is, who may read and who may write.

    >>> announcement("http://127.0.0.1:8001/", "127.0.0.1", "unused secret")
    ['matref is at http://127.0.0.1:8001/ (Ctrl-C stops it); only this machine can reach it.']
    """
    if host in _LOOPBACK:
        return [f"matref is at {address} (Ctrl-C stops it); only this machine can reach it."]
    return [
        f"matref is at {address} (Ctrl-C stops it).",
        "Whoever can reach this address can read your samples, without notes and prices, and cannot write.",
        f"To write from another machine, open {address}-/unlock and type this secret: {secret}",
    ]


def _file_of(connection: sqlite3.Connection) -> str:
    return str(connection.execute("PRAGMA database_list").fetchone()[2])
