"""The timber's page: planks on boards, pinned elsewhere, flaws drawn, boards spoilt."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, expect

from made_server import Here, browser, heron_job, open_page, served
from made_waits import until
from ribband.units import format_length


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    job = heron_job(tmp_path_factory.mktemp("timber"), last="order")
    with served(job) as found:
        yield found


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def forms(here: Here, name: str) -> list[dict[str, str]]:
    with here.client() as client:
        form = client.get(f"/api/forms/{name}").json()
    return [dict(zip(form["header"], row, strict=True)) for row in form["rows"]]


def test_a_board_is_gone_to_by_its_mark_and_the_saws_papers_are_to_be_had(
    here: Here, chrome: Browser
) -> None:
    page = open_page(chrome, here.url("/timber"), "tablet", who="Ada")
    page.wait_for_selector(".on-board")
    page.select_option("#which", "cut")
    with here.client() as client:
        every = client.get("/api/timber").json()["boards"]
    free = next(board["name"] for board in every if not board["planks"])
    page.fill("#go-to", f" {free.lower()} ")
    page.press("#go-to", "Enter")
    expect(page.locator(f'li[data-board="{free}"]')).to_be_focused()
    expect(page.locator(f'li[data-board="{free}"]')).to_be_in_viewport()
    page.fill("#go-to", "no such board")
    page.press("#go-to", "Enter")
    expect(page.locator("#sayings")).to_contain_text("There is no board no such board")
    page.locator(".on-board").first.click()
    expect(page.locator("#chosen")).to_be_visible()
    page.click("#put-away")
    expect(page.locator("#chosen")).to_be_hidden()
    with here.client() as client:
        for path in ("drawings/boards.pdf", "drawings/milling.pdf", "downloads/labels"):
            answer = client.get(f"/api/{path}")
            assert answer.status_code == 200, answer.text
            assert answer.content.startswith(b"%PDF")
    assert not page.troubles
    page.context.close()


def test_a_plank_is_carried_to_another_board_and_pinned_there(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/timber"), "desktop", who="Ada")
    page.wait_for_selector(".on-board")
    plank = page.locator(".on-board").first
    name = plank.get_attribute("data-plank")
    own = plank.locator("xpath=ancestor::li").get_attribute("data-board")
    to = page.locator(f'li[data-board]:not([data-board="{own}"])').first
    target = to.get_attribute("data-board")
    a, b = plank.bounding_box(), to.locator("svg").bounding_box()
    assert a
    assert b
    page.mouse.move(a["x"] + a["width"] / 2, a["y"] + a["height"] / 2)
    page.mouse.down()
    page.mouse.move(b["x"] + b["width"] / 2, b["y"] + b["height"] / 2, steps=6)
    page.mouse.up()
    page.wait_for_selector(f"#chosen-title:has-text('{name}')")
    page.wait_for_timeout(400)
    assert not page.troubles
    page.context.close()
    assert {"wish": "pin", "plank": name, "board": target}.items() <= forms(here, "layings")[
        -1
    ].items()


def test_a_drawn_flaw_is_written_in_the_words_of_the_tally(here: Here, chrome: Browser) -> None:
    board = forms(here, "boards")[0]["board"]
    page = open_page(chrome, here.url("/timber"), "desktop", who="Ada")
    page.wait_for_selector(".board-line")
    page.select_option("#kind", "shake")
    page.click("#mark")
    box = page.locator(f'li[data-board="{board}"] svg').bounding_box()
    assert box
    page.mouse.move(box["x"] + 0.4 * box["width"], box["y"] + 0.45 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.55 * box["height"], steps=4)
    page.mouse.up()
    page.fill("dialog [name=figure-0]", "as far as it goes")
    page.click("dialog button.main")
    expect(page.locator("dialog [role=alert]")).to_contain_text("from: found “as far as it goes”")
    page.fill("dialog [name=figure-0]", "1 m")
    page.fill("dialog [name=figure-1]", "1.2 m")
    page.click("dialog button.main")
    page.wait_for_selector("dialog", state="detached")
    page.wait_for_timeout(400)
    assert not [said for said in page.troubles if "422" not in said]
    page.context.close()
    with here.client() as client:
        unit = client.get("/api/job").json()["unit"]
    along = f"shake from {format_length(1000, unit)} to {format_length(1200, unit)} up"
    assert along in forms(here, "boards")[0]["flaws"]
    with here.client() as client:
        assert not client.get("/api/forms/boards").json()["problems"]


def test_a_spoilt_board_is_marked_on_its_form(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/timber"), "tablet", who="Ada")
    page.wait_for_selector(".board-line")
    card = page.locator("li[data-board]").filter(has=page.locator("header button")).nth(2)
    name = card.get_attribute("data-board")
    page.route("**/api/changes", lambda route: route.abort())  # the server is not heard
    card.locator("header button").click()
    page.click("dialog button.main")
    own = page.locator(f'li[data-board="{name}"]')
    expect(own).to_have_class("spoilt old")  # and no plank is taken from it meanwhile
    page.unroute("**/api/changes")
    until(lambda: any(row.get("state") == "spoilt" for row in forms(here, "boards")), 60)
    with here.client() as client:  # another tablet: the state is typed, it waits for no tally
        boards = {board["name"]: board for board in client.get("/api/timber").json()["boards"]}
    assert boards[name]["state"] == "spoilt"
    assert not [said for said in page.troubles if "ERR_FAILED" not in said]
    page.context.close()


def test_laying_longer_leaves_the_butts_alone(here: Here) -> None:
    with here.client() as client:
        assert worked(client, seconds=1.5)["state"] == "done"
        before = client.get("/api/butts").json()["sides"]
        assert worked(client, seconds=0.5)["state"] == "done"
        assert client.get("/api/butts").json()["sides"] == before


def worked(client: httpx.Client, seconds: float) -> dict[str, Any]:
    client.post("/api/work", json={"last": "laying", "seconds": seconds}).raise_for_status()
    for _ in range(1000):
        work: dict[str, Any] = client.get("/api/work").json()
        if work["state"] not in {"waiting", "running"}:
            return work
        time.sleep(0.1)
    raise AssertionError("it did not end")


def test_a_column_the_form_lacks_is_put_in_by_hand(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/timber"), "desktop", who="Ada")
    page.locator("#typed > summary").click()
    boards = page.locator("#typed-in form-grid").first
    boards.get_by_role("button", name="Add column").click()
    page.get_by_role("dialog").get_by_role("button", name="price: of the board").click()
    expect(boards.get_by_role("columnheader", name="price")).to_be_visible()
    with here.client() as client:
        until(lambda: "price" in client.get("/api/forms/boards").json()["header"])
        form = client.get("/api/forms/boards").json()
    assert "price" not in {one["name"] for one in form["more"]}
    assert form["columns"][form["header"].index("price")]["says"].startswith("of the board")
    titles = page.locator("#typed-in h3").all_inner_texts()
    assert "Outlines of boards, where widths do not tell their shape" in titles
    page.evaluate("import('/static/js/job.js').then(({job}) => job.undo())")
    expect(boards.get_by_role("columnheader", name="price")).to_have_count(0)
    assert not page.troubles


def test_both_sides_of_a_plank_are_wished_out_of_one_board(here: Here, chrome: Browser) -> None:
    """The same button again lets it go; a whole strake is one row too."""
    page = open_page(chrome, here.url("/timber"), "desktop", who="Ada")
    page.wait_for_selector('.on-board[data-plank="P5-1"]')
    page.locator('.on-board[data-plank="P5-1"]').press("Enter")
    page.click("#pair")
    expect(page.locator("#pair")).to_have_attribute("aria-pressed", "true", timeout=20_000)
    expect(page.locator("#sides-say")).to_contain_text(re.compile("Wished; not laid|Pair of S5-1"))
    assert {"wish": "pair", "plank": "5-1", "board": ""}.items() <= forms(here, "layings")[
        -1
    ].items()
    page.click("#book")
    until(lambda: forms(here, "layings")[-1]["wish"] == "book")
    expect(page.locator("#book")).to_have_attribute("aria-pressed", "true", timeout=20_000)
    page.click("#book")
    until(lambda: not [row for row in forms(here, "layings") if row["plank"] == "5-1"])
    page.select_option("#sides-of", "5")
    page.click("#pair")
    until(lambda: forms(here, "layings")[-1]["plank"] == "5")
    assert not page.troubles
    page.context.close()
