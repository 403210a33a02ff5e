"""A served workshop without a network: Datasette's ASGI app, and a client that keeps cookies as a browser does."""

from __future__ import annotations

import asyncio
import re
import shutil
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path
from typing import Any

import httpx
import pytest

from matref import workshop

SECRET = "eight bells and all well"


class Site:
    """One visitor of one served workshop. `client`: the visitor's address; `name`: the host in the address bar."""

    def __init__(
        self,
        place: Path,
        *,
        host: str = "127.0.0.1",
        client: str = "127.0.0.1",
        name: str = "localhost",
        notes: bool = False,
    ) -> None:
        from matref.web.serve import datasette

        self.place = place
        self.datasette = datasette(place, host=host, secret=SECRET, notes=notes)
        self.loop = asyncio.new_event_loop()
        transport = httpx.ASGITransport(app=self.datasette.app(), client=(client, 50000))
        self.client = httpx.AsyncClient(transport=transport, base_url=f"http://{name}")

    def get(self, path: str, **options: Any) -> httpx.Response:
        return self.loop.run_until_complete(self.client.get(path, **options))

    def post(self, path: str, **options: Any) -> httpx.Response:
        return self.loop.run_until_complete(self.client.post(path, **options))

    def token(self, page: str = "/-/samples/new") -> str:
        """Open a page with a form and return the token in it; the cookie that goes with it stays in the client."""
        found = re.search(r'name="csrftoken" value="([^"]+)"', self.get(page).text)
        return found[1] if found else ""

    def send(self, path: str, fields: dict[str, str], **options: Any) -> httpx.Response:
        """Send a form as a page would."""
        return self.post(path, data={"csrftoken": self.token(), **fields}, **options)

    def count(self) -> int:
        """Return how many records of a person the file holds: samples, piles and finished books."""
        tables = ("sample", "stock", "finished_book")
        with workshop.connect(self.place, read_only=True) as connection:
            found = sum(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables)
        connection.close()
        return int(found)

    def close(self) -> None:
        self.loop.run_until_complete(self.client.aclose())
        self.loop.close()


def alerts(page: httpx.Response) -> str:
    """Return what the page warns of, as plain text."""
    found = re.findall(r'role="alert">(.*?)</(?:p|div)>', page.text, re.DOTALL)
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", text) for text in found))


@pytest.fixture(scope="session")
def made_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("made") / "workshop.db"
    workshop.connect(place).close()
    return place


@pytest.fixture
def place(made_file: Path, tmp_path: Path) -> Path:
    target = tmp_path / "piles & forms #1?.db"  # a name that would break a careless address
    shutil.copy(made_file, target)
    return target


@pytest.fixture
def visit(place: Path) -> Iterator[Callable[..., Site]]:
    """Make visitors; all of them see the same file."""
    sites: list[Site] = []

    def make(**options: Any) -> Site:
        sites.append(Site(place, **options))
        return sites[-1]

    yield make
    for site in sites:
        site.close()


@pytest.fixture
def site(visit: Callable[..., Site]) -> Site:
    """Somebody who sits at the machine itself."""
    return visit()


@pytest.fixture(scope="module")
def shared(made_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Somebody who sits at a machine whose file all tests of a module share."""
    place = tmp_path_factory.mktemp("shared") / "workshop.db"
    shutil.copy(made_file, place)
    site = Site(place)
    yield site
    site.close()


@pytest.fixture
def remote(visit: Callable[..., Site]) -> Site:
    """Somebody in the same network, where matref is served on another address."""
    return visit(host="192.0.2.7", client="192.0.2.30", name="192.0.2.7")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "browser: drives a real Chromium")
