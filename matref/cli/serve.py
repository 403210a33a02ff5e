"""`serve`: the catalogue, the samples and the pages of matref in a browser."""

from __future__ import annotations

import json
import os
import socket

import click

from matref.cli.session import Session, common_options
from matref.errors import BadInput


@click.command(
    epilog="""Examples:

    \b
      matref serve
      matref serve --port 8010 --open
      matref serve --host 0.0.0.0 --secret "eight bells and all well"

    On 127.0.0.1 only this machine can reach the pages. On another address everybody in the network may read, and
    writing needs the secret."""
)
@click.option("--port", type=int, metavar="N", default=8001, show_default=True, help="Port to listen on, 1 to 65535.")
@click.option(
    "--host",
    metavar="ADDRESS",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on; 0.0.0.0 for the whole network.",
)
@click.option("--open", "open_browser", is_flag=True, help="Open the pages in the browser.")
@click.option(
    "--secret",
    metavar="TEXT",
    show_default="a new one each time",
    help="What to type before writing from another machine: 12 characters or more.",
)
@click.option("--notes", is_flag=True, help="Let the tables show the notes and prices of your samples.")
@common_options
@click.pass_obj
def serve(session: Session, port: int, host: str, open_browser: bool, secret: str | None, notes: bool) -> None:
    """Show the workshop in a browser: tables to browse and query, and pages to ask, until Ctrl-C stops it."""
    from matref.web.serve import run

    def say(line: str) -> None:
        click.echo(json.dumps({"message": line}) if session.as_json else line)

    _refuse_taken(host, port)
    with session.open():
        pass  # a new file is made here, with a word of patience
    run(session.path, port=port, host=host, open_browser=open_browser, secret=secret, notes=notes, say=say)


def _refuse_taken(host: str, port: int) -> None:
    """Refuse an address that cannot be listened on, before anything is said or made."""
    if not 1 <= port <= 65535:
        raise BadInput(f"port {port}", expected="1 to 65535", example="--port 8001")
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind, protocol) as probe:
            if os.name == "posix":  # elsewhere it would let two servers share a port
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except (OSError, UnicodeError) as error:
        reason = getattr(error, "strerror", None) or error
        raise BadInput(
            f"port {port} of {host} cannot be used: {reason}", expected="a free port", example="--port 8010"
        ) from error
