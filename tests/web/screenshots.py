"""Take the pictures of the browser pages in README.md anew: `python tests/web/screenshots.py` (needs Chromium).

The scene is an invented day at a repair café in a former ship chandler's shop: every value in it is made up.
"""

from __future__ import annotations

import io
import shutil
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import matref

if TYPE_CHECKING:
    from playwright.sync_api import Page

PICTURES = Path(__file__).parents[2] / "notebooks" / "pictures"
WIDTH = 1280
_COLOURS = 256
_DAY = "2025-04-05"
_FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking")


@dataclass(frozen=True, slots=True)
class Scene:
    """A picture: its file, the page, and the element with which it ends."""

    name: str
    path: str
    last: str


SCENES = (
    Scene(
        "browser-pile.png",
        "/-/pile?" + urlencode({"size": "A4", "sheets": 20, "mass": "98 g", "stack_sheets": 100, "stack": "10.5 mm"}),
        "section[aria-label='Likely kinds of paper']",
    ),
    Scene(
        "browser-plan.png",
        "/-/book?"
        + urlencode(
            {
                "book.structure": "long-stitch",
                "book.page_width_mm": 105,
                "book.page_height_mm": 148,
                "book.sections": 6,
                "book.title": "pocket log of tides",
                "paper.sample": "tide tables of 1987",
                "cover.cloth": "sailcloth offcut",
                "cover.cloth_mm": 0.6,
                "sewing.thread": "30/3 linen",
            }
        ),
        "section.drawings",
    ),
    Scene("browser-samples.png", "/-/samples", "main"),
)


def furnish(place: Path) -> None:
    """Fill a workshop file with the piles of the café."""
    with matref.open(place) as workshop:
        add = workshop.samples.add
        add(
            "chart paper, locker 3",
            measured_on=_DAY,
            paper_class="map_chart",
            stack_sheets=8,
            stack="0.96 mm",
            with_="micrometer",
        )
        add("ledger leaves", measured_on=_DAY, paper_class="ledger", size="A4", sheets=10, mass="55 g")
        add(
            "tide tables of 1987",
            measured_on=_DAY,
            size="A4",
            sheets=20,
            mass="98 g",
            stack_sheets=100,
            stack="10.5 mm",
        )
        add("signal flags, backing sheets", measured_on=_DAY, stack_sheets=1, stack="0.104 mm", with_="micrometer")
        workshop.stock.add("cloth", "600 x 450 mm", grain="long", label="sailcloth offcut")


@contextmanager
def served(place: Path) -> Iterator[str]:
    """Serve a workshop file; the address without a slash at its end."""
    import uvicorn

    from matref.web.serve import datasette

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = datasette(place, host="127.0.0.1", secret="eight bells and all well").app()
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error", ws="none", proxy_headers=False))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started and thread.is_alive():
        time.sleep(0.05)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)


def picture(page: Page, scene: Scene) -> bytes:
    """Return the page from its top to the end of the last element, as a PNG of the colours that it uses most."""
    from PIL import Image

    page.goto(scene.path)
    box = page.locator(scene.last).bounding_box()
    if box is None:
        raise ValueError(f"{scene.path} has no {scene.last}")
    height = box["y"] + box["height"] + 12
    taken = page.screenshot(full_page=True, clip={"x": 0, "y": 0, "width": WIDTH, "height": height})
    image = Image.open(io.BytesIO(taken)).convert("RGB")
    used = sorted(image.getcolors(image.width * image.height) or [], reverse=True)
    palette = Image.new("P", (1, 1))
    palette.putpalette([part for _, colour in used[:_COLOURS] for part in colour])  # type: ignore[union-attr]
    few = image.quantize(palette=palette, dither=Image.Dither.NONE)
    out = io.BytesIO()
    few.save(out, "PNG", optimize=True)
    return out.getvalue()


def main() -> None:
    """Write every picture."""
    from playwright.sync_api import sync_playwright

    program = shutil.which("chromium")
    if program is None:
        sys.exit("chromium is missing: apt-get install chromium")
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        place = Path(folder) / "workshop.db"
        furnish(place)
        browser = playwright.chromium.launch(executable_path=program, args=list(_FLAGS))
        with served(place) as address:
            page = browser.new_context(viewport={"width": WIDTH, "height": 800}, base_url=address).new_page()
            for scene in SCENES:
                content = picture(page, scene)
                (PICTURES / scene.name).write_bytes(content)
                print(f"{scene.name}: {len(content) / 1000:.0f} kB")
        browser.close()


if __name__ == "__main__":
    main()
