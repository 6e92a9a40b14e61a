"""The shop's page: figures with their cautions, the plan of work, what-ifs, the calendar file."""

from __future__ import annotations

from collections.abc import Iterator

import icalendar
import pytest
from playwright.sync_api import Browser, Route

from made_server import Here, browser, faults_of, heron_job, open_page, served


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(heron_job(tmp_path_factory.mktemp("shop"), last="work")) as found:
        yield found


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def test_every_sheet_has_its_figures_and_its_caution(here: Here) -> None:
    with here.client() as client:
        found = client.get("/api/shop").json()
    parts = {part["name"]: part for part in found["parts"]}
    assert {part["state"] for part in parts.values()} == {"good"}
    for name in ("steaming", "fastenings", "caulking", "handling"):
        assert parts[name]["caution"]
    (box,) = parts["steaming"]["listings"]
    rule, heat, minutes = (
        box["columns"].index(c) for c in ("by rule, min", "by heat, min", "minutes")
    )
    for row in box["rows"]:
        assert int(row[minutes]) == max(int(row[rule]), int(row[heat]))
    order = parts["hanging"]["listings"][0]["rows"]
    assert [row[0] for row in order] == [str(n) for n in range(1, len(order) + 1)]
    assert {row[1] for row in order[-2:]} == set(parts["hanging"]["lines"][1]["value"].split(", "))


def test_the_spread_counts_every_run_and_its_marks_are_in_order(here: Here) -> None:
    with here.client() as client:
        spread = client.get("/api/shop").json()["spread"]
    assert sum(spread["runs"]) == 2000
    marks = [day for _, _, day in spread["dates"]]
    assert marks == sorted(marks)
    by_half = sum(n for day, n in enumerate(spread["runs"], spread["first"]) if day <= marks[2] + 1)
    assert by_half >= 1000


def test_bars_and_calendar_come_from_the_plan(here: Here) -> None:
    with here.client() as client:
        bars = client.get("/api/shop/bars.svg")
        beyond = client.get("/api/shop/bars.svg?sheet=900")
        paper = client.get("/api/shop/bars.pdf")
        whole = client.get("/api/shop/work.ics")
        hand = client.get("/api/shop/work.ics", params={"hand": "hand 1"})
        nobody = client.get("/api/shop/work.ics", params={"hand": "Nobody"})
    assert bars.text.startswith("<?xml")
    assert "P1-1" in bars.text
    assert int(bars.headers["x-sheets"]) >= 1
    assert beyond.status_code == nobody.status_code == 422
    assert paper.content.startswith(b"%PDF")
    events = [icalendar.Calendar.from_ical(a.content).walk("VEVENT") for a in (whole, hand)]
    assert any(str(e["summary"]).startswith("hang ") for e in events[0])
    assert all("hand 1" in str(e["description"]) for e in events[1])


AWAY = """async () => {
  const { away } = await import("/static/js/shop-sick.js");
  const header = ["name", "skills", "from", "to"];
  const ann = { header, rows: [["Ann", "hang", "2027-03-01", "2027-04-01"]] };
  const sick = (form, hands, name, to) => away(form, hands, { name, from: "2027-03-15", to });
  return [
    sick({ header, rows: [] }, ["hand 1", "hand 2"], "hand 1", "2027-03-20"),
    sick(ann, ["Ann"], "Ann", "2027-03-20"), sick(ann, ["Ann"], "Ann", ""),
  ].map((edits) => edits.map((one) => one.now));
}"""


def test_a_hand_more_is_tried_beside_the_plan_and_nothing_is_kept(
    here: Here, chrome: Browser
) -> None:
    page = open_page(chrome, here.url("/shop"), "desktop")
    page.wait_for_selector("work-spread .runs")
    page.wait_for_selector("#bars[src]")
    page.fill("#n-lost", "30")
    page.click("#try")
    page.wait_for_selector("#tried tbody tr")
    rows = page.locator("#tried tbody tr").all_inner_texts()
    assert [row.split("\t")[0] for row in rows] == [
        "as planned", "one more hand", "30 days in a hundred lost",
    ]  # fmt: skip
    gained = [float(row.split("\t")[-1]) for row in rows]
    assert gained[0] == 0
    assert gained[1] > 0 > gained[2]
    page.check("#w-boards")
    page.fill("#n-boards", "long")
    page.click("#try")
    page.wait_for_selector("#tried .say.bad")
    assert "long" in page.inner_text("#tried")
    assert page.evaluate(AWAY) == [
        [["hand 1", "all", "", "2027-03-14"], ["hand 2", "all", "", ""],
         ["hand 1", "all", "2027-03-21", ""]],
        [["Ann", "hang", "2027-03-01", "2027-03-14"], ["Ann", "hang", "2027-03-21", "2027-04-01"]],
        [["Ann", "hang", "2027-03-01", "2027-03-14"]],
    ]  # fmt: skip
    bad = [t for t in page.troubles if "422" not in t]
    assert not bad
    with here.client() as client:
        assert client.get("/api/job").json()["revision"] == 1


def test_a_rate_typed_on_the_page_is_the_yards_own(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/shop"), "phone", who="Bo")
    page.wait_for_selector("#plan-of-work .lines dd")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert faults_of(page) == []
    page.locator("#own").scroll_into_view_if_needed()
    page.locator("#tab-rates").press("ArrowRight")
    page.wait_for_selector("#tab-crew[aria-selected='true']")
    page.locator("form-grid[form='crew'] .grid-body .grid-cell[data-col='0']").first.click()
    page.keyboard.type("Ann")
    page.keyboard.press("Enter")
    page.wait_for_selector("#revision:has-text('2')")
    assert not page.troubles
    with here.client() as client:
        form = client.get("/api/forms/crew").json()
        page_again = client.get("/api/shop").json()
    assert form["rows"][0][form["header"].index("name")] == "Ann"
    assert {p["state"] for p in page_again["parts"] if p["name"] == "work"} == {"stale"}


def test_the_tab_that_was_chosen_stays_and_the_form_that_was_left_goes_at_once(
    here: Here, chrome: Browser
) -> None:
    page = open_page(chrome, here.url("/"))
    held: list[Route] = []
    page.route("**/form-grid.js", lambda route: held.append(route))  # noqa: PLW0108
    page.goto(here.url("/shop"))
    page.locator("#tab-rates").focus()
    page.keyboard.press("ArrowRight")
    page.locator("#own").scroll_into_view_if_needed()
    page.wait_for_timeout(100)  # time enough for the first tab to open by itself, wrongly
    page.keyboard.press("ArrowRight")
    for route in held:
        route.continue_()
    page.wait_for_selector("#typed-in form-grid[form='gear'] .grid-cell")
    assert page.locator("form-grid").count() == 1
    assert page.locator("[role=tab][aria-selected='true']").inner_text() == "Gear"
    assert page.evaluate("document.activeElement.id") == "tab-gear"
    left = page.evaluate("""() => { document.querySelector('#tab-crew').click();
        return document.querySelectorAll("form-grid[form='gear']").length; }""")
    assert left == 0
    page.wait_for_selector("#typed-in form-grid[form='crew'] .grid-cell")
