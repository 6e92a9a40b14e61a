"""Every figure of a page can be asked after: by a click, by keys, and named for a screen reader."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Route, expect

from made_server import Here, browser, faults_of, open_page, served
from ribband.app.entering.changes import Change, Clash, Edit, apply
from ribband.app.entering.jobs import new_job
from ribband.app.plan.planning import plan
from ribband.app.why.ready import kept_ready, tables_ready
from ribband.app.why.traced import why
from ribband.store import JobFile

GIRTHS = Path(str(files("ribband").joinpath("data", "examples", "marl_heron_girths")))


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    job = new_job(tmp_path_factory.mktemp("why") / "heron.ribband", GIRTHS, "Ada").job
    plan(job, "planks", seconds=0.5)
    with served(job) as found:
        yield found


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as found:
        yield found


def test_a_figure_is_asked_after_by_keys_and_says_what_it_came_from(
    here: Here, chrome: Browser
) -> None:
    page = open_page(chrome, here.url("/"))
    ask = page.get_by_role("button", name="Why widest")
    expect(ask).to_be_visible()
    expect(ask).to_contain_text("§")  # widths lean on common practice
    assert "leans on common practice" in (ask.get_attribute("aria-label") or "")
    ask.focus()
    page.keyboard.press("Enter")
    told = page.get_by_role("dialog", name="Why: widest")
    expect(told).to_be_visible()
    own = why(here.job, "widest", "widest", made=True)
    assert own.known
    for words in (*(one.value for one in own.values), "lining.garboard", "common practice",
                  "revision 1, Ada", own.steps[-1].key[:12], "docs/lining.md"):  # fmt: skip
        expect(told).to_contain_text(words)
    assert faults_of(page) == []
    page.keyboard.press("Escape")
    expect(told).to_have_count(0)
    expect(ask).to_be_focused()
    assert page.troubles == []  # type: ignore[attr-defined]


def test_it_is_said_at_once_that_it_is_looked_up(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/"))
    asked: list[Route] = []
    page.route("**/api/why?*", lambda route: asked.append(route))  # noqa: PLW0108
    page.get_by_role("button", name="Why widest").click()
    told = page.get_by_role("dialog", name="Why: widest")
    expect(told).to_contain_text("Being looked up")
    expect(told.get_by_text("Method")).to_have_count(0)
    asked[0].continue_()
    expect(told.get_by_role("heading", name="Method")).to_be_visible()
    expect(told).not_to_contain_text("Being looked up")
    assert page.troubles == []  # type: ignore[attr-defined]


def test_the_cells_of_tables_are_asked_after_while_it_is_on(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/planks"))
    page.locator("tr[data-plank]").first.wait_for()
    assert page.locator("td > button.why").count() == 0
    page.locator("#work").focus()
    page.keyboard.press("?")
    switch = page.get_by_role("button", name="Why: ask after any figure")
    expect(switch).to_have_attribute("aria-pressed", "true")
    name = page.locator("tr[data-plank]").nth(3).get_attribute("data-plank")
    page.get_by_role("button", name=f"Why length {name}").click()
    told = page.get_by_role("dialog", name=f"Why: length, {name}")
    expect(told).to_contain_text("along its middle")
    told.get_by_role("button", name="Close").click()
    switch.click()
    expect(page.locator("td > button.why")).to_have_count(0)
    assert page.troubles == []  # type: ignore[attr-defined]


def test_a_stale_figure_says_so_and_the_sources_have_a_page(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/sources"))
    expect(page.get_by_role("heading", name="from memory")).to_be_visible()
    assert faults_of(page) == []
    page.get_by_role("link", name="API").wait_for()
    with here.client() as client:
        body = client.get("/api/why", params={"thing": "P1-1 steam"}).json()
    assert [bool(step["at"]) for step in body["steps"]][-1] is False
    assert {one["value"] for one in body["values"]} == {"not known"}


def test_what_is_held_ready_is_read_anew_once_the_job_has_changed(here: Here) -> None:
    first = kept_ready(here.job)
    assert kept_ready(here.job) is first
    assert tables_ready(first) is tables_ready(first)
    with JobFile.open(here.job) as job:
        form = job.forms()["vessel"]
    noted = (*form.rows, tuple("remark" if not n else "" for n in range(len(form.header))))
    change = Change("one", "Ada", "", (Edit("vessel", None, noted[-1], len(form.rows)),), 1)
    assert not isinstance(apply(here.job, change), Clash)
    assert kept_ready(here.job) is not first
