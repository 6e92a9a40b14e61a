"""The page of butts in a browser: dragging with mouse, finger and keys, wishes, rules, the rule."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from made_server import Here, browser, faults_of, heron_job, open_page, served


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(heron_job(tmp_path_factory.mktemp("butts"), last="butts")) as server:
        yield server


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def shown(chrome: Browser, here: Here, size: str = "desktop") -> Page:
    page = open_page(chrome, here.url("/butts"), size)
    page.wait_for_selector(".butt")
    return page


def middle(page: Page, name: str) -> tuple[float, float]:
    """Give the middle of a butt on the screen, by the beginning of its name."""
    butt = page.locator(f".butt[aria-label^='{name}']").first
    butt.scroll_into_view_if_needed()
    box = butt.locator(".reach").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def frame_x(page: Page, frame: str) -> float:
    """Give where a frame stands across the screen."""
    return float(page.evaluate(
        """(name) => { const c = document.querySelector('plank-expansion');
        const f = c.ground.frames.find((one) => one.name === name);
        return c.px(f.x, 0)[0] + c.svg.getBoundingClientRect().left; }""", frame,
    ))  # fmt: skip


def wishes(here: Here) -> list[list[str]]:
    with here.client() as client:
        rows: list[list[str]] = client.get("/api/forms/butts").json()["rows"]
        return rows


def revision(here: Here) -> int:
    with here.client() as client:
        return int(client.get("/api/job").json()["revision"])


def test_a_dragged_butt_shows_its_clashes_and_is_pinned_where_it_is_dropped(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here)
    x, y = middle(page, "Butt, strake 6, frame 18")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(frame_x(page, "3"), y, steps=6)
    page.wait_for_selector("#clashes li:has-text('strake 6, frame 3')")
    said = page.locator("#clashes").inner_text()
    assert "butt stands from the end of its strake" in said
    assert page.locator(".butt.moving.clashes").count() == 1
    before = wishes(here)
    page.mouse.move(frame_x(page, "19"), y, steps=4)
    page.mouse.up()
    page.wait_for_selector(".butt.fixed[aria-label^='Butt, strake 6, frame 19']")
    page.wait_for_selector("#wishes >> text=frame 19")
    after = wishes(here)
    assert ["fix", "6", "18"] in [row[:3] for row in before]
    assert ["fix", "6", "19"] in [row[:3] for row in after]
    assert len(after) == len(before)
    page.locator("#undo").click()
    page.wait_for_selector(".butt.fixed[aria-label^='Butt, strake 6, frame 18']")
    assert page.troubles == []  # type: ignore[attr-defined]
    page.context.close()


def test_keys_do_what_the_mouse_does(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    page.locator(".butt[aria-label^='Butt, strake 6, frame 18']").focus()
    page.keyboard.press("Shift+ArrowRight")
    page.wait_for_selector(".butt.moving[aria-label^='Butt, strake 6, frame 19']")
    page.keyboard.press("Escape")
    page.wait_for_selector(".butt[aria-label^='Butt, strake 6, frame 18']:not(.moving)")
    page.keyboard.press("p")
    page.wait_for_selector(".butt:not(.fixed)[aria-label^='Butt, strake 6, frame 18']")
    page.wait_for_selector("#wishes:not(:has-text('frame 18'))")
    page.keyboard.press("p")
    page.wait_for_selector(".butt.fixed[aria-label^='Butt, strake 6, frame 18']")
    page.wait_for_selector("#wishes >> text=frame 18")
    page.keyboard.press("ArrowUp")
    assert "strake 7" in page.locator(".butt:focus").get_attribute("aria-label")  # type: ignore[operator]
    page.context.close()


def test_keys_pressed_while_a_change_is_on_its_way_each_count(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    before, began = wishes(here), revision(here)
    page.locator(".butt[aria-label^='Butt, strake 6, frame 18']").focus()
    for _ in range(4):  # loosened, pinned, loosened, pinned
        page.keyboard.press("p")
    page.wait_for_selector(f"#revision:text-is('{began + 4}')")
    page.wait_for_selector(f"body[data-shown='{began + 4}']")
    assert sorted(wishes(here)) == sorted(before)
    held = page.locator(".butt:focus")
    assert "strake 6, frame 18, pinned" in str(held.get_attribute("aria-label"))
    assert page.troubles == []  # type: ignore[attr-defined]
    page.context.close()


def test_the_keyboard_keeps_its_place_when_another_hand_changes_the_butts(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here)
    page.locator(".butt[aria-label^='Butt, strake 6, frame 18']").focus()
    with here.client() as client:
        form = client.get("/api/forms/butts").json()
        row = ["forbid", "2", "3", *[""] * (len(form["header"]) - 3)]
        put = {"form": "butts", "was": None, "now": row, "at": 0}
        body = {"why": "none there", "edits": [put], "upon": form["revision"]}
        done = client.post("/api/changes", json={"id": "another-hand", **body}).json()
        page.wait_for_selector(f"body[data-shown='{done['revision']}']")
        assert "strake 6, frame 18" in str(page.locator(".butt:focus").get_attribute("aria-label"))
        undo = {"id": "taken-back", "upon": done["revision"]}
        assert client.post("/api/undo", json=undo).status_code == 200
    page.context.close()


def test_a_stretch_is_forbidden_by_a_drag_and_its_reason_is_said(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here)
    _, y = middle(page, "Butt, strake 6, frame 18")
    page.locator("#forbid").click()
    page.mouse.move(frame_x(page, "17"), y)
    page.mouse.down()
    page.mouse.move(frame_x(page, "20"), y, steps=4)
    page.mouse.up()
    page.locator("dialog input").fill("under the engine bed")
    page.locator("dialog button.main").click()
    page.wait_for_selector("#clashes li >> text=under the engine bed")
    assert ["forbid", "6", "17", "20"] in [row[:4] for row in wishes(here)]
    page.get_by_role("button", name="Allow again: strake 6, frames 17 to 20").click()
    page.wait_for_selector("#clash-count >> text=No clash")
    page.context.close()


def test_a_rule_set_is_chosen_and_a_rule_changed(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    cell = page.get_by_label("Strakes that pass between two butts on one frame or bay.")
    cell.fill("9")
    cell.press("Enter")
    page.wait_for_selector("#clashes li >> text=strakes passing")
    cell = page.get_by_label("Strakes that pass between two butts on one frame or bay.")
    cell.fill("3")
    cell.press("Enter")
    page.wait_for_selector("#clash-count >> text=No clash")
    page.select_option("#set", "lake-1866")
    page.wait_for_selector("#set-says >> text=lake-underwriters-1866")
    page.select_option("#set", "house")
    page.wait_for_selector("#set-says >> text=house")
    page.context.close()


def test_stock_lengths_are_typed_where_they_are_asked_for(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    expect(page.locator("#stock")).to_contain_text("longest sound board on the pile is 24-5-4")
    page.locator("#stock-typed summary").click()
    grid = page.locator("#stock-typed-in form-grid[form='stock']")
    lengths = page.locator("#stock tbody td:first-child").all_inner_texts()
    grid.locator(".grid-cell", has_text=lengths[-1]).first.wait_for()
    assert page.locator("#stock-typed-in h3").inner_text() == "Stock lengths"
    page.context.close()


def test_the_scale_rule_lies_on_any_strake_and_slides(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    page.locator("#rule").click()
    handle = page.locator(".scale-rule .handle")
    first = handle.get_attribute("aria-valuetext") or ""
    assert "12-0-0 to" in first
    handle.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    assert handle.get_attribute("aria-label") == "Scale rule on strake 2"
    assert handle.get_attribute("aria-valuetext") != first
    body = page.locator(".scale-rule .body").bounding_box()
    assert body is not None
    before = int(handle.get_attribute("aria-valuenow") or 0)
    x, y = body["x"] + 60, body["y"] + body["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 80, y, steps=4)
    page.mouse.up()
    assert int(handle.get_attribute("aria-valuenow") or 0) > before + 500
    page.context.close()


def test_a_finger_drags_and_two_fingers_only_pinch(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here, "tablet")
    x, y = middle(page, "Butt, strake 6, frame 18")
    before = wishes(here)
    touch = page.context.new_cdp_session(page)

    def fingers(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": px, "y": py, "id": i} for i, (px, py) in enumerate(at)]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", (x, y))
    fingers("touchStart", (x, y), (x + 120, y))
    for n in range(1, 6):
        fingers("touchMove", (x - 12 * n, y), (x + 120 + 12 * n, y))
    fingers("touchEnd")
    page.wait_for_selector(".chart.nearer")
    assert page.locator(".butt.moving, .butt.chosen").count() == 0
    assert wishes(here) == before
    page.get_by_role("button", name="Whole sheet").click()
    page.wait_for_selector(".chart:not(.nearer)")
    x, y = middle(page, "Butt, strake 6, frame 18")
    fingers("touchStart", (x, y))
    page.wait_for_timeout(200)
    for n in range(1, 5):
        fingers("touchMove", (x + (frame_x(page, "20") - x) * n / 4, y))
    page.wait_for_selector(".butt.moving[aria-label^='Butt, strake 6, frame 20']")
    fingers("touchMove", (x, y))
    fingers("touchEnd")
    page.wait_for_selector(".butt[aria-label^='Butt, strake 6, frame 18']:not(.moving)")
    assert wishes(here) == before
    page.context.close()


def test_a_sheet_that_cannot_be_made_is_refused_in_words_and_the_page_printed(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here)
    says = '{"says": "It is stale.", "problems": []}'
    page.route("**/expansion.pdf", lambda route: route.fulfill(
        status=422, content_type="application/json", body=says))  # fmt: skip
    page.evaluate("() => { window.printed = 0; window.print = () => { window.printed += 1; }; }")
    page.locator("#print").click()
    page.wait_for_selector("#sayings >> text=It is stale. The page is printed as it stands.")
    assert page.evaluate("window.printed") == 1
    assert len(page.context.pages) == 1, "the empty sheet is put away again"
    page.context.close()


def test_a_layout_that_is_no_layout_is_refused_in_words(here: Here) -> None:
    with here.client() as client:
        for body in ({"butts": [[99, 3]]}, {"butts": [[0, 3]], "side": 1}, {"butts": [[0]]}):
            answer = client.post("/api/butts/check", json=body)
            assert answer.status_code == 422
            assert answer.json()["problems"]


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_nothing_is_in_the_way_of_a_screen_reader(chrome: Browser, here: Here, size: str) -> None:
    page = shown(chrome, here, size)
    assert faults_of(page) == []
    wide = page.evaluate("() => document.documentElement.scrollWidth > innerWidth + 1")
    assert not wide
    page.context.close()


def test_butts_are_laid_out_anew_round_what_is_pinned(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    page.locator(".butt[aria-label^='Butt, strake 6, frame 18']").focus()
    for _ in range(2):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    page.wait_for_selector(".butt.fixed[aria-label^='Butt, strake 6, frame 20']")
    page.wait_for_selector("#wishes >> text=frame 20")
    page.select_option("#seconds", "4")
    page.locator("#solve").click()
    page.wait_for_selector("#stop:not([hidden])")
    page.wait_for_selector("#hand:not([hidden])")
    page.wait_for_selector("#solve:not([disabled])")
    page.wait_for_selector(".butt.fixed[aria-label^='Butt, strake 6, frame 20']")
    page.wait_for_selector("page-state >> text=laying out butts: done")
    with here.client() as client:
        found = client.get("/api/butts").json()
    assert found["states"]["butts"] == "good"
    frames = [frame["name"] for frame in found["ground"]["frames"]]
    assert [5, 2 * frames.index("20"), True] in found["sides"][0]["butts"]
    assert found["sides"][0]["clashes"] == []
    page.context.close()
