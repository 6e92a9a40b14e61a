"""The page of measurements: typing and pasting into forms, the drawing, doubts, both sides."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from made_server import Here, blank_job, browser, faults_of, heron_job, open_page, served
from made_waits import until
from ribband.app.entering.jobs import new_job
from ribband.app.screens.measure import Trying, measure_view
from ribband.app.screens.readings import Where, readings_of
from ribband.store import JobFile
from ribband.survey.rows import Form


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    job: Path = heron_job(tmp_path_factory.mktemp("job"), last="hull")
    with served(job) as here:
        yield here


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(blank_job(tmp_path_factory.mktemp("blank"))) as here:
        yield here


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as chrome:
        yield chrome


@pytest.fixture
def page(here: Here, chrome: Browser) -> Iterator[Page]:
    page = open_page(chrome, here.url("/measure#offsets"))
    cell(page, 0, 0).wait_for()
    yield page
    own = [said for said in page.troubles if "409" not in said]  # type: ignore[attr-defined]
    assert own == []  # a clash is answered with 409, which the browser notes
    page.context.close()


def cell(page: Page, row: int, col: int) -> Any:
    return page.locator(f'form-grid .grid-cell[data-row="{row}"][data-col="{col}"]')


def rows(here: Here, form: str) -> list[list[str]]:
    with here.client() as client:
        return list(client.get(f"/api/forms/{form}").json()["rows"])


def stand(page: Page, row: int, col: int) -> None:
    cell(page, row, col).click()
    expect(cell(page, row, col)).to_be_focused()


def paste(page: Page, text: str) -> None:
    page.evaluate(
        """(text) => {
        const data = new DataTransfer(); data.setData("text/plain", text);
        document.activeElement.dispatchEvent(new ClipboardEvent("paste",
            {clipboardData: data, bubbles: true, cancelable: true}));}""",
        text,
    )


def undo_all(here: Here, page: Page, to: int) -> None:
    page.evaluate("(n) => import('/static/js/job.js').then(({job}) => job.back(n))", to)
    page.wait_for_timeout(150)


def newest(here: Here) -> int:
    with here.client() as client:
        return int(client.get("/api/job").json()["revision"])


def forms_of(**blocks: str) -> dict[str, Form]:
    forms = {}
    for name, text in blocks.items():
        header, *lines = (tuple(line.split(",")) for line in text.split("\n"))
        numbers = tuple(range(2, 2 + len(lines)))
        forms[name] = Form(name, header, tuple(lines), f"{name}.csv", numbers)
    return forms


def test_what_cannot_be_read_is_left_out_and_the_rest_is_drawn() -> None:
    forms = forms_of(
        vessel="item,value,notes\nunit,mm,\nside,sideways,",
        offsets="line,at,A,B,notes\nposition,,0,1000,\nwaterline,500,x,400,\nbow,500,1,2,",
        points="frame,side,label,x,y,z,notes\n,,,200,30,40,\n,,,,30,40,",
    )
    read = readings_of(forms, "mm")
    assert [(r.x_mm, r.y_mm, r.z_mm) for r in read.readings] == [(1000, 400, 500), (200, 30, 40)]
    assert [Where(forms).place(r.cell) for r in read.readings] == [
        ("offsets", 1, 3),
        ("points", 0, 4),
    ]


def test_a_cell_being_typed_is_drawn_and_nothing_is_kept(tmp_path: Path) -> None:
    job = heron_job(tmp_path)
    before = measure_view(job)
    tried = measure_view(job, Trying("offsets", 9, 6, "4-2-0"))
    moved = [
        (a["place"], b["y"]) for a, b in zip(before.readings, tried.readings, strict=True) if a != b
    ]
    assert moved == [(("offsets", 9, 6), pytest.approx(50 * 25.4, abs=0.06))]
    assert measure_view(job) == before


def test_keys_are_those_of_a_spreadsheet(page: Page, here: Here) -> None:
    start = newest(here)
    stand(page, 6, 5)
    page.keyboard.press("ArrowRight")
    expect(cell(page, 6, 6)).to_be_focused()
    page.keyboard.type("1-2-3")
    page.keyboard.press("Tab")
    page.keyboard.type("1-2-4")
    page.keyboard.press("Enter")
    expect(cell(page, 7, 6)).to_be_focused()
    until(lambda: rows(here, "offsets")[6][6:8] == ["1-2-3", "1-2-4"])
    page.keyboard.press("ArrowUp")
    page.keyboard.press("F2")
    page.keyboard.type("+")
    page.keyboard.press("Enter")
    until(lambda: rows(here, "offsets")[6][6] == "1-2-3+")
    page.keyboard.press("ArrowUp")
    page.keyboard.type("9")
    page.keyboard.press("Escape")
    expect(cell(page, 6, 6)).to_have_text("1-2-3+")
    page.keyboard.press("Delete")
    until(lambda: rows(here, "offsets")[6][6] == "")
    page.keyboard.press("Control+Home")
    expect(cell(page, 0, 0)).to_be_focused()
    page.keyboard.press("Control+z")
    until(lambda: rows(here, "offsets")[6][6] == "1-2-3+")
    expect(cell(page, 6, 6)).to_have_text("1-2-3+")
    undo_all(here, page, start)


def test_tab_leaves_the_grid_after_escape(page: Page) -> None:
    stand(page, 2, 3)
    page.keyboard.press("Tab")
    expect(cell(page, 2, 4)).to_be_focused()
    page.keyboard.press("Escape")
    page.keyboard.press("Tab")
    inside = page.evaluate("document.querySelector('.grid-pane').contains(document.activeElement)")
    assert not inside


def test_what_cannot_be_read_is_said_at_the_cell(page: Page, here: Here) -> None:
    start = newest(here)
    stand(page, 6, 7)
    page.keyboard.type("3-13-2")
    page.keyboard.press("Enter")
    bad = cell(page, 6, 7)
    expect(bad).to_have_attribute("aria-invalid", "true")
    bad.click()
    expect(page.locator(".grid-bubble")).to_contain_text("wanted")
    expect(page.locator(".wrong-words")).to_contain_text("3-13-2")
    expect(page.locator("#tab-offsets")).to_contain_text("1 to mend")
    page.keyboard.press("Control+Home")
    page.get_by_role("button", name="row 7, F:").click()
    expect(bad).to_be_focused()
    page.keyboard.type("3-11-2")
    page.keyboard.press("Enter")
    expect(bad).not_to_have_attribute("aria-invalid", "true")
    undo_all(here, page, start)


def test_a_block_from_a_spreadsheet_is_one_change(page: Page, here: Here) -> None:
    start = newest(here)
    stand(page, 6, 4)
    paste(page, "0-1-1\t0-1-2\t0-1-3\r\n0-2-1\t0-2-2\t0-2-3\r\n")
    until(lambda: newest(here) == start + 1)
    got = rows(here, "offsets")
    assert [row[4:7] for row in got[6:8]] == [
        ["0-1-1", "0-1-2", "0-1-3"],
        ["0-2-1", "0-2-2", "0-2-3"],
    ]
    undo_all(here, page, start)


def test_a_block_is_copied_as_it_is_pasted(page: Page) -> None:
    stand(page, 0, 3)
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    text = page.evaluate(
        """() => { const data = new DataTransfer();
        document.activeElement.dispatchEvent(new ClipboardEvent("copy",
            {clipboardData: data, bubbles: true, cancelable: true}));
        return data.getData("text/plain"); }"""
    )
    assert text == "4-0-0\t6-6-0\n2-11-6\t1-7-3+"


def test_another_hands_edit_comes_while_one_types(page: Page, here: Here, chrome: Browser) -> None:
    start = newest(here)
    other = open_page(chrome, here.url("/measure#offsets"), who="Bo")
    stand(other, 8, 8)
    stand(page, 6, 8)
    page.keyboard.type("2-0")
    other.keyboard.type("4-4-4")
    other.keyboard.press("Enter")
    expect(cell(page, 8, 8)).to_have_text("4-4-4")
    expect(page.locator(".grid-input")).to_have_value("2-0")
    page.keyboard.type("-5")
    page.keyboard.press("Enter")
    expect(cell(other, 6, 8)).to_have_text("2-0-5")
    assert rows(here, "offsets")[6][8] == "2-0-5"
    assert rows(here, "offsets")[8][8] == "4-4-4"
    other.context.close()
    undo_all(here, page, start)


def test_the_lines_follow_what_is_typed(page: Page, here: Here) -> None:
    start = newest(here)
    sheer = page.locator("lines-plan figure.body path.typed").nth(4)
    before = sheer.get_attribute("d")
    stand(page, 9, 6)
    page.keyboard.type("4-0-0")
    page.keyboard.press("Enter")
    expect(page.locator("lines-plan figure.body path.typed").nth(4)).not_to_have_attribute(
        "d", str(before)
    )
    undo_all(here, page, start)


def test_the_line_moves_before_the_cell_is_left(page: Page, here: Here) -> None:
    start = newest(here)
    line = page.locator("lines-plan figure.body path.typed").nth(4)
    before = str(line.get_attribute("d"))
    stand(page, 9, 6)
    page.keyboard.type("4-2-0")
    expect(line).not_to_have_attribute("d", before)
    page.keyboard.press("Escape")
    expect(line).to_have_attribute("d", before)
    assert newest(here) == start


def test_a_doubt_is_found_on_the_drawing_and_decided(page: Page, here: Here) -> None:
    start = newest(here)
    mark = page.locator("figure.body [data-doubt='1'] .hold")
    mark.click(force=True)
    line = page.locator("#doubts li.chosen")
    expect(line).to_contain_text("waterline 4-6-0 at station F")
    expect(page.locator(".grid-cell.active")).to_have_text("5-5-3")
    expect(page.locator(".grid-bubble")).to_contain_text("digits swapped: 5-3-5 for 5-5-3")
    line.get_by_role("button", name="Accept").click()
    expect(page.locator("#doubts li").first).to_contain_text("the fair value is taken")
    key = "offsets: waterline 4-6-0 at station F"
    assert rows(here, "doubts") == [[key, "accept", "", ""]]
    page.locator("#doubts li").nth(1).get_by_role("button", name="Keep").click()
    until(lambda: len(rows(here, "doubts")) == 2)
    page.locator("#doubts li").nth(2).get_by_role("button", name="Give the right value").click()
    page.locator("dialog input").fill("1-9-1")
    page.get_by_role("button", name="Put it in").click()
    until(lambda: len(rows(here, "doubts")) == 3)
    assert rows(here, "doubts")[2][1:3] == ["correct", "1-9-1"]
    page.locator("#doubts li").first.get_by_role("button", name="Take the decision back").click()
    until(lambda: len(rows(here, "doubts")) == 2)
    undo_all(here, page, start)


def test_a_choice_is_offered_and_taken_by_keys(page: Page, here: Here) -> None:
    start = newest(here)
    page.get_by_role("tab", name="Frames").click()
    stand(page, 0, 4)
    page.keyboard.press("F2")
    expect(page.get_by_role("option")).to_have_count(2)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    until(lambda: rows(here, "frames")[0][4] == "yes")
    undo_all(here, page, start)


def test_rows_are_put_in_and_taken_out(page: Page, here: Here) -> None:
    start = newest(here)
    page.get_by_role("tab", name="Old butts").click()
    stand(page, 1, 1)
    before = rows(here, "old_butts")
    numbers = page.locator("form-grid .grid-number")
    numbers.nth(1).click()
    numbers.nth(2).click(modifiers=["Shift"])
    expect(page.locator(".grid-cell[aria-selected='true']")).to_have_count(2 * len(before[0]))
    page.keyboard.press("Alt+Delete")
    until(lambda: rows(here, "old_butts") == [before[0], *before[3:]])
    page.keyboard.press("Control+End")
    last = len(before) - 2
    stand(page, last, 0)
    page.keyboard.type("port")
    page.keyboard.press("Tab")
    page.keyboard.type("9")
    page.keyboard.press("Tab")
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    until(lambda: rows(here, "old_butts")[-1][:3] == ["port", "9", "12"])
    undo_all(here, page, start)


def test_the_same_cell_changed_by_two_asks(page: Page, here: Here, chrome: Browser) -> None:
    start = newest(here)
    other = open_page(chrome, here.url("/measure#offsets"), who="Bo")
    stand(other, 8, 8)
    stand(page, 8, 8)
    page.keyboard.type("4-9-0")
    other.keyboard.type("4-8-0")
    other.keyboard.press("Enter")
    until(lambda: rows(here, "offsets")[8][8] == "4-8-0")
    page.keyboard.press("Enter")
    dialog = page.locator("dialog")
    expect(dialog).to_contain_text("You and Bo changed the same thing")
    dialog.get_by_role("button", name="Put mine in").click()
    until(lambda: rows(here, "offsets")[8][8] == "4-9-0")
    expect(cell(other, 8, 8)).to_have_text("4-9-0")
    other.context.close()
    undo_all(here, page, start)


def test_on_paper_the_whole_form_is_there(page: Page, here: Here) -> None:
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator(".grid-body .grid-row").count() == len(rows(here, "offsets"))
    box = page.locator("form-grid [role='grid']").bounding_box()
    assert box is not None
    assert box["width"] <= 1001  # an A4 sheet laid sideways, within its margins
    page.emulate_media(media="screen")
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    stand(page, 3, 4)


def test_no_fault_for_those_who_hear_or_press_keys(page: Page) -> None:
    for tab in ("Old strakes", "Both sides"):
        page.get_by_role("tab", name=tab).click()
        page.wait_for_timeout(150)
        assert faults_of(page) == [], tab


def test_a_finger_chooses_then_types(here: Here, chrome: Browser) -> None:
    start = newest(here)
    page = open_page(chrome, here.url("/measure#offsets"), "tablet")
    spot = cell(page, 2, 2)
    spot.tap()
    expect(spot).to_be_focused()
    expect(page.locator(".grid-input")).to_have_count(0)
    assert spot.bounding_box()["height"] >= 44
    spot.tap()
    page.locator(".grid-input").fill("0-2-1")
    page.keyboard.press("Enter")
    until(lambda: rows(here, "offsets")[2][2] == "0-2-1")
    assert faults_of(page) == []
    undo_all(here, page, start)
    assert page.troubles == []  # type: ignore[attr-defined]
    page.context.close()


def test_a_job_begins_from_blank_forms(blank: Here, chrome: Browser) -> None:
    page = open_page(chrome, blank.url("/measure"))
    page.get_by_role("button", name="Put in the usual items").click()
    until(lambda: len(rows(blank, "vessel")) == 14)
    stand(page, 3, 1)
    page.keyboard.type("ft-in")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    until(lambda: rows(blank, "vessel")[3][1] == "ft-in-8ths")
    page.get_by_role("tab", name="Girths").click()
    stand(page, 0, 0)
    five = [("1", "7-6-0"), ("2", "7-9-0"), ("3", "8-0-0"), ("4", "7-10-0"), ("5", "7-4-0")]
    lines = (f"{name}\t{2 * int(name)}-0-0\t{girth}\n" for name, girth in five)
    paste(page, "frame\tposition\tgirth\n" + "".join(lines))
    until(lambda: [r[0] for r in rows(blank, "girths")] == [name for name, _ in five])
    assert rows(blank, "girths")[1] == ["2", "4-0-0", "", "7-9-0", ""]
    expect(page.locator("lines-plan path.dot")).to_have_count(1)
    page.get_by_role("tab", name="Offsets").click()
    stand(page, 0, 0)
    paste(page, "line\tat\tA\tB\nposition\t\t0\t4-0-0\nsheer height\t\t5-0-0\t4-9-0\n")
    until(lambda: len(rows(blank, "offsets")) == 2)
    with JobFile.open(blank.job) as job:
        assert job.forms()["offsets"].header == ("line", "at", "A", "B", "notes")
    assert rows(blank, "offsets")[1] == ["sheer height", "", "5-0-0", "4-9-0", ""]
    assert page.troubles == []  # type: ignore[attr-defined]
    page.context.close()


def test_forms_dropped_on_the_page_are_taken_in(blank: Here, chrome: Browser) -> None:
    page = open_page(chrome, blank.url("/measure#frames"))
    page.evaluate(
        """(text) => { const data = new DataTransfer();
        data.items.add(new File([text], "frames.csv"));
        dispatchEvent(new DragEvent("drop",
            {dataTransfer: data, bubbles: true, cancelable: true})); }""",
        "frame,position\n1,2-0-0\n2,4-0-0\n",
    )
    page.get_by_role("button", name="Take them in").click()
    until(lambda: len(rows(blank, "frames")) == 2, 30.0)
    expect(cell(page, 1, 1)).to_have_text("4-0-0")
    assert page.troubles == []  # type: ignore[attr-defined]
    page.context.close()


def test_an_empty_form_is_no_mistake_and_frames_are_set_at_their_spacing(
    tmp_path: Path, chrome: Browser
) -> None:
    """What is still to be filled in is said; a notebook's table of old widths is understood."""
    with served(blank_job(tmp_path)) as here:
        page = open_page(chrome, here.url("/measure#frames"))
        page.locator('form-grid[form="frames"] .grid-cell').first.wait_for()
        expect(page.locator("#unit")).to_contain_text("How is she measured?")
        page.get_by_role("button", name="Number the frames").click()
        page.locator("dialog").get_by_role("button", name="mm", exact=True).click()
        expect(page.locator("#unit")).to_be_hidden()
        for name, text in (("many", "4"), ("spacing", "x"), ("first", "500")):
            page.locator(f"dialog input[name={name}]").fill(text)
        page.keyboard.press("Enter")
        expect(page.locator("dialog .say")).to_contain_text("spacing: found")
        page.locator("dialog input[name=spacing]").fill("14 in")
        page.keyboard.press("Enter")
        until(lambda: [row[:2] for row in rows(here, "frames")] == FRAMES)
        expect(page.locator("page-state")).to_contain_text("girths, offsets or points")
        expect(page.locator("page-state .tag.fault")).to_have_count(0)
        page.locator("#tab-old_strakes").click()
        page.locator('form-grid[form="old_strakes"] .grid-cell').first.wait_for()
        stand(page, 0, 0)
        paste(page, "strake\tstem\tframe 2\n1\t120\t190\n2\t-\t180")
        expect(page.locator("figcaption")).to_contain_text(
            "both sides. Not drawn: the widths at stem"
        )
        assert [row[1:4] for row in rows(here, "old_strakes")] == WIDTHS
        page.locator("#tab-vessel").click()
        page.locator('form-grid[form="vessel"] .grid-cell').first.wait_for()
        stand(page, 0, 0)
        paste(page, "unit\tfathom")
        page.locator("page-state button.tag.fault").wait_for()
        page.locator("#tab-girths").click()
        page.locator("page-state button.tag.fault").click()
        expect(page.locator(".grid-says")).to_contain_text("one of mm, cm")
        page.context.close()


