"""The planks' page: list, hull and sheet are one."""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from made_server import Here, browser, heron_job, open_page, served


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    job: Path = heron_job(tmp_path_factory.mktemp("planks"), last="shapes")
    with served(job) as found:
        yield found


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser(solid=True) as opened:
        yield opened


def test_list_sheet_and_hull_are_linked(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/planks"), "desktop", who="Ada")
    page.wait_for_selector("#list tbody tr")
    names = page.locator("#list tbody tr").count()
    assert names > 50
    page.fill("#find", "p3-")
    page.locator("#list tbody tr").first.click()
    page.wait_for_selector("#sheet:not([hidden])")
    assert page.inner_text("#sheet-title") == "Plank P3-1"
    page.locator("#pattern-kind").select_option("roll")
    leads = "/api/planks/P3-1/pattern?kind=roll"
    expect(page.locator("#pattern")).to_have_attribute("href", leads)
    assert page.url.endswith("/planks/P3-1")
    assert page.locator("flat-plank .wood").count() == 1
    assert page.locator("#spiling tbody tr").count() > 4
    page.wait_for_selector("hull-view canvas:not([hidden])")
    assert page.evaluate("document.querySelector('hull-view').chosen") == "P3-1"
    page.focus("hull-view canvas")
    page.keyboard.press("n")
    page.wait_for_selector("#sheet-title:has-text('P3-2')")
    assert not page.troubles


def test_a_tap_on_the_hull_chooses_the_plank_under_it(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/planks"), "tablet", who="Ada")
    page.wait_for_selector("hull-view canvas:not([hidden])")
    page.wait_for_selector("#list tbody tr")
    box = page.locator("hull-view canvas").bounding_box()
    assert box
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.wait_for_selector("#sheet:not([hidden])")
    assert page.locator("#list tr.chosen").count() == 1
    assert not page.troubles


FILLS = """() => { // how much of the frame what is drawn takes up, across and up, and its middle
  const v = document.querySelector("hull-view"), gl = v.gl;
  const size = [v.canvas.width, v.canvas.height];
  v.drawn(true); // by planks: where there is none it is black
  const seen = new Uint8Array(4 * size[0] * size[1]), low = [...size], high = [-1, -1];
  gl.readPixels(0, 0, ...size, gl.RGBA, gl.UNSIGNED_BYTE, seen);
  v.drawn(false);
  for (let i = 0; i < size[0] * size[1]; i++) if (seen[4 * i] || seen[4 * i + 1])
    [i % size[0], Math.floor(i / size[0])].forEach((n, k) => {
      low[k] = Math.min(low[k], n); high[k] = Math.max(high[k], n);
    });
  return size.map((n, k) => [(high[k] - low[k]) / n, (high[k] + low[k]) / 2 / n]); }"""


def test_the_hull_fills_its_frame_until_a_hand_brings_it_nearer(
    here: Here, chrome: Browser
) -> None:
    page = open_page(chrome, here.url("/planks"), "desktop", who="Ada")
    page.wait_for_selector("hull-view canvas:not([hidden])")
    expect(page.locator("hull-view > p.note")).to_be_hidden()
    for width, height in ((1440, 900), (820, 1180), (1440, 900)):
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(300)
        (across, middle), (up, level) = page.evaluate(FILLS)
        assert 0.86 < max(across, up) < 0.93
        assert abs(middle - 0.5) < 0.03
        assert abs(level - 0.5) < 0.03
    page.focus("hull-view canvas")
    page.keyboard.press("-")
    page.wait_for_timeout(300)
    assert max(page.evaluate(FILLS)[k][0] for k in (0, 1)) < 0.82
    page.keyboard.press("0")
    page.wait_for_timeout(300)
    assert max(page.evaluate(FILLS)[k][0] for k in (0, 1)) > 0.86


def test_an_address_opens_its_plank(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/planks/S4-1"), "phone", who="Ada")
    page.wait_for_selector("#sheet-title:has-text('S4-1')")
    expect(page.locator("#sheet-title")).to_be_in_viewport()  # not the list under it
    page.locator("#list tr[data-plank='S4-2']").tap()
    expect(page.locator("#sheet-title")).to_have_text("Plank S4-2")
    expect(page.locator("#sheet-title")).to_be_in_viewport()


def test_the_hull_comes_as_points_and_triangles(here: Here) -> None:
    with here.client() as client:
        body = client.get("/api/hull-view").content
    (size,) = struct.unpack_from("<I", body)
    head = json.loads(body[4 : 4 + size])
    assert len(body) == 4 + size + 12 * head["points"] + 12 * head["triangles"]
    assert sum(p["points"] for p in head["planks"]) == head["points"]
    corners = struct.unpack_from(f"<{3 * head['triangles']}I", body, 4 + size + 12 * head["points"])
    assert max(corners) == head["points"] - 1


def test_one_ticket_opens_its_plank_in_this_app(here: Here) -> None:
    with here.client() as client:
        answer = client.get("/api/planks/P3-1/ticket.pdf")
    assert answer.content.startswith(b"%PDF")


def test_a_plank_that_is_not_there_is_told(here: Here) -> None:
    with here.client() as client:
        answer = client.get("/api/planks/P99-9")
    assert answer.status_code == 422
    assert "P99-9" in answer.text


@pytest.mark.parametrize(
    ("kind", "begins", "file"),
    [("A3", b"%PDF", "P3-1 A3.pdf"), ("dxf", b"  0\n", "P3-1.dxf"), ("svg", b"<?xml", "P3-1.svg")],
)
def test_one_plank_has_its_pattern_at_full_size(
    here: Here, kind: str, begins: bytes, file: str
) -> None:
    with here.client() as client:
        answer = client.get("/api/planks/P3-1/pattern", params={"kind": kind})
    assert answer.status_code == 200
    assert answer.content.replace(b"\r", b"").startswith(begins)
    assert f'filename="{file}"' in answer.headers["content-disposition"]
