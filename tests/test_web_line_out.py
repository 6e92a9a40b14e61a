"""The page of lining out in a browser: seams dragged and fixed, wishes, stealers, two browsers."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from made_server import Here, browser, faults_of, heron_job, open_page, served
from made_waits import until


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(heron_job(tmp_path_factory.mktemp("lines"), last="lining")) as server:
        yield server


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def shown(chrome: Browser, here: Here, size: str = "desktop", who: str = "Ada") -> Page:
    page = open_page(chrome, here.url("/line-out"), size, who=who)
    page.wait_for_selector("body[data-ready='1'][data-shown]")
    page.locator("#chart").scroll_into_view_if_needed()
    return page


def crossing(page: Page, row: int, column: int) -> tuple[float, float]:
    """Give where a seam crosses a frame on the screen."""
    x, y = page.evaluate(
        """([row, column]) => { const c = document.querySelector('plank-expansion');
        const f = c.ground.frames[column - 1];
        const p = c.px(f.x, f.rise + c.girths.upper[row][column] / 10);
        const b = c.svg.getBoundingClientRect(); return [p[0] + b.left, p[1] + b.top]; }""",
        [row, column],
    )  # fmt: skip
    return x, y


def girths(page: Page, row: int) -> list[int]:
    found: list[int] = page.evaluate(
        "(row) => document.querySelector('plank-expansion').girths.upper[row]", row
    )
    return found


def wishes(here: Here) -> list[list[str]]:
    with here.client() as client:
        rows: list[list[str]] = client.get("/api/forms/lining").json()["rows"]
        return rows


def take_off(page: Page, words: str) -> None:
    """Take a wish off again by its button, and wait till the server has it: the page is ahead."""
    with page.expect_response(lambda answer: answer.url.endswith("/api/changes")):
        page.get_by_role("button", name=f"Take off: {words}").click()
    page.wait_for_selector(f"#wishes:not(:has-text('{words}'))")


def test_a_dragged_seam_takes_the_others_with_it_and_is_fixed_where_it_is_dropped(
    chrome: Browser, here: Here
) -> None:
    other = shown(chrome, here, who="Ben")
    page = shown(chrome, here)
    before, below = girths(page, 8), girths(page, 7)
    theirs = girths(other, 8)
    x, y = crossing(page, 8, 21)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 8, steps=4)
    page.wait_for_selector(".grip.moving")
    other.wait_for_selector("#chart")
    page.wait_for_timeout(1200)
    assert girths(page, 8)[21] > before[21] + 100
    assert girths(page, 7)[21] != below[21], "the seam below follows"
    assert girths(page, 8)[25] > before[25]
    assert girths(other, 8)[21] > theirs[21] + 100, "the other browser sees it move"
    page.mouse.up()
    page.wait_for_selector("#wishes >> text=seam above strake 9 fixed")
    page.wait_for_selector(".fixes .fix")
    fixes = [row for row in wishes(here) if row[0] == "fix"]
    assert [row[1:3] for row in fixes] == [["9", "21"]]
    held = [row[4] for row in wishes(here) if row[0] == "strakes"]
    assert held == ["16"], "the number left to the program is held as it was drawn"
    assert re.fullmatch(r"\d+-\d+-\d\+?", fixes[0][4])
    other.wait_for_selector("#wishes >> text=seam above strake 9 fixed")
    page.locator("#undo").click()
    page.wait_for_selector(".fixes:not(:has(.fix))", state="attached")
    page.wait_for_timeout(300)
    assert page.troubles == []  # type: ignore[attr-defined]
    for one in (page, other):
        one.context.close()


def test_a_drag_let_go_with_escape_leaves_everything_as_it_was(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    before, rows = girths(page, 5), wishes(here)
    x, y = crossing(page, 5, 15)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 7, steps=3)
    page.wait_for_selector(".grip.moving")
    page.keyboard.press("Escape")
    page.mouse.up()
    page.wait_for_selector(".grip:not(.moving)")
    assert girths(page, 5) == before
    assert wishes(here) == rows
    page.context.close()


def test_a_seam_dropped_while_the_server_is_away_is_fixed_when_it_is_back(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here)
    x, y = crossing(page, 6, 25)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 4, steps=2)
    page.wait_for_selector(".grip.moving")
    page.context.set_offline(True)
    page.mouse.move(x, y - 7, steps=3)
    page.mouse.up()
    page.wait_for_selector("#line-down >> text=1 change kept here")
    held = girths(page, 6)[25]
    page.context.set_offline(False)
    page.wait_for_selector("#wishes >> text=seam above strake 7 fixed")
    assert girths(page, 6)[25] == pytest.approx(held, abs=16)  # a sixteenth of an inch
    take_off(page, "seam above strake 7 fixed")
    page.context.close()


def test_keys_choose_move_fix_and_loosen(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    page.locator("#chart svg").focus()
    page.keyboard.press("ArrowRight")
    said = page.locator("#explain").inner_text()
    assert "Seam above strake 9, frame 23" in said
    page.keyboard.press("ArrowDown")
    page.wait_for_selector("#explain >> text=Seam above strake 8, frame 23")
    before = girths(page, 7)[23]
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("ArrowUp")
    page.wait_for_selector("#explain >> text=being moved")
    page.keyboard.press("Enter")
    page.wait_for_selector("#wishes >> text=seam above strake 8 fixed")
    assert girths(page, 7)[23] == pytest.approx(before + 63.5, abs=9)
    page.locator("#chart svg").focus()
    page.keyboard.press("f")
    page.wait_for_selector("#wishes:not(:has-text('seam above strake 8'))")
    until(lambda: not [row for row in wishes(here) if row[0] == "fix"])
    page.context.close()


def test_widths_strakes_and_the_master_line_are_wished(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    x, y = crossing(page, 5, 20)
    page.mouse.click(x, y)
    page.wait_for_selector("#explain >> text=Seam above strake 6, frame 20")
    page.locator("#width").fill("0-6-4")
    page.locator("#set-width").click()
    page.wait_for_selector("#wishes >> text=strake 6 0-6-4 wide at frame 20")
    page.locator("#master").click()
    page.wait_for_selector("#wishes >> text=master line")
    expect(page.locator("#count-says")).to_have_text("16 a side, all from end to end")
    page.locator("#more").click()  # strake 6 of 16 is strake 6 of 17: nothing is asked
    page.wait_for_selector("#wishes >> text=17 strakes a side")
    form = page.locator("#wish-form")
    form.locator("select[name=wish]").select_option("strakes")
    form.locator("input[name=value]").fill("22")
    form.locator("button").click()
    asked = page.get_by_role("dialog", name="22 whole strakes in place of 17")
    expect(asked).to_contain_text("strake 6 0-6-4 wide at frame 20 → 8")
    asked.get_by_role("button", name="Leave it").click()
    assert [row[4] for row in wishes(here) if row[0] == "strakes"] == ["17"]
    form.locator("button").click()
    asked.get_by_role("button", name="Keep them by place").click()
    page.wait_for_selector("#wishes >> text=strake 8 0-6-4 wide at frame 20")
    expect(page.locator("#count-says")).to_contain_text("22 wished; drawn as yet")
    page.locator("#let-choose").click()
    page.wait_for_selector("#wishes:not(:has-text('strakes a side'))")
    until(lambda: "strakes" not in [row[0] for row in wishes(here)])  # the page is ahead of it
    assert {"width", "master"} <= {row[0] for row in wishes(here)}
    take_off(page, "master line")
    take_off(page, "strake 8 0-6-4 wide")
    page.context.close()


def test_a_stealer_is_let_in_and_a_wrong_wish_is_said_beside_it(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here)
    page.locator("#stealer-form select[name=strake]").select_option("6")
    page.locator("#stealer-form select[name=frame]").select_option("9")
    page.locator("#stealer-form select[name=to_frame]").select_option("stem")
    page.locator("#more").click()
    page.wait_for_selector("#wishes >> text=17 strakes a side")
    page.locator("#stealer-form button").click()
    page.wait_for_selector("#wishes >> text=a stealer above strake 6")
    expect(page.locator("#count")).to_have_text("18")  # the whole strakes stay as many
    expect(page.locator("#count-says")).to_contain_text("16 from end to end and 1 stealer")
    expect(page.locator("#count-says")).to_contain_text("17 at the stem")
    form = page.locator("#wish-form")
    form.locator("select[name=wish]").select_option("width")
    form.locator("input[name=strake]").fill("3")
    form.locator("input[name=frame]").fill("12")
    form.locator("input[name=value]").fill("wide")
    form.locator("button").click()
    page.wait_for_selector("#wishes .say.bad")
    assert "wanted" in page.locator("#wishes .say.bad").inner_text()
    take_off(page, "strake 3 wide wide")
    take_off(page, "a stealer above strake 6")
    expect(page.locator("#count")).to_have_text("17")
    take_off(page, "17 strakes a side")
    until(lambda: "stealer" not in [row[0] for row in wishes(here)])
    page.context.close()


def test_alternatives_are_drawn_side_by_side_and_one_is_taken(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    page.locator("#try-count").fill("18")
    page.locator("#try button").click()
    page.wait_for_selector(".card:has-text('18 strakes') .small-expansion")
    shown_now = page.locator(".card:has-text('18 strakes') .small-expansion .band").count()
    assert shown_now == 18
    page.locator(".card:has-text('18 strakes') button").click()
    asked = page.get_by_role("dialog", name="18 whole strakes in place of 16")
    asked.get_by_role("button", name="Keep them by place").click()
    page.wait_for_selector("#wishes >> text=18 strakes a side")
    page.locator("#undo").click()
    page.wait_for_selector("#wishes:not(:has-text('18 strakes'))")
    page.context.close()


def test_a_bump_in_a_strake_stands_out_in_its_graph(chrome: Browser, here: Here) -> None:
    page = shown(chrome, here)
    page.select_option("#graph-strake", "8")
    assert "No place stands out" in page.locator("#graph-says").inner_text()
    page.evaluate(
        """() => { const g = document.querySelector('width-graph');
        const width = g.girths.width.map((row) => [...row]); width[8][20] += 60;
        g.show(g.data, {...g.girths, width}, 8);
        document.querySelector('#graph-says').textContent = g.says(); }"""
    )
    assert "bump; most at frame 20" in page.locator("#graph-says").inner_text()
    assert page.locator("#graph .bar.bump").count() >= 1
    page.context.close()


def test_two_fingers_pinch_and_one_finger_drags_the_chosen_ring(
    chrome: Browser, here: Here
) -> None:
    page = shown(chrome, here, "tablet")
    rows, before = wishes(here), girths(page, 7)
    touch = page.context.new_cdp_session(page)

    def fingers(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": px, "y": py, "id": i} for i, (px, py) in enumerate(at)]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    x, y = crossing(page, 7, 20)
    fingers("touchStart", (x, y))
    fingers("touchStart", (x, y), (x + 90, y))
    for n in range(1, 6):
        fingers("touchMove", (x - 10 * n, y), (x + 90 + 10 * n, y))
    fingers("touchEnd")
    page.wait_for_selector(".chart.nearer")
    assert girths(page, 7) == before
    page.get_by_role("button", name="Whole sheet").click()
    page.wait_for_selector(".chart:not(.nearer)")
    x, y = crossing(page, 7, 20)
    page.touchscreen.tap(x, y)
    page.wait_for_selector("#explain >> text=Seam above strake 8, frame 20")
    fingers("touchStart", (x, y))
    page.wait_for_timeout(220)
    for n in range(1, 5):
        fingers("touchMove", (x, y - 4 * n))
    page.wait_for_selector(".grip.moving")
    page.wait_for_timeout(600)
    assert girths(page, 7)[20] > before[20] + 60
    fingers("touchCancel")
    page.wait_for_selector(".grip:not(.moving)")
    assert wishes(here) == rows
    page.context.close()


def test_a_move_that_cannot_be_is_refused_in_words(here: Here) -> None:
    with here.client() as client:
        for strake, frame in (("99", "3"), ("3", "no frame"), ("16", "3")):
            asked = {"hold": "h", "strake": strake, "frame": frame, "girth": 900.0}
            answer = client.post("/api/line-out/move", json=asked)
            assert answer.status_code == 422
            assert answer.json()["problems"][0]["wanted"]


LEANS = """async () => {
  const { leaned, leaning } = await import("/static/js/seams-lean.js");
  const of = (upper, width) => ({ lower: [[0, 0], upper], upper: [upper, [900, 900]], width });
  const from = of([400, -1], [[400, -1], [500, -1]]);
  const to = of([440, -1], [[440, -1], [460, -1]]);
  const lean = leaning(from, to, 0, 0);
  const went = (off) => leaned(to, lean, 0, 0, off);
  const none = leaning(from, from, 0, 0);
  return { on: went(20), back: went(-40), none, far: went(400).upper[0] };
}"""


def test_until_the_answer_is_there_all_seams_lean_as_they_went(chrome: Browser, here: Here) -> None:
    page = chrome.new_page()
    page.goto(here.url("/static/js/seams-lean.js"))
    found = page.evaluate(LEANS)
    assert found["on"]["upper"] == [[460, -1], [900, 900]]
    assert found["on"]["width"] == [[460, -1], [440, -1]]
    assert found["back"]["lower"] == [[0, 0], [400, -1]]
    assert found["none"] is None
    assert found["far"] == [840, -1]
    page.close()


def test_a_moving_hand_is_answered_in_short(here: Here) -> None:
    with here.client() as client:
        whole = client.get("/api/line-out").json()
        girth = whole["upper"][7][20] / 10
        asked = {"hold": "short", "strake": "8", "frame": "20", "girth": girth, "rests": False}
        answer = client.post("/api/line-out/move", json=asked).json()
        client.post("/api/line-out/let-go", json={"hold": "short"})
    lower = [row or answer["upper"][k - 1] for k, row in enumerate(answer["lower"])]
    assert "planks" not in answer
    assert [] in answer["lower"]
    for own, old in zip(lower, whole["lower"], strict=True):
        assert max(abs(a - b) for a, b in zip(own, old, strict=True)) < 100


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_nothing_is_in_the_way_of_a_screen_reader(chrome: Browser, here: Here, size: str) -> None:
    page = shown(chrome, here, size)
    assert faults_of(page) == []
    assert not page.evaluate("() => document.documentElement.scrollWidth > innerWidth + 1")
    page.context.close()