FRAMES = [["1", "500"], ["2", "856"], ["3", "1211"], ["4", "1567"]]
WIDTHS = [["1", "stem", "120"], ["1", "2", "190"], ["2", "2", "180"]]


def test_a_timber_is_chosen_from_those_that_are_known(blank: Here) -> None:
    with blank.client() as client:
        forms = [client.get(f"/api/forms/{name}").json() for name in ("vessel", "boards", "frames")]
    known = [{c["name"]: c["known"] for c in form["columns"] if c["known"]} for form in forms]
    assert "Douglas-fir, coast" in known[0]["value"]["species"]
    assert known[1] == {"species": {"": known[0]["value"]["species"]}}
    assert known[2] == {}


def test_both_sides_are_compared(blank: Here, chrome: Browser) -> None:
    page = open_page(chrome, blank.url("/measure#girths"))
    stand(page, 0, 0)
    paste(
        page,
        "frame\tposition\tside\tgirth\n1\t2-0-0\tport\t6-6-0\n1\t2-0-0\tstarboard\t6-4-0\n2\t4-0-0\tport\t7-0-0\n",
    )
    until(lambda: rows(blank, "girths")[0][2] == "port")
    page.get_by_role("tab", name="Both sides").click()
    line = page.locator("#sides tbody tr")
    expect(line).to_have_count(1)
    expect(line).to_contain_text("+0-2-0")
    expect(line).to_contain_text("more than allowed")
    page.evaluate("import('/static/js/job.js').then(({job}) => job.undo())")
    until(lambda: rows(blank, "girths")[0][2] == "")
    page.context.close()


