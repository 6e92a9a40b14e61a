"""Planks and hull beside a dragged seam, and a stealer's nib dragged, in a browser."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from made_server import Here, browser, faults_of, heron_job, open_page, served
from made_waits import until

CROSSING = """([row, column]) => { const c = document.querySelector('plank-expansion');
  const f = c.ground.frames[column - 1]; const b = c.svg.getBoundingClientRect();
  const p = c.px(f.x, f.rise + c.girths.upper[row][column] / 10);
  return [p[0] + b.left, p[1] + b.top]; }"""
SUMS = """() => { const v = document.querySelector('hull-view'), gl = v?.gl;
  if (!gl || !v.points) return 0;
  gl.bindBuffer(gl.ARRAY_BUFFER, v.points);
  const a = new Float32Array(v.own);
  gl.getBufferSubData(gl.ARRAY_BUFFER, 0, a);
  return a.reduce((s, x) => s + x * x, 0); }"""


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(heron_job(tmp_path_factory.mktemp("planks"), last="shapes")) as server:
        yield server


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser(solid=True) as opened:  # one for all: two cannot be open in one run
        yield opened


def shown(chrome: Browser, here: Here, size: str = "desktop") -> Page:
    page = open_page(chrome, here.url("/line-out"), size)
    page.wait_for_selector("body[data-ready='1'][data-shown]")
    page.locator("#chart").scroll_into_view_if_needed()
    return page


def wishes(here: Here, kind: str) -> list[list[str]]:
    with here.client() as client:
        rows = client.get("/api/forms/lining").json()["rows"]
    return [row[1:4] for row in rows if row[0] == kind]


def listed(page: Page) -> list[str]:
    return page.locator("#planks tbody tr").all_inner_texts()


def nib(page: Page) -> tuple[float, float]:
    """Give the middle of the grip; it is drawn anew once the page hears of what was asked."""
    found: list[Any] = []
    until(lambda: found.append(page.locator(".nib-grip").bounding_box()) or found[-1], 30.0)
    box = found[-1]
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def stood(page: Page) -> list[Any]:
    """Give the stealers as they are drawn: name and frame of the squared end."""
    found: list[Any] = page.evaluate(
        "() => document.querySelector('plank-expansion').strakes"
        ".filter((s) => s.stealer).map((s) => [s.name, s.nib])"
    )
    return found


def test_planks_are_laid_flat_while_their_seam_is_dragged_and_the_hull_follows(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here)
    page.wait_for_selector("#hull-sheet:not([hidden])")
    assert page.locator("hull-view").count() == 0, "not fetched before it comes in sight"
    page.locator("#hull-sheet").scroll_into_view_if_needed()
    page.wait_for_selector("#hull-state >> text=of now")
    still = page.evaluate(SUMS)
    assert still > 0
    page.set_viewport_size({"width": 1440, "height": 2300})  # chart and hull both in sight
    page.locator("#chart").scroll_into_view_if_needed()
    x, y = page.evaluate(CROSSING, [8, 21])
    page.mouse.click(x, y)
    page.wait_for_selector("#planks .tag.good >> text=of now")
    before = listed(page)
    assert len(before) == page.locator("#planks tbody svg").count() > 3
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 9, steps=3)
    page.wait_for_selector("#planks .before", state="attached")
    page.wait_for_selector("#planks td small >> text=was")
    assert listed(page) != before, "other figures while the hand is still down"
    assert page.locator(".grip.moving").count() == 1
    page.wait_for_timeout(600)
    assert page.evaluate(SUMS) != pytest.approx(still, rel=1e-9), "the hull has followed"
    page.route("**/api/line-out/move", lambda route: route.abort())
    page.mouse.move(x, y - 14, steps=2)
    page.wait_for_selector("#planks .tag.stale >> text=of before the last move")
    page.unroute("**/api/line-out/move")
    page.keyboard.press("Escape")
    page.mouse.up()
    page.wait_for_selector("#planks .tag.good >> text=of now")
    assert listed(page) == before
    page.context.close()


def test_a_nib_is_dragged_by_mouse_and_keys_and_undone(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    form = page.locator("#stealer-form")
    for name, value in (("strake", "6"), ("frame", "15"), ("to_frame", "stem")):
        form.locator(f"select[name={name}]").select_option(value)
    form.locator("button").click()
    page.wait_for_selector(".nib-grip")
    assert stood(page) == [["6s", "15"]]
    page.locator("#chart").scroll_into_view_if_needed()
    x, y = nib(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y, steps=4)
    page.wait_for_selector(".nib-grip.moving")
    page.wait_for_selector("#explain .tag.good >> text=no clash")
    page.wait_for_selector("#planks tbody tr")
    assert int(stood(page)[0][1]) > 15, "drawn where it is while the hand is still down"
    assert wishes(here, "stealer") == [["6", "15", "stem"]], "and nothing changed yet"
    page.mouse.up()
    page.wait_for_selector("#wishes:not(:has-text('squared end at frame 15'))")
    (wish,) = wishes(here, "stealer")
    assert (wish[0], wish[2]) == ("6", "stem")
    assert int(wish[1]) > 15
    page.locator("#chart svg").focus()
    page.keyboard.press("n")
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("ArrowLeft")
    page.wait_for_selector("#explain >> text=above strake 7")
    page.keyboard.press("Escape")
    page.wait_for_selector(f"#explain >> text=on frame {wish[1]}, above strake 6")
    assert wishes(here, "stealer") == [wish]
    page.keyboard.press("Shift+ArrowUp")
    page.wait_for_selector("#explain >> text=above strake 7")
    page.keyboard.press("Enter")
    page.wait_for_selector("#wishes >> text=a stealer above strake 7")
    page.locator("#undo").click()
    page.wait_for_selector("#wishes >> text=a stealer above strake 6")
    page.wait_for_selector("#stealers >> text=above strake 6")
    assert stood(page) == [["6s", wish[1]]]
    assert page.troubles == []  # type: ignore[attr-defined]
    page.context.close()


def test_a_nib_is_dragged_by_touch_and_what_cannot_be_is_said(chrome: Browser, here: Here) -> None:
    """The stealer of the test before stands."""
    page = shown(chrome, here, "tablet")
    page.wait_for_selector(".nib-grip")
    (name, frame), touch = stood(page)[0], page.context.new_cdp_session(page)

    def finger(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": px, "y": py, "id": 0} for px, py in at]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    x, y = nib(page)
    page.touchscreen.tap(x, y)
    page.wait_for_selector(".nib-grip.chosen")
    assert f"Stealer {name}: squared end on frame {frame}" in page.locator("#explain").inner_text()
    finger("touchStart", (x, y))
    page.wait_for_timeout(220)
    for n in range(1, 5):
        finger("touchMove", (x + 12 * n, y))
    page.wait_for_selector(".nib-grip.moving")
    page.wait_for_selector(f"#explain:not(:has-text('on frame {frame},'))")
    far = page.evaluate("() => { const c = document.querySelector('plank-expansion'); "
                        "return c.px(c.ground.frames[0].x, 0)[0]; }")  # fmt: skip
    finger("touchMove", (far + page.locator("#chart").bounding_box()["x"], y))  # type: ignore[index]
    page.wait_for_selector("#explain .tag.fault >> text=clash")
    assert "no shorter than" in page.locator("#explain").inner_text()
    finger("touchEnd")
    page.wait_for_selector(".nib-grip:not(.moving)")
    assert stood(page) == [[name, frame]], "it went back"
    page.context.close()


def test_the_panel_is_in_nobodys_way_at_night(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here, "tablet")
    page.evaluate("() => { document.documentElement.dataset.light = 'night'; }")
    x, y = page.evaluate(CROSSING, [8, 21])
    page.touchscreen.tap(x, y)
    page.wait_for_selector("#planks .tag.good >> text=of now")
    assert faults_of(page) == []
    page.context.close()
