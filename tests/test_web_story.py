"""The whole job in the app, from blank forms to the printed book: by mouse, by touch, by keyboard.

Nothing is done but what a hand can do on the pages. The hull is a small double-ender made from a
formula; one of her readings is typed wrong by more than the width of a thumb.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from made_forms import double_ender, whole
from made_server import Here, blank_job, browser, open_page, served
from pdf_reading import texts
from ribband.survey.rows import Form

pytestmark = pytest.mark.slow

VESSEL = {"vessel": "Marl Heron's gig", "yard": "Ebbmere Slip", "unit": "mm", "planking": "25",
          "rough": "32", "half siding": "40", "species": "Douglas-fir, coast"}  # fmt: skip
BOARD = {"length": "7400", "width_butt": "420", "width_middle": "400", "width_top": "380",
         "thickness": "40", "species": "Douglas-fir, coast", "moisture": "14"}  # fmt: skip
BLUNDER = ("waterline 880 at station 5", 45)  # mm too wide
SLOW = 240_000  # ms: a whole plan, on a machine that is busy with other things


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Here]:
    with served(blank_job(tmp_path, "gig"), "--by-itself") as server:
        yield server


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def forms_of_the_gig() -> dict[str, Form]:
    boat = double_ender(length=7000.0, beam=2300.0, depth=1050.0)
    return dict(whole(boat, stations=9, spacing=450.0, waterlines=6, buttocks=2))


def with_blunder(form: Form) -> list[list[str]]:
    rows = [list(row) for row in form.rows]
    line = next(row for row in rows if row[:2] == ["waterline", "880"])
    at = form.header.index("5")
    line[at] = str(int(line[at]) + BLUNDER[1])
    return rows


def test_a_job_is_done_from_blank_forms_to_the_printed_book(
    here: Here, chrome: Browser, tmp_path: Path
) -> None:
    ada = open_page(chrome, here.url("/measure#vessel"), who="Ada")
    measured(ada, forms_of_the_gig())
    doubt_decided(ada)
    girth = seam_moved(ada, here)
    frame = butt_pinned(ada, here)
    plank = planks_looked_at(ada)
    assert ada.troubles == []  # type: ignore[attr-defined]

    bo = open_page(chrome, here.url("/timber"), "tablet", who="Bo")
    board = boards_typed(bo)
    ordered_and_planned(bo)
    assert bo.troubles == []  # type: ignore[attr-defined]

    cy = open_page(chrome, here.url("/record"), "phone", who="Cy")
    hung(cy, plank)
    assert cy.troubles == []  # type: ignore[attr-defined]

    book = " ".join(printed(ada, tmp_path))
    assert "Marl Heron's gig" in book
    assert "Ebbmere Slip" in book
    assert re.search(r"waterline 880 1163 11\d\d mm 4\d mm too great", book), "as typed, as taken"
    assert "fair value taken" in book
    assert f" {girth.removesuffix(' mm')} " in book, "the girth of the seam as it was set"
    assert f"8 frame {frame} " in book
    assert f"{board} 7400 40 " in book
    assert f"{plank} hung" in book


def up_to_date(page: Page) -> None:
    """Wait as a hand would: until the foot of the rail says that all is up to date."""
    expect(page.locator("work-in-hand")).to_contain_text("all up to date", timeout=SLOW)


def leaf(page: Page, name: str) -> Locator:
    """Give the link to a page on the rail."""
    return page.locator(f".rail a[data-page='{name}']")


def cell(grid: Locator, row: int, col: int) -> Locator:
    return grid.locator(f".grid-cell[data-row='{row}'][data-col='{col}']")


def paste(page: Page, block: list[Any]) -> None:
    text = "\n".join("\t".join(row) for row in block)
    page.evaluate(
        """(text) => { const data = new DataTransfer(); data.setData("text/plain", text);
        document.activeElement.dispatchEvent(new ClipboardEvent("paste",
            {clipboardData: data, bubbles: true, cancelable: true})); }""",
        text,
    )


def measured(page: Page, forms: dict[str, Form]) -> None:
    """Type the vessel's particulars; paste the frames, the offsets and the ends."""
    grid = page.locator("form-grid")
    page.get_by_role("button", name="Put in the usual items").click()
    expect(cell(grid, 13, 0)).to_have_text("species")
    items = [cell(grid, n, 0).inner_text() for n in range(14)]
    for item, value in VESSEL.items():
        cell(grid, items.index(item), 1).click()
        page.keyboard.type(value)
        page.keyboard.press("Enter")
    for name, tab in (("frames", "Frames"), ("offsets", "Offsets"), ("ends", "Stem and stern")):
        page.get_by_role("tab", name=tab).click()
        cell(page.locator(f"form-grid[form='{name}']"), 0, 0).click()
        form = forms[name]
        block = with_blunder(form) if name == "offsets" else form.rows
        paste(page, [form.header, *block])
        expect(cell(grid, len(form.rows) - 1, 0)).to_have_text(form.rows[-1][0])
    expect(page.locator(".grid-wrongs")).to_be_hidden()


def doubt_decided(page: Page) -> None:
    """Take the fair value in place of the reading that was typed wrong."""
    line = page.locator(f"#doubts li:has-text('{BLUNDER[0]}')")
    line.get_by_role("button", name=re.compile("^Accept 11")).click(timeout=SLOW)
    expect(line).to_contain_text("the fair value is taken")