def test_what_is_typed_without_a_connection_is_kept(here: Here, chrome: Browser) -> None:
    start = newest(here)
    page = open_page(chrome, here.url("/measure#offsets"))
    stand(page, 8, 5)
    page.context.set_offline(True)
    page.keyboard.type("2-9-1")
    page.keyboard.press("Enter")
    page.keyboard.type("2-9-2")
    page.keyboard.press("Enter")
    expect(cell(page, 8, 5)).to_have_text("2-9-1")
    expect(page.locator("#line-down")).to_contain_text("2 changes kept here")
    assert newest(here) == start
    page.context.set_offline(False)
    until(lambda: [row[5] for row in rows(here, "offsets")[8:10]] == ["2-9-1", "2-9-2"], 20.0)
    expect(cell(page, 9, 5)).to_have_text("2-9-2")
    undo_all(here, page, start)
    page.context.close()


def test_typing_goes_on_while_the_server_takes_its_time(here: Here, chrome: Browser) -> None:
    start = newest(here)
    page = open_page(chrome, here.url("/measure#offsets"))
    held: list[Route] = []
    page.route("**/api/changes", lambda route: held.append(route))  # noqa: PLW0108
    stand(page, 8, 4)
    typed = ["2-9-1", "2-9-2", "2-9-3", "2-9-4", "2-9-5"]
    for text in typed:
        page.keyboard.type(text)  # without a pause: every key is for the cell it was meant for
        page.keyboard.press("Tab")
    for n, text in enumerate(typed):
        expect(cell(page, 8, 4 + n)).to_have_text(text)
    expect(cell(page, 8, 9)).to_be_focused()
    until(lambda: page.evaluate("() => Object.keys(localStorage).length >= 5"))  # kept aside
    assert newest(here) == start
    assert len(held) == 1  # one at a time, in their order
    page.route("**/api/changes", lambda route: route.continue_())
    held[0].continue_()
    expect(page.locator("#line-down")).to_be_hidden()
    until(lambda: page.wait_for_timeout(50) or rows(here, "offsets")[8][4:9] == typed)
    stand(page, 0, 0)
    expect(page.locator(".grid-says")).to_contain_text("Alt+Down lists them")
    undo_all(here, page, start)
    page.context.close()


