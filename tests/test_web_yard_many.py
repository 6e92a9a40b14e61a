"""A yard's vessels on one server: every job of a folder, one door, the same codes for all."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import httpx
import pytest

from made_client import TestClient
from made_server import Here, blank_job, browser, faults_of, heron_job, open_page, served
from made_waits import first_line
from ribband.app.screens.yard import job_in, jobs_of, new_in, yard_view
from ribband.errors import InputError, JobFileError
from ribband.web.access import COOKIE, Share
from ribband.web.berths import SPREAD
from ribband.web.yard_server import create_yard_app

CHANGE = {
    "id": "one", "why": "", "upon": 1,
    "edits": [{"form": "vessel", "was": None, "now": ["vessel", "Gannet", ""], "at": 0}],
}  # fmt: skip


GOOD = ("heron", "gannet & gull")


def yard(folder: Path) -> Path:
    folder.mkdir()
    heron_job(folder)
    blank_job(folder, "gannet & gull")
    (folder / "torn.ribband").write_bytes(b"no job file")
    (folder / "notes.txt").write_text("not a job", "utf-8")
    blank_job(folder.parent, "outside")
    (folder / "away.ribband").symlink_to(folder.parent / "outside.ribband")
    return folder


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(yard(tmp_path_factory.mktemp("slip") / "jobs")) as found:
        yield found


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(yard(tmp_path_factory.mktemp("slip") / "jobs"), "--share") as found:
        yield found


def at(client: httpx.Client, name: str) -> str:
    """Where a job is served."""
    answer = client.get(f"/job/{name}")
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


# ---- the folder


def test_a_folder_is_looked_over_and_what_cannot_be_opened_says_why(tmp_path: Path) -> None:
    folder = yard(tmp_path / "jobs")
    found = {job.name: job for job in yard_view(folder)}
    assert list(found) == ["away", "gannet & gull", "heron", "torn"]
    assert (found["heron"].vessel, found["heron"].yard) == ("Marl Heron", "Ebbmere Slip")
    assert found["heron"].state == "nothing made yet"
    assert "not" in found["torn"].trouble
    assert "leads out of the folder" in found["away"].trouble
    assert "away" not in jobs_of(folder)


@pytest.mark.parametrize(
    "name",
    ["../outside", "..", ".", "", "/etc/passwd", "away", "heron.ribband", "HERON\0", "notes"],
)
def test_a_name_is_looked_up_and_never_made_a_path(tmp_path: Path, name: str) -> None:
    assert job_in(yard(tmp_path / "jobs"), name) is None


@pytest.mark.parametrize(
    "name",
    ["../gull", "a/b", "a\\b", ".hidden", "gull.", "", "  ", "con", "x" * 61, "a\nb/", "gull\0",
     "x.ribband", "-rf"],
)  # fmt: skip
def test_a_new_job_has_a_plain_name(tmp_path: Path, name: str) -> None:
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(InputError):
        new_in(tmp_path, name, "Ada")
    assert sorted(tmp_path.rglob("*")) == before


def test_a_new_job_is_never_written_over(tmp_path: Path) -> None:
    path = new_in(tmp_path, " Gannet  of 1911 ", "Ada")
    assert path.name == "Gannet of 1911.ribband"
    with pytest.raises(JobFileError, match="there already"):
        new_in(tmp_path, "Gannet of 1911", "Ada")


# ---- one server, every job at an address of its own


def test_every_job_is_served_and_a_change_goes_to_its_own_file(here: Here) -> None:
    with here.client() as client:
        rows = {row["name"]: row for row in client.get("/api/yard").json()}
        assert rows["torn"]["address"] == ""
        addresses = {name: at(client, name) for name in ("heron", "gannet & gull")}
        assert at(client, "heron") == addresses["heron"]
        heron = (here.job / "heron.ribband").read_bytes()
        with httpx.Client(base_url=addresses["gannet & gull"], timeout=30.0) as gannet:
            assert gannet.get("/api/job").json()["file"] == "gannet & gull.ribband"
            assert gannet.post("/api/changes", json=CHANGE).status_code == 200
            assert here.address in gannet.get("/").text
        with httpx.Client(base_url=addresses["heron"], timeout=30.0) as other:
            assert other.get("/api/job").json()["vessel"] == "Marl Heron"
        assert (here.job / "heron.ribband").read_bytes() == heron
        rows = {row["name"]: row for row in client.get("/api/yard").json()}
        assert rows["gannet & gull"]["vessel"] == "Gannet"


@pytest.mark.parametrize(
    "path",
    ["/job/..%2Foutside", "/job/%2e%2e%2foutside", "/job/away", "/job/nobody",
     "/job/heron%00", "/job/%2Fetc%2Fpasswd", "/job/heron.ribband"],
)  # fmt: skip
def test_names_that_climb_are_refused(here: Here, path: str) -> None:
    with here.client() as client:
        answer = client.get(path)
        assert answer.status_code == 404
        assert "root:" not in answer.text


def test_one_that_cannot_be_opened_is_said_on_the_page(here: Here) -> None:
    with here.client() as client:
        answer = client.get("/job/torn")
        assert answer.status_code == 503
        assert "torn.ribband" in answer.text
        assert str(here.job) not in answer.text
        assert client.get("/").status_code == 200


def test_a_job_is_begun_on_the_page_and_one_put_there_is_found(here: Here, tmp_path: Path) -> None:
    with here.client() as client:
        assert client.post("/new", data={"name": "../gull"}).status_code == 422
        assert client.post("/new", data={"name": "heron"}).status_code == 409
        made = client.post("/new", data={"name": "tern"})
        assert (made.status_code, made.headers["location"]) == (303, "/")
        assert httpx.get(at(client, "tern") + "api/job").json()["revision"] in {0, 1}
        (here.job / "tern.ribband").rename(tmp_path / "tern.ribband")
        assert client.get("/job/tern").status_code == 404
        blank_job(here.job, "late")
        assert httpx.get(at(client, "late") + "healthy").status_code == 200


def test_a_page_of_another_site_begins_nothing(here: Here) -> None:
    with here.client() as client:
        answer = client.post("/new", data={"name": "x"}, headers={"origin": "http://evil.example"})
        assert answer.status_code == 403
        assert client.get("/", headers={"host": "evil.example"}).status_code == 421
        gannet = at(client, "gannet & gull")
        crossed = httpx.post(
            gannet + "api/changes", json=CHANGE, headers={"origin": here.address.rstrip("/")}
        )
        assert crossed.status_code == 403  # one job's page cannot change another's


# ---- shared


def test_one_code_opens_every_door_and_no_code_opens_none(shared: Here) -> None:
    with shared.client() as client:
        assert client.get("/api/yard").status_code == 401
        assert client.get("/job/heron").status_code == 401
        assert client.get("/", headers={"accept": "text/html"}).headers["location"] == "/enter"
        come = client.post("/enter", data={"code": shared.codes["look"], "name": "Bo"})
        assert come.status_code == 303
        token = client.cookies[COOKIE]
        assert client.post("/new", data={"name": "x"}).status_code == 403  # looks only
        assert "Begin another" not in client.get("/").text
        heron = at(client, "heron")
    assert httpx.get(heron + "api/job").status_code == 401
    mine = {"cookie": f"{COOKIE}={token}"}  # a browser sends it to every port of the machine
    assert httpx.get(heron + "api/job", headers=mine).json()["who"] == "Bo"
    assert httpx.post(heron + "api/changes", json=CHANGE, headers=mine).status_code == 403
    assert httpx.post(heron + "leave", headers=mine).status_code == 303
    assert httpx.get(shared.address + "api/yard", headers=mine).status_code == 401


def test_wrong_codes_are_counted_over_all_doors(tmp_path: Path) -> None:
    share = Share()
    app = create_yard_app(yard(tmp_path / "jobs"), share)
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as front:
        for _ in range(8):
            assert front.post("/enter", data={"code": "wrong"}).status_code == 401
        assert app.state.yard.berths.share is share
        assert front.post("/enter", data={"code": share.codes["lead"]}).status_code == 429


# ---- by hand


def test_ports_are_the_same_after_a_restart_and_all_end_with_ctrl_c(tmp_path: Path) -> None:
    folder = yard(tmp_path / "jobs")
    places: list[dict[str, int]] = []
    for _ in range(2):
        process, address = started(folder, places[0][""] if places else 0)
        with httpx.Client(base_url=address, timeout=30.0) as client:
            found = {name: urlsplit(at(client, name)).port or 0 for name in GOOD}
        front = urlsplit(address).port or 0
        assert all(0 < port - front <= SPREAD for port in found.values())
        places.append({"": front, **found})
        process.send_signal(signal.SIGINT)
        assert process.wait(15) == 0  # it is how it is meant to end
        for port in places[-1].values():
            with pytest.raises(httpx.TransportError):
                httpx.get(f"http://127.0.0.1:{port}/healthy")
    assert places[0] == places[1]


def started(folder: Path, port: int) -> tuple[subprocess.Popen[str], str]:
    command = [sys.executable, "-m", "ribband", "open", str(folder), "--no-open", "--json",
               "--by-hand", "--port", str(port)]  # fmt: skip
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env=os.environ | {"OPENBLAS_NUM_THREADS": "1"}
    )
    assert process.stdout is not None
    with process.stdout:
        said: dict[str, Any] = json.loads(first_line(process))
    assert said["jobs"] == list(jobs_of(folder))
    for _ in range(200):
        try:
            httpx.get(said["address"] + "healthy", timeout=5.0)
            break
        except httpx.TransportError:
            time.sleep(0.05)
    return process, str(said["address"])


def test_the_page_leads_to_a_job_and_back(here: Here) -> None:
    with browser() as chrome:
        page = open_page(chrome, here.url("/"), "phone")
        assert faults_of(page) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.get_by_label("Its file’s name").fill("knot")
        page.get_by_role("button", name="Begin it").click()
        page.get_by_role("link", name="knot").click()
        page.wait_for_selector("body[data-ready]", state="attached")
        assert page.url.rstrip("/") != here.address.rstrip("/")
        wide = open_page(chrome, page.url, "desktop")
        wide.get_by_role("link", name="The yard’s vessels").click()
        wide.get_by_role("link", name="Marl Heron").wait_for()
        assert wide.url == here.address
        assert page.troubles == []  # type: ignore[attr-defined]
        assert wide.troubles == []  # type: ignore[attr-defined]
