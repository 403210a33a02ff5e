from __future__ import annotations

import ipaddress
import socket
from typing import TYPE_CHECKING

import pytest

from matref.errors import BadInput
from matref.web.guard import MOST_BYTES
from matref.web.serve import announcement, in_network, run

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from conftest import Site


def test_too_much_at_once_is_refused_before_it_is_read(site: Site) -> None:
    token = site.token()
    big = b"x" * (MOST_BYTES + 1)
    for options in ({"content": big}, {"files": {"file": ("a.csv", big)}, "data": {"csrftoken": token}}):
        assert site.post("/-/samples/import", **options).status_code == 413
    assert site.post("/-/samples.json", content=b"", headers={"content-length": str(10**12)}).status_code == 413
    table = b"label,grammage\n" + b"x,80\n" * 250_000
    answer = site.post("/-/samples/import", data={"csrftoken": token}, files={"file": ("a.csv", table)})
    assert "larger than 1 MB" in answer.text
    assert site.count() == 0


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"--x\r\n", "multipart/form-data"),
        (b"--x\r\n", "multipart/form-data; boundary="),
        (b"garbage", "multipart/form-data; boundary=x"),
        (
            b'--x\r\nContent-Disposition: form-data; name="file"; filename="../../a"\r\n\r\nlabel\r\n--x--\r\n',
            "multipart/form-data; boundary=x",
        ),
        (b"label=\xff\xfe", "application/x-www-form-urlencoded"),
        (b"a=1&" * 1000, "application/x-www-form-urlencoded"),
        (b"{", "application/json"),
        (b"[1]", "application/json"),
        (b'{"label": {"a": 1}}', "application/json"),
        (b"[" * 100_000, "application/json"),
        (b"\x00\x01", "application/octet-stream"),
        (b"", "text/csv"),
    ],
)
def test_broken_bodies_are_told_apart_from_faults(site: Site, content: bytes, kind: str) -> None:
    for path in ("/-/samples", "/-/samples.json", "/-/samples/import", "/-/unlock", "/-/pile.json", "/shelf/reading"):
        for cookie in ("", site.token()):
            headers = {"content-type": kind, **({} if cookie else {"cookie": ""})}
            answer = site.post(path, content=content, headers=headers)
            assert 400 <= answer.status_code < 500, (path, answer.status_code)
    assert site.count() == 0


def test_long_addresses_and_other_methods(site: Site) -> None:
    assert site.get("/-/pile?label=" + "x" * 9000).status_code == 414
    assert site.get("/-/pile.json?label=" + "x" * 9000).json()["ok"] is False
    for method in ("put", "delete", "patch"):
        answer = site.loop.run_until_complete(getattr(site.client, method)("/-/samples"))
        assert answer.status_code == 405
    assert site.loop.run_until_complete(site.client.head("/-/pile")).status_code == 200


