"""serve: the pages come up on this machine, say where, and go down quietly."""

from __future__ import annotations

import shlex
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest
from command_line import Run, refused

from matref.cli.app import root
from matref.cli.trouble import examples

PATIENCE_S = 120


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def page(address: str) -> str:
    """The page, once the server answers."""
    end = time.monotonic() + PATIENCE_S
    while True:
        try:
            with urlopen(address, timeout=PATIENCE_S) as answer:
                text: str = answer.read().decode()
                return text
        except URLError:
            if time.monotonic() > end:
                raise
            time.sleep(0.2)


def test_serve_until_interrupted(shop: Path) -> None:
    port = free_port()
    command = [sys.executable, "-m", "matref", "serve", "--port", str(port)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        try:
            assert "<html" in page(f"http://127.0.0.1:{port}/").lower()
        finally:
            process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=PATIENCE_S)
    assert f"http://127.0.0.1:{port}/" in out
    assert "Traceback" not in err
    assert shop.exists()


def test_what_cannot_be_served_is_refused(run: Run, tmp_path: Path) -> None:
    refused(run("serve", "--port", "0"), "port 0")
    refused(run("serve", "--port", "harbour"), "--port")
    refused(run("serve", "--host", "0.0.0.0", "--secret", "short"), "secret")
    refused(run("serve", "--db", str(tmp_path)), "is a folder")


def test_a_port_that_is_taken(run: Run) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        refused(run("serve", "--port", str(port)), f"port {port} of 127.0.0.1 cannot be used", "--port 8010")
    refused(run("serve", "--host", "no such host"), "no such host")


def test_the_examples_name_what_run_takes(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each example of the help, up to the moment at which it would serve."""
    import matref.web.serve as web

    asked = []
    monkeypatch.setattr(web, "run", lambda path, **options: asked.append((path, options)))
    command = root.get_command(None, "serve")  # type: ignore[arg-type]
    assert command is not None
    lines = examples(command)
    for line in lines:
        assert run(*shlex.split(line)[1:]).code == 0
    assert len(asked) == len(lines) >= 3
    assert {options["port"] for _, options in asked} == {8001, 8010}
