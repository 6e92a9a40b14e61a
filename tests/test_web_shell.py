"""Every page in the list: it opens, is usable by all, and asks nothing of the world outside."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser

from made_server import SIZES, Here, browser, faults_of, heron_job, open_page, served
from ribband.web.pages import PAGES

PATHS = [*(page.path for page in PAGES), "/api"]


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    job: Path = heron_job(tmp_path_factory.mktemp("job"), last="shapes")
    with served(job) as here:
        yield here


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as chrome:
        yield chrome


@pytest.mark.parametrize("path", PATHS)
def test_a_page_opens_without_a_fault(here: Here, chrome: Browser, path: str) -> None:
    page = open_page(chrome, here.url(path))
    page.wait_for_timeout(300)
    assert page.locator("h1").count() >= 1
    assert page.troubles == []  # type: ignore[attr-defined]
    assert faults_of(page) == []
    page.context.close()


@pytest.mark.parametrize("light", ["office", "sun", "night"])
def test_every_light_can_be_read(here: Here, chrome: Browser, light: str) -> None:
    page = open_page(chrome, here.url("/"))
    page.evaluate(f"document.documentElement.dataset.light = '{light}'")
    assert faults_of(page) == []
    page.context.close()


@pytest.mark.parametrize("size", SIZES)
def test_no_page_is_wider_than_the_screen(here: Here, chrome: Browser, size: str) -> None:
    for path in PATHS:
        page = open_page(chrome, here.url(path), size)
        page.wait_for_timeout(150)
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 1, (path, size, wide)
        page.context.close()


def test_nothing_is_fetched_from_outside(here: Here, chrome: Browser) -> None:
    asked: list[str] = []
    for path in PATHS:
        page = open_page(chrome, "about:blank")
        page.on("request", lambda request: asked.append(request.url))
        page.goto(here.url(path))
        page.wait_for_timeout(400)
        page.context.close()
    hosts = {urlsplit(url).netloc for url in asked if not url.startswith(("data:", "blob:"))}
    assert hosts == {urlsplit(here.address).netloc}
