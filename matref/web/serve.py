"""Start Datasette on a workshop file: on this machine alone, unless another address is asked for."""

from __future__ import annotations

import secrets as random
import socket
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
_EVERY = {"0.0.0.0": ("127.0.0.1", "192.0.2.1"), "::": ("::1", "2001:db8::1")}
# An address that stands for all of this machine's own: how it reaches itself, and a place elsewhere that exists in
# documents only (RFC 5737, RFC 3849), towards which the machine can say which of its addresses it would use.


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
    for line in announcement(host, port, key, in_network(host)):
        say(line)
    if open_browser:
        opener = Timer(1.0, webbrowser.open, [address_of(_EVERY[host][0] if host in _EVERY else host, port)])
        opener.daemon = True
        opener.start()
    uvicorn.run(made.app(), host=host, port=port, log_level="warning", lifespan="on", workers=1, proxy_headers=False)


def announcement(host: str, port: int, secret: str, network: str | None = None) -> list[str]:
    """Return what to say at the start: where it is, who may read and who may write.

    `network`: where other machines of the same network find this one, None where that is not known.

    >>> announcement("127.0.0.1", 8001, "unused secret")
    ['matref is at http://127.0.0.1:8001/ (Ctrl-C stops it); only this machine can reach it.']
    >>> for line in announcement("0.0.0.0", 8001, "eight bells", "192.0.2.7"):
    ...     print(line)
    matref is at http://127.0.0.1:8001/ on this machine (Ctrl-C stops it).
    From another machine open http://192.0.2.7:8001/, this machine's address in the network.
    Whoever can reach this address can read your samples, without notes and prices, and cannot write.
    To write from another machine, open http://192.0.2.7:8001/-/unlock and type this secret: eight bells
    """
    if host in _LOOPBACK:
        return [f"matref is at {address_of(host, port)} (Ctrl-C stops it); only this machine can reach it."]
    elsewhere = address_of(network or host, port)
    lines = [f"matref is at {elsewhere} (Ctrl-C stops it)."]
    if host in _EVERY:
        lines = [f"matref is at {address_of(_EVERY[host][0], port)} on this machine (Ctrl-C stops it)."]
        if network is None:
            elsewhere = f"http://THIS-MACHINE:{port}/"
            lines.append(f"From another machine open {elsewhere}, with this machine's address or name in the network.")
        else:
            lines.append(f"From another machine open {elsewhere}, this machine's address in the network.")
    return [
        *lines,
        "Whoever can reach this address can read your samples, without notes and prices, and cannot write.",
        f"To write from another machine, open {elsewhere}-/unlock and type this secret: {secret}",
    ]


def in_network(host: str) -> str | None:
    """Return the address by which other machines find this one, where `host` stands for all of its addresses.

    Nothing is sent: connecting a datagram socket only makes the machine choose the address it would send from. None
    where it has no way out, or where `host` is an address already.
    """
    if host not in _EVERY:
        return None
    try:
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_DGRAM) as asking:
            asking.connect((_EVERY[host][1], 9))
            found = str(asking.getsockname()[0])
    except OSError:
        return None
    return None if found in (*_LOOPBACK, *_EVERY) else found


def address_of(host: str, port: int) -> str:
    """Return where a browser finds a host and port.

    >>> address_of("::1", 8001)
    'http://[::1]:8001/'
    """
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def _file_of(connection: sqlite3.Connection) -> str:
    return str(connection.execute("PRAGMA database_list").fetchone()[2])
