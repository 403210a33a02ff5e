"""A real browser on a real server: Debian's Chromium, driven by Playwright; axe-core judges by WCAG 2.2 AA."""

from __future__ import annotations

import os
import re
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import pytest

import matref

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
DESK, PHONE, NARROW = (1280, 900), (390, 844), (320, 640)
PILE = {"size": "A4", "sheets": "20", "mass": "98 g"}
BOOK = {
    "book.structure": "soft-cover",
    "book.page_width_mm": "100",
    "book.page_height_mm": "150",
    "book.sections": "5",
    "paper.class": "bond_writing",
    "paper.grammage_gsm": "80",
    "cover.cloth_mm": "0.4",
    "cover.card_mm": "0.3",
    "beside.1.class": "newsprint",
    "beside.1.grammage_gsm": "49",
}
PAGES = (
    "/",
    "/-/pile",
    "/-/pile?" + urlencode({**PILE, "stack_sheets": "100", "stack": "10.5 mm"}),
    "/-/pile?" + urlencode({**PILE, "mass": "98 lions"}),
    "/-/samples",
    "/-/samples/new",
    "/-/samples/import",
    "/-/book",
    "/-/book?" + urlencode(BOOK),
    "/-/find?q=linen",
    "/-/functions",
    "/-/class/copier",
    "/-/unlock",
    "/shelf",
    "/shelf/readings",
    "/shelf/papers?_sort_desc=readings",
    "/shelf/boards?kind=greyboard",
    "/shelf/reading/jcp-o-63-75-95",
    "/shelf/material_class/copier",
    "/shelf/thickness?class=copier",
    "/shelf?sql=select+1+as+one",
)