def test_who_may_only_look_cannot_type(here: Here, chrome: Browser) -> None:
    with served(here.job, "--share") as shared:
        page = open_page(chrome, shared.url("/measure"))
        page.get_by_label("Your name").fill("Visitor")
        page.get_by_label("Code").fill(shared.codes["look"])
        page.keyboard.press("Enter")
        page.wait_for_selector("body[data-ready]", state="attached")
        page.goto(shared.url("/measure#offsets"))
        stand(page, 2, 3)
        before = cell(page, 2, 3).text_content()
        page.keyboard.type("9")
        page.keyboard.press("Delete")
        expect(page.locator(".grid-input")).to_have_count(0)
        assert cell(page, 2, 3).text_content() == before
        assert page.get_by_role("button", name="Accept").count() == 0
        page.context.close()


def test_thousands_of_points_stay_quick(tmp_path: Path, chrome: Browser) -> None:
    lines = [
        f"{n // 18 + 1},,,{600 + 300 * (n // 18)},{n % 18 * 90},{n % 18 * 200},"
        for n in range(2520)
    ]
    (tmp_path / "forms").mkdir()
    text = "frame,side,label,x,y,z,notes\n" + "\n".join(lines) + "\n"
    (tmp_path / "forms" / "points.csv").write_text(text)
    with served(new_job(tmp_path / "long.ribband", tmp_path / "forms", "Ada").job) as long:
        page = open_page(chrome, long.url("/measure#points"))
        stand(page, 0, 4)
        page.keyboard.press("Control+End")
        expect(cell(page, 2519, 6)).to_be_focused()
        assert page.locator(".grid-cell").count() < 600
        moves = page.evaluate(
            """() => { const grid = document.querySelector("form-grid"); const took = [];
            for (let n = 0; n < 30; n++) { const t = performance.now();
                grid.go(1000 + n, 4); took.push(performance.now() - t); }
            return took.sort((a, b) => a - b)[15]; }"""
        )
        assert moves < 50
        page.keyboard.type("77")
        page.keyboard.press("Enter")
        until(lambda: rows(long, "points")[1029][4] == "77", 10.0)
        page.context.close()
