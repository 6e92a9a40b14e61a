"""The record's page: steps marked with a thumb, seams measured, marks that wait."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import pytest
from PIL import Image
from playwright.sync_api import Browser

from made_server import Here, browser, faults_of, heron_job, open_page, served
from ribband.app.plan.planning import plan


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(heron_job(tmp_path_factory.mktemp("record"), last="relined")) as found:
        yield found


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def rows(here: Here, name: str) -> list[dict[str, str]]:
    with here.client() as client:
        form = client.get(f"/api/forms/{name}").json()
    return [dict(zip(form["header"], row, strict=True)) for row in form["rows"]]


def test_a_step_is_marked_at_the_hull_and_taken_back(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/record"), "phone", who="Ann")
    page.fill("#find", "p3-2")
    page.tap("#planks button")
    page.wait_for_selector("#plank:not([hidden])")
    sizes = [b.bounding_box() for b in page.locator("#steps button").all()]
    assert len(sizes) == 11
    assert all(box and box["height"] >= 46 and box["width"] >= 46 for box in sizes)
    page.tap("#who-room summary")
    page.fill("#note", "hard at 17")
    page.tap("#steps [data-state='patterned']")
    page.wait_for_selector("#steps [data-state='patterned'].done:has-text('Ann')")
    page.tap("#steps [data-state='got out']")
    page.wait_for_selector("#steps [data-state='got out'].done:has-text('Ann')")
    page.wait_for_selector("#history li:has-text('hard at 17')", state="attached")
    page.tap("#told button")
    page.wait_for_selector("#steps [data-state='got out']:not(.done)")
    assert faults_of(page) == []
    assert not page.troubles
    (line,) = rows(here, "log")
    assert (line["plank"], line["state"], line["by"]) == ("P3-2", "patterned", "Ann")
    assert line["note"] == "hard at 17"
    assert len(line["at"]) == len("2027-03-02 14:30")


def test_spoilt_begins_again_but_for_the_pattern(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/record#S3-2"), "tablet", who="Bo")
    page.wait_for_selector("#plank-title:has-text('S3-2')")
    for state in ("patterned", "got out"):
        page.tap(f"#steps [data-state='{state}']")
        page.wait_for_selector(f"#steps [data-state='{state}'].done:has-text('Bo')")
    page.tap("#steps [data-state='spoilt']")
    page.wait_for_selector("dialog[open]")
    page.tap("dialog button[value='yes']")
    page.wait_for_selector("#stands:has-text('Spoilt once')")
    page.wait_for_selector("#steps [data-state='got out']:not(.done)")
    assert page.locator("#steps [data-state='patterned'].done").count() == 1


def test_a_seam_is_measured_against_the_plan_and_again(here: Here, chrome: Browser) -> None:
    with here.client() as client:
        seam = client.get("/api/record/P3-2").json()["seams"][1]
    feet, inches, eighths = seam["upper"].split("-")
    high = f"{feet}-{int(inches) + (1 if int(inches) < 11 else -1)}-{eighths}"
    page = open_page(chrome, here.url("/record#P3-2"), "phone", who="Ann")
    page.wait_for_selector("#frame option", state="attached")
    page.select_option("#frame", seam["frame"])
    fields = page.locator("#girth input")
    fields.nth(0).fill(feet)
    fields.nth(1).fill(inches)
    page.tap("#keep")
    page.wait_for_selector("#off:has-text('eighths: wanted; 0 where it is nought')")
    assert not rows(here, "as_hung")
    for field, typed in zip(fields.all(), (feet, inches, "99"), strict=True):
        field.fill(typed)
    page.wait_for_selector("#off .tag.fault")
    fields.nth(2).fill(eighths)
    page.wait_for_selector("#off .tag.good")
    page.tap("#keep")
    page.wait_for_selector("#seams tbody tr:has-text('as planned')")
    page.select_option("#frame", seam["frame"])
    for field, typed in zip(fields.all(), high.split("-"), strict=True):
        field.fill(typed)
    page.tap("#keep")
    page.wait_for_selector(f"#seams tbody tr:has-text('{high}')")
    (row,) = rows(here, "as_hung")
    assert (row["side"], row["strake"], row["edge"]) == ("port", "3", "upper")
    assert row["girth"] == high


def test_a_seam_a_foot_off_is_asked_about_before_it_is_written_down(
    here: Here, chrome: Browser
) -> None:
    with here.client() as client:
        seam = client.get("/api/record/P4-2").json()["seams"][1]
    feet, inches, eighths = seam["upper"].rstrip("+").split("-")
    before = rows(here, "as_hung")
    page = open_page(chrome, here.url("/record#P4-2"), "phone", who="Ann")
    page.wait_for_selector("#frame option", state="attached")
    page.select_option("#frame", seam["frame"])
    for field, typed in zip(
        page.locator("#girth input").all(), (str(int(feet) + 1), inches, eighths), strict=True
    ):
        field.fill(typed)
    page.tap("#keep")
    page.wait_for_selector("dialog[open]:has-text('Was the tape read so?')")
    page.tap("dialog button[value='']")
    page.wait_for_selector("dialog", state="detached")
    assert rows(here, "as_hung") == before
    page.tap("#keep")
    page.wait_for_selector("dialog[open]")
    page.tap("dialog button[value='yes']")
    page.wait_for_selector("#seams tbody tr:has-text('high')")
    assert len(rows(here, "as_hung")) == len(before) + 1
    with here.client() as client:
        asked = {"side": "port", "strake": "4", "edge": "upper", "frame": seam["frame"]}
        answer = client.post("/api/record/measured", json={**asked, "girth": "99-0-0"})
    assert answer.status_code == 422
    assert f"the girth of frame {seam['frame']} itself" in str(answer.json()["problems"])


def test_what_is_marked_while_the_line_is_down_waits_and_is_written(
    here: Here, chrome: Browser
) -> None:
    before = len(rows(here, "log"))
    page = open_page(chrome, here.url("/record#P5-1"), "phone", who="Ann")
    page.wait_for_selector("#frame option", state="attached")
    page.context.set_offline(True)
    page.tap("#steps [data-state='patterned']")
    page.wait_for_selector("#steps [data-state='patterned']:has-text('waits')")
    page.tap("#steps [data-state='got out']")
    page.wait_for_selector("#steps [data-state='got out']:has-text('waits')")
    assert len(rows(here, "log")) == before
    page.context.set_offline(False)
    page.wait_for_selector("#steps [data-state='got out'].done:has-text('Ann')")
    told = [(r["plank"], r["state"]) for r in rows(here, "log")[before:]]
    assert told == [("P5-1", "patterned"), ("P5-1", "got out")]


def camera(wide: int = 3200, high: int = 2400) -> bytes:
    """Give a picture as a phone writes it: on its side, with the place it was taken at."""
    said = Image.Exif()
    said[0x0112], said[0x010F] = 6, "Maker of phones"
    said.get_ifd(0x8825)[1] = "N"
    out = BytesIO()
    ramp = Image.linear_gradient("L").resize((wide, high))
    Image.merge("RGB", (ramp, ramp, ramp)).save(out, "JPEG", exif=said)
    return out.getvalue()


def test_a_picture_is_taken_kept_and_shown_and_waits_while_the_line_is_down(
    here: Here, chrome: Browser
) -> None:
    body = camera()
    assert b"Maker" in body
    file = {"name": "IMG 1.JPG", "mimeType": "image/jpeg", "buffer": body}
    page = open_page(chrome, here.url("/record#P2-1"), "phone", who="Ann")
    page.wait_for_selector("#plank-title:has-text('P2-1')")
    page.tap("#who-room summary")
    page.fill("#note", "a shake forward")
    page.tap("#photos-room summary")
    page.set_input_files("#camera", file)
    page.wait_for_selector("#photos img[src^='/api/pictures/']")
    page.wait_for_selector("#photos li:has-text('a shake forward')")
    page.wait_for_selector("#told", state="attached")
    assert faults_of(page) == []
    page.context.set_offline(True)
    page.set_input_files("#file", file | {"name": "two.jpg", "buffer": camera(90, 60)})
    page.wait_for_selector("#photos .waits:has-text('waits for the server')")
    assert [row["file"] for row in rows(here, "photos")] == ["IMG 1.jpg"]
    page.context.set_offline(False)
    page.wait_for_selector("#photos li:nth-child(2) img[src^='/api/pictures/']")
    page.wait_for_selector("#photos .waits", state="detached")
    assert not [t for t in page.troubles if "ERR_INTERNET_DISCONNECTED" not in t]
    first, second = rows(here, "photos")
    assert (first["plank"], first["by"], first["notes"]) == ("P2-1", "Ann", "a shake forward")
    assert (second["file"], second["notes"]) == ("two.jpg", "")
    page.locator("#photos button").first.tap()
    page.tap("dialog button[value='yes']")
    page.wait_for_selector("#photos li:nth-child(2)", state="detached")
    with here.client() as client:
        kept = client.get(f"/api/pictures/{first['picture']}")
        assert client.get(f"/api/pictures/{'0' * 64}").status_code == 404
    assert kept.headers["content-type"] == "image/jpeg"
    assert "sandbox" in kept.headers["content-security-policy"]
    assert b"Maker" not in kept.content
    with Image.open(BytesIO(kept.content)) as shown:
        assert shown.size == (1920, 2560)  # made small, and the right way up
        assert not dict(shown.getexif())


def test_what_is_no_picture_is_refused_in_words(here: Here) -> None:
    with here.client() as client:
        svg = {"file": ("a.jpg", b"<svg onload='x'/>", "image/jpeg")}
        answer = client.post("/api/uploads/picture", data={"plank": "P2-1"}, files=svg)
        assert answer.status_code == 422
        assert "no JPEG" in str(answer.json()["problems"])
        body = {"file": ("a.jpg", camera(30, 20), "image/jpeg")}
        asked = {"plank": "P2-2", "id": "only-once"}
        done = [client.post("/api/uploads/picture", data=asked, files=body) for _ in range(2)]
        assert [one.status_code for one in done] == [200, 200]
        assert done[0].json()["revision"] == done[1].json()["revision"]


def test_costs_are_told_with_what_they_leave_out(here: Here) -> None:
    with here.client() as client:
        found = client.get("/api/record/sums").json()
        costs = next(one for one in found["listings"] if one["title"] == "Costs")
        assert "timber" in [row[0] for row in costs["rows"]]
        assert all(row[1] == "not known" for row in costs["rows"])  # no price was given
        assert "Nothing is known" in " ".join(found["notes"])
        old = next(one for one in found["listings"] if one["title"] == "Old widths and new")
        assert len(old["rows"]) > 10


def test_a_plank_that_is_not_there_is_told(here: Here) -> None:
    with here.client() as client:
        assert client.get("/api/record/P99-9").status_code == 422
        asked = {"side": "port", "strake": "99", "edge": "upper", "frame": "9", "girth": "1-0-0"}
        assert client.post("/api/record/measured", json=asked).status_code == 422


def test_a_repair_is_shown_with_its_caution(here: Here, chrome: Browser) -> None:
    page = open_page(chrome, here.url("/record"), "desktop", who="Ada")
    page.wait_for_selector("#planks button")
    assert page.locator("#repair").is_hidden()
    page.evaluate(
        """async () => {
          const { job } = await import("/static/js/job.js");
          const form = await job.form("renew");
          const bad = { side: "port", strake: "7", from_frame: "20", to_frame: "26" };
          const now = job.row(form.header, { ...bad, found: "rot" });
          await job.change([{ form: "renew", was: null, now, at: 0 }], "rot in strake 7");
        }"""
    )
    plan(here.job, "repair")
    page.reload()
    page.wait_for_selector("#repair tbody tr:has-text('rot')")
    assert "surveyor" in page.inner_text("#repair .safety")
    assert faults_of(page) == []