def test_every_answer_carries_the_policy(site: Site) -> None:
    for path in ("/", "/-/nowhere", "/shelf/readings?_next=x", "/-/static-plugins/matref/matref.css", "/-/pile.json"):
        headers = site.get(path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert "frame-ancestors 'none'" in headers["content-security-policy"]


@pytest.mark.parametrize(
    "path",
    [
        "/-/static-plugins/matref/../serve.py",
        "/-/static-plugins/matref/..%2f..%2fserve.py",
        "/-/static-plugins/matref/%2e%2e/serve.py",
        "/-/class/..%2f..%2fetc%2fpasswd",
        "/-/samples/..%2f..%2fetc",
        "/shelf/..%2f..%2fetc%2fpasswd",
        "/%2fetc/passwd",
        "/shelf/%00",
        "/-/samples/%ff%fe",
    ],
)
def test_path_tricks_lead_nowhere(site: Site, path: str) -> None:
    answer = site.get(path)
    assert answer.status_code in (302, 301, 400, 403, 404)
    assert "root:" not in answer.text
    assert "def " not in answer.text


def test_serving_elsewhere_says_so_and_gives_the_secret() -> None:
    here = announcement("127.0.0.1", 8001, "not to be told")
    assert "only this machine" in here[0]
    assert "not to be told" not in " ".join(here)
    there = " ".join(announcement("192.0.2.7", 8001, "told to the owner"))
    assert "http://192.0.2.7:8001/-/unlock" in there
    assert "cannot write" in there
    assert "told to the owner" in there


@pytest.mark.parametrize("host", ["0.0.0.0", "::"])
def test_what_stands_for_every_address_is_never_shown_as_one(host: str) -> None:
    # 0.0.0.0 and :: are no addresses that another machine could open (RFC 1122, 3.2.1.3; RFC 4291, 2.5.2).
    known = " ".join(announcement(host, 8001, "secret", "192.0.2.7"))
    assert "http://192.0.2.7:8001/-/unlock" in known
    unknown = " ".join(announcement(host, 8001, "secret"))
    assert "this machine's address or name" in unknown
    for said in (known, unknown):
        assert "//0.0.0.0" not in said
        assert "//[::]" not in said
        assert "127.0.0.1:8001" in said or "[::1]:8001" in said


def test_the_address_in_the_network_is_this_machines_own_and_asked_of_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[str] = []

    class Quiet(socket.socket):
        def send(self, *_: object) -> int:
            sent.append("send")
            return 0

        sendto = sendall = sendmsg = send

    monkeypatch.setattr(socket, "socket", Quiet)
    found = in_network("0.0.0.0")
    assert sent == []
    assert in_network("192.0.2.7") is None
    if found is not None:  # a machine without any network has none
        address = ipaddress.ip_address(found)
        assert not address.is_loopback
        assert not address.is_unspecified
        monkeypatch.undo()
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as own:
            own.bind((found, 0))  # only an address of this machine can be bound


def test_a_machine_without_a_network_says_so_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    def unreachable(*_: object) -> None:
        raise OSError("Network is unreachable")

    monkeypatch.setattr(socket.socket, "connect", unreachable)
    assert in_network("0.0.0.0") is None


def test_run_starts_a_server_that_trusts_no_proxy(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import uvicorn

    started: dict[str, object] = {}
    monkeypatch.setattr(uvicorn, "run", lambda app, **options: started.update(options, app=app))
    said: list[str] = []
    run(place, port=8123, host="192.0.2.7", say=said.append)
    assert (started["host"], started["port"], started["proxy_headers"]) == ("192.0.2.7", 8123, False)
    run(place, port=8123, host="192.0.2.7", say=said.append)
    secrets = [line.rpartition(": ")[2] for line in said if "secret" in line]
    assert len(secrets) == 2
    assert secrets[0] != secrets[1]
    assert min(map(len, secrets)) >= 12


def test_the_browser_is_opened_where_its_user_may_write(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import uvicorn

    from matref.web import serve

    opened: list[str] = []

    class AtOnce:
        daemon = False

        def __init__(self, _delay: float, call: Callable[[str], object], arguments: list[str]) -> None:
            self.call, self.arguments = call, arguments

        def start(self) -> None:
            self.call(*self.arguments)

    monkeypatch.setattr(uvicorn, "run", lambda _app, **_options: None)
    monkeypatch.setattr(serve, "Timer", AtOnce)
    monkeypatch.setattr(serve.webbrowser, "open", opened.append)
    for host in ("127.0.0.1", "0.0.0.0", "::", "192.0.2.7"):
        run(place, port=8123, host=host, open_browser=True, say=lambda _: None)
    assert opened == [
        "http://127.0.0.1:8123/",
        "http://127.0.0.1:8123/",
        "http://[::1]:8123/",
        "http://192.0.2.7:8123/",
    ]


def test_run_refuses_a_bad_port_and_a_weak_secret(place: Path) -> None:
    for options in ({"port": 0}, {"port": 70000}, {"secret": "anchor"}):
        with pytest.raises(BadInput):
            run(place, **options)
