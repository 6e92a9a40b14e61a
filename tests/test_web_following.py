"""A form on a screen while other hands are at it, the line goes, the lid is closed, the page goes.

What another hand does is put in from the patch, without fetching the form; a cell being typed in
is followed wherever its row goes, and what was typed is never lost or put anywhere else.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from made_server import Here, blank_job, browser, open_page, served
from made_waits import until
from ribband.app.entering.changes import Change, Edit, apply, apply_all
from ribband.app.screens.history import past
from ribband.store import JobFile

pytestmark = pytest.mark.slow

FRAMES = [[str(n), f"{n}-0-0", "", "", "", ""] for n in range(1, 13)]


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as chrome:
        yield chrome


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    job = blank_job(tmp_path_factory.mktemp("following"))
    vessel = Edit("vessel", None, ("unit", "ft-in-8ths", ""), 0)
    rows = tuple(Edit("frames", None, tuple(row), n) for n, row in enumerate(FRAMES))
    apply(job, Change("frames", "Ada", "frames", (vessel, *rows), 0))
    with served(job) as here:
        yield here


@pytest.fixture
def here(server: Here) -> Here:
    """The frames as they were at first."""
    with server.client() as client:
        back = {"id": secrets.token_hex(8), "number": 1}
        assert client.post("/api/history/back", json=back).status_code == 200
    return server


@pytest.fixture
def page(here: Here, chrome: Browser) -> Iterator[Page]:
    page = open_page(chrome, here.url("/measure#frames"))
    cell(page, 11, 1).wait_for()
    yield page
    page.context.close()


def cell(page: Page, row: int, col: int) -> Any:
    return page.locator(f'form-grid .grid-cell[data-row="{row}"][data-col="{col}"]')


def stand(page: Page, row: int, col: int) -> None:
    cell(page, row, col).click()
    expect(cell(page, row, col)).to_be_focused()


def rows(job: Path) -> list[tuple[str, ...]]:
    with JobFile.open(job) as file:
        return list(file.forms()["frames"].rows)


def newest(here: Here) -> int:
    with JobFile.open(here.job) as file:
        return file.newest()


def other(here: Here, *edits: Edit, name: str) -> None:
    """Another hand changes the frames by the API."""
    with here.client(headers={"x-ribband-who": "Bo"}) as client:
        upon = client.get("/api/job").json()["revision"]
        said = [{"form": e.form, "was": e.was, "now": e.now, "at": e.at} for e in edits]
        body = {"id": f"{name}-{upon}", "why": "", "upon": upon, "edits": said}
        assert client.post("/api/changes", json=body).status_code == 200


def at_row(n: int, **cells: str) -> tuple[str, ...]:
    names = ("frame", "position", "sided", "moulded", "double", "notes")
    return tuple(cells.get(name, was) for name, was in zip(names, FRAMES[n], strict=True))


def frames(n: int, **cells: str) -> Edit:
    return Edit("frames", at_row(n), at_row(n, **cells), n)


def test_what_other_hands_do_is_put_in_and_the_form_is_not_fetched(page: Page, here: Here) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    other(here, frames(2, sided="0-3-0"), name="one")
    expect(cell(page, 2, 2)).to_have_text("0-3-0")
    bad = ("x", "what", "", "", "", "")
    other(here, Edit("frames", None, bad, 12), Edit("frames", at_row(0), None, 0), name="two")
    expect(cell(page, 11, 1)).to_have_text("what")
    expect(cell(page, 11, 1)).to_have_attribute("aria-invalid", "true")
    expect(cell(page, 11, 1).locator("..").locator(".grid-number")).to_have_text("12")
    assert [url for url in asked if "/api/forms/" in url] == []
    page.reload()
    expect(cell(page, 11, 1)).to_have_attribute("aria-invalid", "true")
    expect(cell(page, 11, 1).locator("..").locator(".grid-number")).to_have_text("12")


def test_what_is_typed_goes_to_its_own_row_wherever_that_went(page: Page, here: Here) -> None:
    stand(page, 4, 2)
    page.keyboard.type("0-4")
    new = ("0", "0-6-0", "", "", "", "")
    other(here, Edit("frames", None, new, 0), Edit("frames", None, new, 1),
          Edit("frames", at_row(4), at_row(4, notes="hers"), 6), name="above")  # fmt: skip
    expect(cell(page, 6, 5)).to_have_text("hers")
    expect(page.locator(".grid-input")).to_have_value("0-4")
    page.keyboard.type("-0")
    page.keyboard.press("Enter")
    until(lambda: rows(here.job)[6][2:] == ("0-4-0", "", "", "hers"))
    assert [row[2] for row in rows(here.job)].count("0-4-0") == 1
    expect(cell(page, 6, 2)).to_have_text("0-4-0")
    stand(page, 8, 2)
    page.keyboard.type("9")
    other(here, Edit("frames", at_row(6), None, 8), name="taken")
    expect(cell(page, 8, 0)).to_have_text("8")
    page.keyboard.press("Enter")
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("taken out")
    dialog.get_by_role("button", name="Keep Bo's").click()
    expect(cell(page, 8, 2)).to_have_text("")
    assert "9" not in [row[2] for row in rows(here.job)]


def test_ten_edits_with_the_line_lost_in_the_middle(page: Page, here: Here) -> None:
    first = newest(here)
    stand(page, 0, 3)
    for n in range(10):
        if n in {4, 8}:
            page.context.set_offline(n == 4)
        page.keyboard.type(f"0-{n}-1")
        page.keyboard.press("Enter")
    wanted = [f"0-{n}-1" for n in range(10)]
    until(lambda: [row[3] for row in rows(here.job)[:10]] == wanted)
    assert [cell(page, n, 3).text_content() for n in range(10)] == wanted
    assert newest(here) == first + 10, "each once"


def test_a_page_that_goes_keeps_what_is_being_typed(page: Page, here: Here) -> None:
    stand(page, 3, 2)
    page.keyboard.type("0-5-5")
    page.goto(here.url("/history"))
    until(lambda: rows(here.job)[3][2] == "0-5-5")


def test_a_lid_closed_for_an_hour(here: Here, chrome: Browser) -> None:
    """The timers stood still meanwhile, the server was killed and begun again, others went on."""
    page = open_page(chrome, "about:blank")
    page.clock.install()
    page.goto(here.url("/measure#frames"))
    stand(page, 3, 2)
    page.keyboard.type("0-5")
    here.kill()
    page.clock.pause_at(time.time() + 60)
    here.start_again()
    other(here, frames(8, sided="0-8-0"), name="meanwhile")
    page.clock.fast_forward("01:00:00")
    page.clock.resume()
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(cell(page, 8, 2)).to_have_text("0-8-0")
    expect(page.locator(".grid-input")).to_have_value("0-5")
    page.keyboard.type("-1")
    page.keyboard.press("Enter")
    until(lambda: [rows(here.job)[n][2] for n in (3, 8)] == ["0-5-1", "0-8-0"])
    page.context.close()


def test_the_history_comes_a_stretch_at_a_time(here: Here, chrome: Browser) -> None:
    first = newest(here)
    rules = [(f"lining.wish_{n}", "1", "") for n in range(70)]
    apply_all(here.job, [
        Change(f"rule-{n}", "Ada", f"rule {n}", (Edit("rules", None, row, n),), first + n)
        for n, row in enumerate(rules)
    ])  # fmt: skip
    last = first + 70
    seen = past(here.job, before=first + 41, limit=15)
    numbers = [r.number for r in seen.revisions]
    assert numbers == list(range(first + 26, first + 41))
    assert (seen.newest, seen.older) == (last, first + 25)
    assert past(here.job, before=1).revisions == ()
    with here.client() as client:
        assert len(client.get("/api/history").json()["revisions"]) == min(last, 100)
        few = client.get(f"/api/history?limit=2&before={last}").json()
        assert [r["number"] for r in few["revisions"]] == [last - 2, last - 1]
        assert client.get("/api/history?limit=5000").status_code == 422
    assert [t.cells for t in seen.touched] == [2] * 15  # rule and value of a row put in
    assert {(t.form, t.first, t.columns) for t in seen.touched} == {
        ("rules", "rule", ("rule", "value"))
    }
    page = open_page(chrome, here.url("/history"), "phone")
    together = page.locator("#revisions > li.run").first
    expect(together).to_contain_text(f"{last - 59}–{last}")
    expect(together).to_contain_text("rules: 120 cells; rule lining.wish_10 to lining.wish_69")
    page.get_by_role("button", name=f"Older ones: {last - 60}").tap()
    expect(together).to_contain_text(f"{first + 1}–{last}")  # what came joins its run
    expect(together).to_contain_text("140 cells")
    assert together.locator("ol li").count() == 0
    together.get_by_role("button", name="Each of the 70 revisions").tap()
    expect(together.locator("ol li")).to_have_count(70)
    together.get_by_role("button", name="rule 41", exact=False).tap()
    expect(page.locator("#both-title")).to_have_text(
        f"Revision {first + 41} and revision {first + 42}"
    )
    page.get_by_label("Was").fill("1")
    page.get_by_label("Was").press("Enter")
    expect(page.locator("#both-title")).to_have_text(f"Revision 1 and revision {first + 42}")
    expect(page.locator(".whose")).to_contain_text("frames")
    assert page.troubles == []  # type: ignore[attr-defined]
    page.context.close()
