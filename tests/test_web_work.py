"""Work in hand: progress, what is kept on the way, ending it, and beginning by itself."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from made_server import Here, browser, heron_job, open_page, served
from made_waits import until as come_about
from ribband.app.entering.changes import Change, Edit, apply
from ribband.app.plan.status import status
from ribband.app.plan.steps import WHOLE
from ribband.web import work as web_work

pytestmark = pytest.mark.slow


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Here]:
    with served(heron_job(tmp_path)) as here:
        yield here


def until(here: Here, wanted: str, seconds: float = 300.0) -> dict[str, Any]:
    """Follow the events until the work is as wanted; gives all that was told last."""
    end = time.monotonic() + seconds
    with here.client() as client, client.stream("GET", "/api/progress") as told:
        for line in told.iter_lines():
            if line.startswith("data:"):
                state: dict[str, Any] = json.loads(line[5:])
                if state["state"] == wanted:
                    return state
                assert state["state"] != "trouble", state
            assert time.monotonic() < end, f"never {wanted}"
    raise AssertionError("the events ended")


def states(here: Here) -> dict[str, str]:
    with here.client() as client:
        return {s["step"]: s["state"] for s in client.get("/api/job").json()["steps"]}


def test_a_plan_is_made_aside_and_every_browser_is_told(here: Here) -> None:
    with browser() as chrome, here.client() as client:
        ada, bo = (open_page(chrome, here.url("/"), who=who) for who in ("Ada", "Bo"))
        client.post("/api/work", json={"last": "shapes", "seconds": 1.0})
        for page in (ada, bo):
            expect(page.locator("work-in-hand progress")).to_be_visible()
        until(here, "done")
        for page in (ada, bo):
            expect(page.locator("#figures")).to_contain_text("butts a side")
            expect(page.locator("#drawing")).to_have_js_property("complete", True)
            expect(page.get_by_role("link", name="Get the planking book")).to_be_visible()
    good = {step.step for step in status(here.job).steps if step.state == "good"}
    assert good >= {"survey", "hull", "lining", "butts", "planks", "shapes"}


def test_work_begins_and_ends_by_a_button(here: Here) -> None:
    with browser() as chrome:
        page = open_page(chrome, here.url("/"), "phone")
        page.locator("#next-plan").click()
        page.get_by_role("button", name="End").click()
        expect(page.locator("work-in-hand")).to_contain_text("ended by Ada")


def test_ending_it_keeps_what_was_done_and_the_server_goes_on(here: Here) -> None:
    with here.client() as client:
        client.post("/api/work", json={"seconds": 600.0})
        come_about(lambda: client.get("/api/work").json()["kept"] >= 2)
        ended = client.delete("/api/work").json()
        assert ended["state"] == "ended"
        assert client.get("/api/job").status_code == 200
        time.sleep(0.5)
        assert client.get("/api/work").json()["state"] == "ended"
    found = states(here)
    assert (found["survey"], found["hull"]) == ("good", "good")
    assert found["order"] == "not made", "and nothing after it"


def test_a_second_piece_takes_the_place_of_the_first(here: Here) -> None:
    with here.client() as client:
        client.post("/api/work", json={"seconds": 600.0})
        time.sleep(0.3)
        second = client.post("/api/work", json={"last": "survey"}).json()
        assert second["number"] == 2
        assert until(here, "done")["number"] == 2
    assert states(here)["survey"] == "good"


def test_after_a_change_it_begins_by_itself(tmp_path: Path) -> None:
    job = heron_job(tmp_path, last="hull")
    quick = tuple(
        Edit("rules", None, (f"{step}.seconds", "0.2", ""), 0) for step in ("order", "work")
    )
    apply(job, Change("quick", "Ada", "searches are looked at elsewhere", quick, 1))
    with served(job, "--by-itself") as here, here.client() as client:
        row = ["lining.least_width", "3 in", ""]
        for n in range(3):
            edit = {"form": "rules", "was": None, "now": [f"butts.x{n}", "1"], "at": 0}
            change = {"id": f"c{n}", "upon": 99, "edits": [edit]}
            if n == 2:
                change["edits"] = [{"form": "rules", "was": None, "now": row, "at": 0}]
            assert client.post("/api/changes", json=change).status_code == 200
        state = client.get("/api/work").json()
        assert state["state"] == "waiting"
        for n in range(2):
            edit = {"form": "rules", "was": [f"butts.x{n}", "1"], "now": None, "at": 0}
            client.post("/api/changes", json={"id": f"d{n}", "upon": 99, "edits": [edit]})
        done = until(here, "done")
        assert done["number"] == 1, "one piece of work for five changes in a row"
        assert states(here)["butts"] == "good"


def test_wrong_forms_are_said_and_not_planned(here: Here) -> None:
    edit = {"form": "rules", "was": None, "now": ["lining.no_such", "1"], "at": 0}
    with here.client() as client:
        client.post("/api/changes", json={"id": "a", "upon": 99, "edits": [edit]})
        client.post("/api/work", json={"last": "lining"})
        come_about(lambda: client.get("/api/work").json()["state"] == "trouble")
        state = client.get("/api/work").json()
        assert "mended" in state["says"]
        assert state["problems"][0]["file"] == "rules.csv"
        view = client.get("/api/job").json()
        assert view["next"]["says"].startswith("Mend 1 cell")
        form = client.get("/api/forms/rules").json()
        assert [(p["at"], p["column"]) for p in form["problems"]] == [(0, "rule")]


def test_a_killed_server_leaves_no_process_behind(here: Here) -> None:
    with here.client() as client:
        client.post("/api/work", json={"seconds": 600.0})
        assert client.get("/api/downloads/book").status_code == 422, "made aside, and refused"
        time.sleep(0.5)
    children = _children(here.process.pid)
    assert children, "that would work on for nobody"
    here.kill()
    come_about(lambda: not any(Path(f"/proc/{child}/exe").exists() for child in children))


def _children(process: int) -> list[int]:
    lists = Path(f"/proc/{process}/task").glob("*/children")
    return [int(number) for own in lists for number in own.read_text().split()]


@pytest.mark.parametrize(
    ("last", "state", "goes"),
    [("butts", "done", True), ("butts", "trouble", False), (WHOLE, "done", False)],
)
def test_what_hangs_on_one_step_is_brought_up_to_date_after_it(
    last: str, state: str, goes: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Butts laid out anew when asked for: the rest follows by itself, as after a change."""
    monkeypatch.setattr(web_work, "REST_SECONDS", 0.01)
    begun: list[tuple[Any, ...]] = []

    class Begun(web_work.Work):
        def start(self, *args: Any, **_: Any) -> web_work.WorkState:
            begun.append(args)
            return self.state

    async def ends() -> None:
        for by_itself in (True, False):
            own = Begun(Path("none"), None, by_itself=by_itself)  # type: ignore[arg-type]
            own.state.state = state
            own._go_on(last)
        await asyncio.sleep(0.1)

    asyncio.run(ends())
    assert begun == ([()] if goes else [])