def crossing(page: Page, row: int, column: int) -> tuple[float, float]:
    x, y = page.evaluate(
        """([row, column]) => { const c = document.querySelector('plank-expansion');
        const f = c.ground.frames[column - 1], b = c.svg.getBoundingClientRect();
        const p = c.px(f.x, f.rise + c.girths.upper[row][column] / 10);
        return [p[0] + b.left, p[1] + b.top]; }""",
        [row, column],
    )  # fmt: skip
    return x, y


def seam_moved(page: Page, here: Here) -> str:
    """Drag the seam above strake 5 a little at frame 8; gives the girth it is fixed at."""
    leaf(page, "line-out").click()
    page.wait_for_selector("#chart .seams path", timeout=SLOW)
    up_to_date(page)
    page.locator("#chart").scroll_into_view_if_needed()
    x, y = crossing(page, 4, 8)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 6, steps=4)
    page.wait_for_selector(".grip.moving")
    page.wait_for_selector("#explain >> text=being moved")
    page.mouse.up()
    page.wait_for_selector("#wishes >> text=seam above strake 5 fixed")
    with here.client() as client:
        form = client.get("/api/forms/lining").json()
    row = dict(zip(form["header"], form["rows"][0], strict=True))
    assert (row["wish"], row["strake"], row["frame"]) == ("fix", "5", "8")
    return str(row["value"])


def butt_pinned(page: Page, here: Here) -> str:
    """Move a butt by one frame and pin it, by keys alone; gives its frame."""
    page.keyboard.press("Escape")
    leaf(page, "butts").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(".butt", timeout=SLOW)
    up_to_date(page)
    page.locator("#chart svg").focus()
    page.keyboard.press("Tab")
    before = page.locator(".butt:focus").get_attribute("aria-label")
    page.keyboard.press("Shift+ArrowRight")
    page.wait_for_selector(".butt.moving")
    page.keyboard.press("Enter")
    expect(page.locator("#wishes li")).to_contain_text("Pinned")
    assert page.locator(".butt.fixed:focus").get_attribute("aria-label") != before
    with here.client() as client:
        (row,) = client.get("/api/forms/butts").json()["rows"]
    return str(row[2])


def planks_looked_at(page: Page) -> str:
    """Find a plank in the list and see its sheet; gives its name."""
    up_to_date(page)
    leaf(page, "planks").click()
    page.locator("#list tbody tr").first.wait_for()
    page.locator("#find").fill("p3-1")
    page.locator("#list tbody tr").first.click()
    expect(page.locator("#sheet-title")).to_have_text("Plank P3-1")
    expect(page.locator("flat-plank .wood")).to_have_count(1)
    return "P3-1"


def boards_typed(page: Page) -> str:
    """Type two boards of the pile by touch: a tap chooses a cell, the next one types in it."""
    page.locator("#typed[open]").wait_for()  # by itself, where there are no boards yet
    grid = page.locator("form-grid[form='boards']")
    cell(grid, 0, 0).wait_for()
    head = grid.locator(".grid-cell[data-row='-1'][data-col]")
    names = [text.strip() for text in head.all_inner_texts()]
    for n, board in enumerate(("A7", "A8")):
        for column, value in {"board": board, **BOARD}.items():
            at = cell(grid, n, names.index(column))
            at.scroll_into_view_if_needed()
            at.tap()
            page.keyboard.type(value)
        page.keyboard.press("Enter")
    expect(cell(grid, 1, 0)).to_have_text("A8")
    page.wait_for_selector("li[data-board='A7'] .on-board", timeout=SLOW)
    return "A7"


def ordered_and_planned(page: Page) -> None:
    """See what must be bought, and when the work will be done."""
    up_to_date(page)
    expect(page.locator("#order")).to_contain_text("boards", timeout=SLOW)
    expect(page.locator("#lacking")).to_contain_text("Without a board")
    leaf(page, "shop").tap()
    planned = page.locator("#plan-of-work .lines")
    expect(planned).to_contain_text(re.compile(r"20\d\d"), timeout=SLOW)
    expect(page.locator("#bars")).to_have_js_property("complete", True, timeout=SLOW)


def hung(page: Page, plank: str) -> None:
    """Mark a plank as hung, with a thumb."""
    page.locator("#find").fill(plank)
    page.locator("#planks button").first.tap()
    for state in ("patterned", "got out", "hung"):
        page.locator(f"#steps [data-state='{state}']").tap()
        page.locator(f"dialog button.main, #steps [data-state='{state}'].done").first.wait_for()
        if page.locator("dialog").count():  # it is not its turn by the order yet
            page.locator("dialog button.main").tap()
        expect(page.locator(f"#steps [data-state='{state}'].done")).to_contain_text("Cy")
    expect(page.locator("#stands")).to_contain_text("It is hung")


def printed(page: Page, folder: Path) -> list[str]:
    """Take the planking book away from the overview; gives its words, a text for every page."""
    leaf(page, "overview").click()
    up_to_date(page)
    with page.expect_download(timeout=SLOW) as coming:
        page.get_by_role("link", name="Get the planking book").click()
    path = folder / "book.pdf"
    coming.value.save_as(path)
    assert coming.value.suggested_filename.endswith(".pdf")
    with pdfium.PdfDocument(path) as book:
        return [texts(sheet) for sheet in book]