def _missing(what: str) -> None:
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what} is missing, and the browser tests must run here")
    pytest.skip(f"{what} is missing: apt-get install chromium; pip install playwright axe-playwright-python")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    program = shutil.which("chromium")
    if program is None:
        _missing("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _missing("playwright")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=list(_FLAGS))
        yield opened
        opened.close()


@pytest.fixture
def address(place: Path) -> Iterator[str]:
    """A served workshop of one test; the address without a slash at its end."""
    import uvicorn

    from matref.web.serve import datasette

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = datasette(place, host="127.0.0.1", secret="eight bells and all well").app()
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error", ws="none", proxy_headers=False))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    for _ in range(200):
        if server.started:
            break
        time.sleep(0.05)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture
def open_page(browser: Browser, address: str) -> Iterator[Callable[..., Page]]:
    """Open pages; at the end no console had an error and nothing was asked of any other machine."""
    troubles: list[str] = []
    contexts = []

    def make(size: tuple[int, int] = DESK) -> Page:
        context = browser.new_context(viewport={"width": size[0], "height": size[1]}, base_url=address)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("console", lambda m: troubles.append(m.text) if m.type in ("error", "warning") else None)
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.on("request", lambda r: troubles.append(r.url) if not r.url.startswith(address + "/") else None)
        return page

    yield make
    for context in contexts:
        context.close()
    assert troubles == []


def caliper(page: Page) -> tuple[float, float, float]:
    found = re.match(r"([\d.]+) µm \(([\d.]+) to ([\d.]+)\)", page.locator("#caliper").inner_text())
    assert found
    value, low, high = map(float, found.groups())
    return value, low, high


def test_identify_follow_the_advice_and_keep_the_sample(open_page: Callable[..., Page], place: Path) -> None:
    page = open_page()
    page.goto("/")
    page.get_by_role("link", name="What is this paper? A ruler").click()
    page.get_by_label("Sheet size").fill("A4")
    page.get_by_label("Sheets weighed").fill("20")
    page.get_by_label("Their mass").fill("98 g")
    page.get_by_role("button", name="Work it out").click()
    _, low, high = caliper(page)
    assert "sheets" in page.locator(".next .best").inner_text() or "sheet" in page.locator(".next .best").inner_text()
    page.get_by_label("Sheets in the stack").fill("1")
    page.get_by_label("Thickness of the stack").fill("0,104 mm")
    page.get_by_label("Measured with").select_option("micrometer")
    page.get_by_role("button", name="Work it out").click()
    value, sharper_low, sharper_high = caliper(page)
    assert sharper_high - sharper_low < high - low
    assert value == pytest.approx(104, rel=0.03)
    page.get_by_label("Kind of paper").select_option("copier")
    page.get_by_role("button", name="Work it out").click()
    assert page.locator("svg.picture .own").count() == 0
    page.get_by_role("button", name="Keep this as a sample").click()
    page.get_by_label("What you call it").fill("tide tables")
    page.get_by_role("button", name="Keep this sample").click()
    page.get_by_text("Kept; it counts from now on.").wait_for()
    page.get_by_role("link", name="Every value").click()
    assert page.locator("h1").inner_text() == "tide tables"
    page.get_by_role("navigation", name="Main").get_by_role("link", name="My samples").click()
    assert page.get_by_role("link", name="tide tables").is_visible()
    page.get_by_role("link", name="tide tables").click()
    page.get_by_role("link", name="How thick is this paper?").click()
    assert page.locator("svg.picture .own").count() == 1
    with matref.open(place) as opened:
        assert [s.label for s in opened.samples.list()] == ["tide tables"]


def test_everything_by_keyboard(open_page: Callable[..., Page], place: Path) -> None:
    page = open_page()
    page.goto("/-/pile")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    assert page.evaluate("document.activeElement.getBoundingClientRect().left") >= 0
    page.keyboard.press("Enter")
    order = []
    for _ in range(12):
        page.keyboard.press("Tab")
        order.append(page.evaluate("document.activeElement.name || document.activeElement.tagName"))
        style = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert style != "none", "the focus can be seen"
    assert [n for n in order if n in ("grammage", "size", "sheets", "mass")] == ["grammage", "size", "sheets", "mass"]
    page.locator("#f-size").focus()
    for text in ("A4", "20", "98 g"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert caliper(page)[0] > 50
    page.get_by_role("button", name="Keep this as a sample").focus()
    page.keyboard.press("Enter")
    page.locator("#f-label").focus()
    page.keyboard.type("by keyboard")
    page.keyboard.press("Enter")
    page.get_by_text("Kept; it counts from now on.").wait_for()
    page.get_by_role("button", name="Withdraw this sample").focus()
    page.keyboard.press("Space")
    page.get_by_text("Withdrawn: it no longer counts.").wait_for()
    with matref.open(place) as opened:
        assert opened.samples.list() == []


def test_plan_a_book_and_take_the_sheet_of_work(open_page: Callable[..., Page], tmp_path: Path) -> None:
    page = open_page()
    page.goto("/-/book")
    page.get_by_label("Width of the trimmed page").fill("4 in")
    page.get_by_label("Number of sections", exact=True).fill("5")
    page.get_by_label("Grammage on the label").fill("20 lb bond")
    page.get_by_role("button", name="Plan it").click()
    assert re.match(r"[\d.]+ mm \([\d.]+ to [\d.]+\)", page.locator("#spine").inner_text())
    assert page.locator(".drawings svg").count() >= 4
    assert page.get_by_text("Cut away from yourself").first.is_visible()
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Sheet of work (PDF)").click()
    waiting.value.save_as(tmp_path / "sheet.pdf")
    content = (tmp_path / "sheet.pdf").read_bytes()
    assert content.startswith(b"%PDF-")
    assert content.count(b"/Type /Page\n") + content.count(b"/Type /Page ") >= 2
    assert page.get_by_label("Width of the trimmed page").input_value() == "4 in"
    page.get_by_label("Number of sections", exact=True).fill("five")
    page.get_by_role("button", name="Plan it").click()
    assert page.get_by_label("Number of sections", exact=True).get_attribute("aria-invalid") == "true"


def test_one_bad_row_changes_nothing_and_is_named(open_page: Callable[..., Page], place: Path, tmp_path: Path) -> None:
    table = tmp_path / "piles.csv"
    table.write_text("label,size,sheets,mass\nloft,A4,20,98 g\nspoilt,A4,20,98 lions\n", encoding="utf-8")
    page = open_page()
    page.goto("/-/samples/import")
    page.get_by_label("A CSV file").set_input_files(table)
    page.get_by_role("button", name="Look at it first").click()
    assert "line 3" in page.get_by_role("alert").inner_text()
    assert page.get_by_role("button", name="Take in").count() == 0
    table.write_text("label,size,sheets,mass\nloft,A4,20,98 g\nlocker,A4,20,101 g\n", encoding="utf-8")
    page.get_by_label("A CSV file").set_input_files(table)
    page.get_by_role("button", name="Look at it first").click()
    with matref.open(place) as opened:
        assert opened.samples.list() == []
    page.get_by_role("button", name="Take in 2 samples").click()
    page.get_by_text("2 samples taken in.").wait_for()
    with matref.open(place) as opened:
        assert [s.label for s in opened.samples.list()] == ["loft", "locker"]


def test_scripts_in_stored_text_do_not_run(open_page: Callable[..., Page], place: Path) -> None:
    evil = "<script>document.title='taken'</script><img src=x onerror=\"document.title='taken'\">"
    with matref.open(place) as opened:
        made = opened.samples.add(evil, evil, grammage=80)
    page = open_page()
    for path in (
        "/",
        "/-/samples",
        f"/-/samples/{made.id}",
        "/shelf/sample",
        f"/shelf/sample/{made.id}",
        "/shelf?sql=select+label+from+sample",
    ):
        page.goto(path)
        assert page.title() != "taken"
        assert page.get_by_text("<script>document.title").count() >= 1
    # Even markup that came in unescaped could not run a script: the policy of the answer forbids it.
    page.evaluate("() => { const s = document.createElement('div'); s.innerHTML = '<i></i>'; document.body.append(s) }")


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_axe_finds_nothing(open_page: Callable[..., Page], place: Path, size: tuple[int, int]) -> None:
    try:
        from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
    except ImportError:
        _missing("axe-playwright-python")
    with matref.open(place) as opened:
        made = opened.samples.add("tide tables", paper_class="copier", size="A4", sheets=20, mass="98 g", note="dry")
        opened.samples.edit(made.id, mass="99 g")
    page = open_page(size)
    axe = Axe()
    tags: list[Any] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    for path in (*PAGES, f"/-/samples/{made.id}", "/shelf/sample"):
        page.goto(path)
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        found = axe.run(page, options={"runOnly": tags}).response["violations"]
        said = [(v["id"], v["help"], [n["html"][:200] for n in v["nodes"][:3]]) for v in found]
        assert said == [], path


@pytest.mark.parametrize("size", [PHONE, NARROW], ids=["phone", "320 px"])
def test_pages_fit_a_phone(open_page: Callable[..., Page], size: tuple[int, int]) -> None:
    page = open_page(size)
    for path in PAGES:
        page.goto(path)
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], path


def test_paper_gets_the_answer_without_the_form(open_page: Callable[..., Page]) -> None:
    page = open_page()
    page.goto(PAGES[2])
    page.emulate_media(media="print")
    assert page.locator("#caliper").is_visible()
    assert page.locator("svg.picture").first.is_visible()
    for gone in (".top nav", "form.evidence", ".find"):
        assert not page.locator(gone).is_visible()


def test_inches_are_remembered(open_page: Callable[..., Page]) -> None:
    page = open_page()
    page.goto("/-/pile")
    page.get_by_label("Sheets in the stack").fill("100")
    page.get_by_label("Thickness of the stack").fill("7/16")
    page.get_by_label("inches").check()
    page.get_by_role("button", name="Work it out").click()
    assert "thousandths of an inch" in page.locator("#caliper").inner_text()
    link = page.get_by_role("link", name="Link to this answer").get_attribute("href")
    page.goto("/-/pile")
    assert page.get_by_label("inches").is_checked()
    stranger = open_page()
    stranger.goto(link or "")
    assert "thousandths of an inch" in stranger.locator("#caliper").inner_text()
