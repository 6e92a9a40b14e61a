"""Every page in the list: it opens, is usable by all, and asks nothing of the world outside."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, expect

from made_server import Here, blank_job, browser, faults_of, heron_job, open_page, served
from ribband.web.pages import PAGES

pytestmark = pytest.mark.slow

PATHS = [*(page.path for page in PAGES), "/api"]
WIDER = "document.documentElement.scrollWidth - innerWidth"
SMALL = """() => [...document.querySelectorAll('button, select, .button, .rail a')]
  .filter((e) => e.checkVisibility() && !e.closest('#sayings'))
  .map((e) => [e.textContent.trim() || e.ariaLabel, e.getBoundingClientRect()])
  .filter(([, box]) => box.height < 44 || box.width < 44)
  .map(([name, box]) => `${name} ${box.width} x ${box.height}`)"""
SPILT = """() => [...document.querySelectorAll('button, .button')]
  .filter((e) => e.checkVisibility() && !e.closest('#people, .unseen'))
  .filter((e) => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 1)
  .map((e) => `${e.textContent.trim()} ${e.scrollWidth} in ${e.clientWidth}`)"""
TINY = """() => [...document.querySelectorAll('main svg text')]
  .filter((e) => e.checkVisibility() && e.textContent.trim())
  .map((e) => [e, e.getScreenCTM()])
  .map(([e, m]) => [e, parseFloat(getComputedStyle(e).fontSize) * Math.hypot(m.a, m.b)])
  .filter(([, high]) => high < 11.5)
  .map(([e, high]) => `${e.textContent} ${high.toFixed(1)} px`)"""


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    job: Path = heron_job(tmp_path_factory.mktemp("job"), last="shapes")
    with served(job) as here:
        yield here


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as chrome:
        yield chrome


ASKING = "() => import('/static/js/job.js').then(({ job }) => job.asking)"


def settled(page: Page) -> None:
    """Wait until the page has been read, and all it asks the server for is there and drawn."""
    if page.locator(".rail").count():
        page.wait_for_selector("body[data-ready]", state="attached")
    quiet = 0
    while quiet < 2:  # what is answered may ask for more
        quiet = quiet + 1 if page.evaluate(ASKING) == 0 else 0
        page.wait_for_timeout(50)


@pytest.mark.parametrize("path", PATHS)
def test_a_page_opens_without_a_fault_and_asks_nothing_of_the_world(
    here: Here, chrome: Browser, path: str
) -> None:
    page = open_page(chrome, "about:blank")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(here.url(path))
    settled(page)
    assert page.locator("h1").count() >= 1
    assert page.troubles == []  # type: ignore[attr-defined]
    assert faults_of(page) == []
    assert page.evaluate(WIDER) <= 1
    on_paper_there_is_nothing_to_press(page)
    hosts = {urlsplit(url).netloc for url in asked if not url.startswith(("data:", "blob:"))}
    assert hosts == {urlsplit(here.address).netloc}
    page.context.close()


def on_paper_there_is_nothing_to_press(page: Page) -> None:
    page.evaluate("() => { document.documentElement.dataset.light = 'night' }")
    page.emulate_media(media="print")
    # what is known by a button's words stays on paper, as words
    assert page.locator("button:visible:not(.of, .on-paper)").count() == 0
    ground = "() => getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(ground) == "rgb(255, 255, 255)"
    assert page.pdf().startswith(b"%PDF")


@pytest.mark.parametrize("light", ["office", "sun", "night"])
def test_every_light_can_be_read(here: Here, chrome: Browser, light: str) -> None:
    page = open_page(chrome, here.url("/"))
    page.evaluate(f"document.documentElement.dataset.light = '{light}'")
    assert faults_of(page) == []
    page.context.close()


def test_the_pages_lie_behind_one_plank_on_a_phone(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/"), "phone")
    link = page.get_by_role("link", name="History", exact=True)
    expect(link).to_be_hidden()
    plank = page.get_by_role("button", name="Overview")
    plank.tap()
    assert plank.get_attribute("aria-expanded") == "true"
    link.tap()
    expect(page.locator("h1")).to_have_text("History")
    page.context.close()


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_by_touch_a_page_fits_the_screen_and_gloves_can_press_what_is_on_it(
    here: Here, chrome: Browser, size: str
) -> None:
    page = open_page(chrome, "about:blank", size)
    for path in PATHS:
        page.goto(here.url(path))
        settled(page)
        assert page.evaluate(WIDER) <= 1, path
        assert page.evaluate(SMALL) == [], path
        assert page.evaluate(SPILT) == [], path
        assert page.evaluate(TINY) == [], path
    page.context.close()


def test_every_page_is_reached_and_left_by_keyboard(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/"))
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the sheet")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#work")).to_be_focused()
    page.get_by_role("link", name="History", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("History")
    page.context.close()


def test_every_page_opens_on_a_job_with_nothing_in_it(chrome: Browser, tmp_path: Path) -> None:
    with served(blank_job(tmp_path)) as here:
        page = open_page(chrome, "about:blank")
        for path in PATHS:
            page.goto(here.url(path))
            settled(page)
            assert page.troubles == [], path  # type: ignore[attr-defined]
            assert faults_of(page) == [], path
        page.context.close()
