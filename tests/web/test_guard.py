from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matref.errors import BadInput
from matref.web.guard import MOST_BYTES
from matref.web.serve import announcement, run

if TYPE_CHECKING:
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
    here = announcement("http://127.0.0.1:8001/", "127.0.0.1", "not to be told")
    assert "only this machine" in here[0]
    assert "not to be told" not in " ".join(here)
    there = " ".join(announcement("http://192.0.2.7:8001/", "192.0.2.7", "told to the owner"))
    assert "cannot write" in there
    assert "told to the owner" in there


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


def test_run_refuses_a_bad_port_and_a_weak_secret(place: Path) -> None:
    for options in ({"port": 0}, {"port": 70000}, {"secret": "anchor"}):
        with pytest.raises(BadInput):
            run(place, **options)
