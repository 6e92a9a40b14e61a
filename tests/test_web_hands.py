"""Two browsers at one job, a lost connection, a killed server: what is seen, and that all stays."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from made_server import Here, blank_job, browser, open_page, served
from ribband.app.entering.jobs import history
from ribband.store import JobFile

pytestmark = pytest.mark.slow

MODULE = "const {job} = await import('/static/js/job.js');"


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as chrome:
        yield chrome


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Here]:
    with served(blank_job(tmp_path)) as here:
        yield here


def run(page: Page, script: str) -> object:
    """Run a few lines with `job` to hand; what waits for ever is ended, with how the job stands."""
    return page.evaluate(
        f"""async () => {{ {MODULE}
        const stands = () => JSON.stringify({{
            online: job.online, sending: job.sending, waits: job.queue().length,
            asks: document.querySelector('dialog')?.textContent,
            said: document.querySelector('#sayings')?.textContent}});
        const late = new Promise((_, no) => setTimeout(() => no(new Error(stands())), 60_000));
        return await Promise.race([(async () => {{ {script} }})(), late]); }}"""
    )


def put(page: Page, *cells: str) -> object:
    """Put a rule in, waiting for the disk."""
    row = str(list(cells))
    return run(
        page, f"return await job.change([{{form:'rules',was:null,now:{row},at:0}}],'a rule')"
    )


def put_later(page: Page, *cells: str) -> None:
    """Put a rule in without waiting."""
    row = str(list(cells))
    run(page, f"job.change([{{form:'rules',was:null,now:{row},at:0}}],'a rule'); return 1")


def rules(job: Path) -> list[tuple[str, ...]]:
    with JobFile.open(job) as file:
        forms = file.forms()
    return sorted(forms["rules"].rows) if "rules" in forms else []


def revision_shown(page: Page, number: int) -> None:
    expect(page.locator("#revision")).to_have_text(str(number))


def test_both_browsers_see_each_edit(here: Here, chrome: Browser) -> None:
    ada = open_page(chrome, here.url("/history"), who="Ada")
    bo = open_page(chrome, here.url("/history"), who="Bo")
    put(ada, "lining.greatest_width", "190", "")
    revision_shown(bo, 1)
    expect(bo.locator("#revisions")).to_contain_text("a rule")
    expect(bo.locator("#sayings")).to_contain_text("Ada: a rule")
    put(bo, "lining.least_width", "90", "")
    revision_shown(ada, 2)
    assert [r.who for r in history(here.job)] == ["Ada", "Bo"]
    for page in (ada, bo):
        page.context.close()


def test_the_same_cell_asks_and_the_answer_stands(here: Here, chrome: Browser) -> None:
    ada = open_page(chrome, here.url("/history"), who="Ada")
    bo = open_page(chrome, here.url("/history"), who="Bo")
    put(ada, "lining.greatest_width", "190", "")
    revision_shown(bo, 1)
    script = """
      const form = await job.form('rules');
      const row = form.rows[0];
      window.said = job.change([{form:'rules',was:row,now:[row[0],'%s',''],at:0}],'wider',{upon:1});
      return 1"""
    run(ada, script % "200" + "")
    revision_shown(bo, 2)
    bo_script = script.replace(
        "const row = form.rows[0]", "const row = ['lining.greatest_width','190','']"
    )
    run(bo, bo_script % "210")
    dialog = bo.get_by_role("dialog")
    expect(dialog).to_contain_text("You and Ada changed the same thing")
    expect(dialog.locator("td", has_text=re.compile("^210$"))).to_be_visible()
    expect(dialog.locator("td", has_text=re.compile("^200$"))).to_be_visible()
    assert rules(here.job) == [("lining.greatest_width", "200", "")]
    dialog.get_by_role("button", name="Put mine in").click()
    revision_shown(ada, 3)
    assert rules(here.job) == [("lining.greatest_width", "210", "")]
    ada_script = bo_script.replace("'190'", "'200'").replace("upon:1", "upon:2")
    run(ada, ada_script.replace("window.said", "window.kept") % "220")
    ada.get_by_role("button", name="Keep Bo's").click()
    assert run(ada, "return await window.kept") is None
    assert rules(here.job) == [("lining.greatest_width", "210", "")]
    for page in (ada, bo):
        page.context.close()


def test_undo_and_redo_by_button_and_key(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/history"))
    put(page, "lining.greatest_width", "190", "")
    put(page, "lining.least_width", "90", "")
    page.get_by_role("button", name="Undo").click()
    revision_shown(page, 3)
    assert len(rules(here.job)) == 1
    page.keyboard.press("Control+y")
    revision_shown(page, 4)
    assert len(rules(here.job)) == 2
    page.keyboard.press("Control+z")
    revision_shown(page, 5)
    page.context.close()


def test_a_lost_connection_keeps_every_edit(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/history"))
    page.context.set_offline(True)
    for n in range(3):
        put_later(page, f"lining.wish_{n}", str(n), "")
    expect(page.locator("#line-down")).to_contain_text("3 changes kept here")
    assert rules(here.job) == []
    page.context.set_offline(False)
    revision_shown(page, 3)
    expect(page.locator("#line-down")).to_be_hidden()
    assert [row[1] for row in rules(here.job)] == ["0", "1", "2"]
    assert len(history(here.job)) == 3, "each once"
    page.context.close()


def test_edits_made_while_the_server_is_down_outlive_the_tab(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/history"))
    put(page, "lining.greatest_width", "190", "")
    here.kill()
    put_later(page, "lining.least_width", "90", "")
    expect(page.locator("#line-down")).to_be_visible()
    context = page.context
    page.close()
    here.start_again()
    again = context.new_page()
    again.goto(here.url("/history"))
    revision_shown(again, 2)
    assert len(rules(here.job)) == 2
    context.close()


def test_what_was_acknowledged_outlives_a_killed_server(here: Here, chrome: Browser) -> None:
    """Kill the server at arbitrary moments while a browser goes on editing."""
    page = open_page(chrome, here.url("/history"))
    run(page, """
      window.done = [];
      window.going = (async () => {
        for (let n = 0; n < 24; n++) {
          const now = ['lining.wish_' + n, String(n), ''];
          await job.change([{form:'rules',was:null,now,at:n}], 'n' + n);
          window.done.push(n);
        }
      })(); return 1""")  # fmt: skip
    for _ in range(2):
        page.wait_for_timeout(250)
        here.kill()
        on_disk = {row[1] for row in rules(here.job)}
        told = page.evaluate("() => window.done")
        assert {str(n) for n in told} <= on_disk
        here.start_again()
    run(page, "await window.going; return 1")
    assert {row[1] for row in rules(here.job)} == {str(n) for n in range(24)}
    assert len(history(here.job)) == 24, "none done twice"
    page.context.close()


def test_an_answer_that_is_cut_off_loses_no_change(here: Here, chrome: Browser) -> None:
    """The server wrote the change down, and went away half-way through saying so."""
    page = open_page(chrome, here.url("/history"))
    done = run(page, """
      const real = window.fetch;
      window.cut = 0;
      window.fetch = async (path, how) => {
        const answer = await real(path, how);
        if (path !== '/api/changes' || window.cut++) return answer;
        const start = (to) => to.error(new TypeError('Failed to fetch'));
        const half = new ReadableStream({ start });
        return new Response(half, { status: answer.status, headers: answer.headers });
      };
      const made = [{form: 'rules', was: null, now: ['lining.least_width', '90', ''], at: 0}];
      return (await job.change(made, 'a rule')).repeated""")  # fmt: skip
    assert done is True
    assert page.evaluate("window.cut") == 2
    assert len(history(here.job)) == 1
    assert page.evaluate("Object.keys(localStorage).filter((k) => k.includes('waiting'))") == []
    page.context.close()


def test_a_form_shows_what_still_waits(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/history"))
    put(page, "lining.greatest_width", "190", "")
    run(page, "return (await job.form('rules')).rows.length")
    page.context.set_offline(True)
    put_later(page, "lining.least_width", "90", "")
    run(page, "job.change([{form:'rules',was:['lining.greatest_width','190',''],"
              "now:['lining.greatest_width','200',''],at:0}],'wider'); return 1")  # fmt: skip
    wanted = [["lining.least_width", "90", ""], ["lining.greatest_width", "200", ""]]
    assert run(page, "return (await job.form('rules')).rows") == wanted
    assert len(history(here.job)) == 1
    page.context.set_offline(False)
    revision_shown(page, 3)
    assert run(page, "return (await job.form('rules')).rows") == wanted
    assert rules(here.job) == sorted(tuple(row) for row in wanted)
    page.context.close()


def test_what_the_command_line_does_is_seen(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/history"))
    put(page, "lining.greatest_width", "190", "")
    put(page, "lining.least_width", "90", "")
    with JobFile.open(here.job, writing=True) as file:
        assert file.undo("Cy") is not None
    revision_shown(page, 3)
    expect(page.locator("#revisions")).to_contain_text("Cy")
    page.context.close()


def test_comparing_and_going_back(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/history"))
    put(page, "lining.greatest_width", "190", "")
    run(page, "await job.change([{form:'rules',was:['lining.greatest_width','190',''],"
              "now:['lining.greatest_width','200',''],at:0}],'wider'); return 1")  # fmt: skip
    expect(page.locator("#both del")).to_have_text("190")
    expect(page.locator("#both ins")).to_have_text("200")
    page.get_by_role("button", name="Go back to revision 1").click()
    page.get_by_role("button", name="Go back", exact=True).click()
    revision_shown(page, 3)
    assert rules(here.job) == [("lining.greatest_width", "190", "")]
    page.context.close()
