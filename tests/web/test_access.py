from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from matref.web.access import is_local_name

if TYPE_CHECKING:
    from conftest import Site

SAMPLE = {"label": "tide table", "size": "A4", "sheets": "20", "mass": "98 g"}
SECRET = "eight bells and all well"


def test_who_sits_at_the_machine_may_write_and_is_sent_on(site: Site) -> None:
    answer = site.send("/-/samples/new", SAMPLE)
    assert answer.status_code == 302
    assert answer.headers["location"].startswith("/-/samples/")
    assert "Kept" in site.get(answer.headers["location"]).text
    assert site.count() == 1


WRITES = (
    *(f"/-/{kind}{end}" for kind in ("samples", "stock", "finished") for end in ("", "/new", ".json", "/nobody.json")),
    "/-/samples/import",
    "/-/samples/import.json",
)


@pytest.mark.parametrize("path", WRITES)
def test_a_form_without_its_token_writes_nothing(site: Site, path: str) -> None:
    site.token()
    for data in (SAMPLE, {**SAMPLE, "csrftoken": ""}, {**SAMPLE, "csrftoken": "made-up"}):
        assert site.post(path, data=data).status_code == 403
    assert site.count() == 0


@pytest.mark.parametrize("path", WRITES)
@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://tides.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_another_site_cannot_write_even_without_cookies(
    visit: Callable[..., Site], path: str, headers: dict[str, str]
) -> None:
    # Cookies of ours are not sent along by another site; being on this machine must not be enough.
    stranger = visit()
    assert stranger.post(path, data=SAMPLE, headers=headers).status_code == 403
    assert stranger.post(path, json=SAMPLE, headers=headers).status_code == 403
    assert stranger.post(path, files={"file": ("a.csv", b"label,grammage\nx,80\n")}, headers=headers).status_code in (
        403,
        415,
    )
    assert stranger.count() == 0


@pytest.mark.parametrize("path", [path for path in WRITES if path.endswith(".json")])
def test_cookies_lend_no_leave_to_json_of_another_site(remote: Site, path: str) -> None:
    token = remote.token("/-/unlock")
    remote.post("/-/unlock", data={"csrftoken": token, "secret": SECRET})
    assert remote.client.cookies.get("matref_writer")
    for headers in (
        {"origin": "http://tides.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ):
        refused = remote.post(path, json=SAMPLE, headers=headers)
        assert (refused.status_code, refused.json()["ok"]) == (403, False)
        # A form of another site may call itself text, which needs no leave of a browser; it is then no JSON to us.
        odd = {**headers, "content-type": "text/plain"}
        assert remote.post(path, content=b'{"label": "x", "grammage": "80"}', headers=odd).status_code in (403, 415)
    assert remote.count() == 0


def test_a_page_of_ours_may_send_json_with_its_cookies(remote: Site) -> None:
    remote.post("/-/unlock", data={"csrftoken": remote.token("/-/unlock"), "secret": SECRET})
    headers = {"origin": "http://192.0.2.7", "sec-fetch-site": "same-origin"}
    assert remote.post("/-/samples.json", json=SAMPLE, headers=headers).status_code == 201
    remote.client.cookies.delete("matref_writer")
    assert remote.post("/-/samples.json", json=SAMPLE, headers=headers).status_code == 403


def test_a_token_of_another_visitor_is_worth_nothing(visit: Callable[..., Site], site: Site) -> None:
    stolen = visit().token()
    site.token()
    assert site.post("/-/samples/new", data={**SAMPLE, "csrftoken": stolen}).status_code == 403


def test_a_name_that_points_here_is_not_answered(site: Site) -> None:
    for host in ("tides.example", "127.0.0.1.tides.example", "localhost.tides.example", "", "127.0.0.1@tides.example"):
        assert site.get("/", headers={"host": host}).status_code == 421, host
        assert site.get("/-/samples.json", headers={"host": host}).status_code == 421
    for host in ("localhost:8001", "127.0.0.1", "[::1]:8001"):
        assert site.get("/", headers={"host": host}).status_code == 200


def test_from_afar_everything_is_for_reading(remote: Site) -> None:
    assert remote.get("/-/pile?class=copier&grammage=80").status_code == 200
    for kind in ("samples", "stock", "finished"):
        for page in (remote.get(f"/-/{kind}").text, remote.get(f"/-/{kind}/new").text):
            assert "for reading" in page
            assert "<textarea" not in page
            assert 'method="post"' not in page
    for path in WRITES:
        assert remote.send(path, SAMPLE).status_code == 403
        assert remote.post(path, json=SAMPLE).status_code == 403
    assert remote.count() == 0


def test_the_secret_gives_leave(remote: Site) -> None:
    token = remote.token("/-/unlock")
    assert remote.post("/-/unlock", data={"csrftoken": token, "secret": "wrong"}).status_code == 403
    assert remote.send("/-/samples/new", SAMPLE).status_code == 403
    assert remote.post("/-/unlock", data={"csrftoken": token, "secret": SECRET}).status_code == 302
    assert remote.send("/-/samples/new", SAMPLE).status_code == 302
    assert remote.count() == 1


def test_a_program_brings_the_secret_in_a_header(remote: Site) -> None:
    assert remote.post("/-/samples.json", json=SAMPLE, headers={"authorization": "Bearer nonsense"}).status_code == 403
    answer = remote.post("/-/samples.json", json=SAMPLE, headers={"authorization": f"Bearer {SECRET}"})
    assert answer.status_code == 201
    assert answer.json()["label"] == "tide table"


def test_a_forged_cookie_gives_no_leave(remote: Site) -> None:
    for value in ("may write", "Im1heSB3cml0ZSI.AAAA", ""):
        remote.client.cookies.set("matref_writer", value)
        assert remote.send("/-/samples/new", SAMPLE).status_code == 403


@pytest.mark.parametrize("header", ["x-forwarded-for", "forwarded", "x-real-ip", "x-forwarded-host"])
def test_what_a_proxy_passes_on_is_from_afar(visit: Callable[..., Site], header: str) -> None:
    behind = visit(host="0.0.0.0")
    headers = {header: "203.0.113.9"}
    assert behind.post("/-/samples.json", json=SAMPLE, headers=headers).status_code == 403
    assert behind.post("/-/samples.json", json=SAMPLE).status_code == 201


def test_loopback_visitor_of_an_open_address_by_another_name_only_reads(visit: Callable[..., Site]) -> None:
    other = visit(host="0.0.0.0", name="workshop.example")
    assert other.get("/").status_code == 200
    assert other.post("/-/samples.json", json=SAMPLE).status_code == 403


@pytest.mark.parametrize("host", ["::1", "[::1", "localhost:x", "a b", "\x00"])
def test_odd_hosts_are_no_trouble(host: str) -> None:
    assert not is_local_name(host + ".example")
