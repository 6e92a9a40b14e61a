"""The first opening of a page: what it brings along, so that little has to be asked for."""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from made_client import TestClient
from made_server import browser, heron_job, served
from ribband.web.fonts import FACES, font_path
from ribband.web.pages import PAGES, STATIC, scripts_of
from ribband.web.server import create_app

IMPORT = re.compile(r'(?:from|import)\s+"(/static/js/[^"]+)"')


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return heron_job(tmp_path_factory.mktemp("first"))


@pytest.fixture(scope="module")
def here(job: Path) -> Iterator[TestClient]:
    with TestClient(create_app(job, by_itself=False), base_url="http://127.0.0.1") as client:
        yield client


def test_a_page_comes_with_what_would_be_asked_for_at_once(here: TestClient) -> None:
    for page in PAGES:
        text = here.get(page.path).text
        found = re.search(r'id="first-view">(.*?)</script>', text, re.DOTALL)
        assert found, page.name
        assert json.loads(found[1]) == here.get("/api/job").json(), page.name


def test_every_script_a_page_imports_is_named_in_its_head(here: TestClient) -> None:
    for page in PAGES:
        named = set(re.findall(r'rel="modulepreload" href="([^"]+)"', here.get(page.path).text))
        assert f"/static/js/{page.name}.js" in named
        for script in named:
            text = (STATIC / script.removeprefix("/static/")).read_text("utf-8")
            lines = [ln for ln in text.splitlines() if ln.startswith(("import", "export"))]
            assert set(IMPORT.findall("\n".join(lines))) <= named, script


def test_scripts_are_listed_once_and_are_there() -> None:
    scripts = scripts_of("line-out")
    assert len(set(scripts)) == len(scripts)
    assert all((STATIC / s.removeprefix("/static/")).is_file() for s in scripts)
    assert scripts_of("no-such-page") == scripts_of("nor-this")


def test_faces_come_packed_to_whoever_can_unpack_them(here: TestClient) -> None:
    for name in FACES:
        path = font_path(f"{name}.ttf")
        assert path is not None
        whole = here.get(f"/fonts/{name}.ttf", headers={"accept-encoding": "identity"})
        packed = here.get(f"/fonts/{name}.ttf", headers={"accept-encoding": "gzip"})
        assert whole.content == packed.content == path.read_bytes()
        assert "content-encoding" not in whole.headers
        assert packed.headers["content-encoding"] == "gzip"
        assert int(packed.headers["content-length"]) < len(gzip.compress(whole.content, 1))


def test_the_overview_asks_for_its_own_data_once_and_not_for_the_job(job: Path) -> None:
    with served(job) as here, browser() as chrome:
        page = chrome.new_page()
        asked: list[str] = []
        page.on("request", lambda r: asked.append(r.url.partition(str(here.port))[2]))
        page.goto(here.url("/"))
        page.wait_for_selector("body[data-ready]", state="attached")
        page.wait_for_timeout(600)
    assert asked.count("/api/overview") == 1
    assert "/api/job" not in asked
    assert len(asked) <= 25
