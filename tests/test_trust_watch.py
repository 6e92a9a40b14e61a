"""A job file changed behind the back of who has it in hand: noticed, and nothing told is lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from made_client import TestClient
from made_server import blank_job
from ribband.cli import cli
from ribband.store import JobFile, NotTheJob, OtherState, Watch, verify
from ribband.survey.rows import Form
from ribband.web.server import create_app

LIVE = "ws://127.0.0.1/live"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return blank_job(tmp_path)


@pytest.fixture
def here(job: Path) -> Iterator[TestClient]:
    with TestClient(create_app(job, by_itself=False), base_url="http://127.0.0.1") as client:
        yield client


def typed(here: TestClient, length: str) -> Any:
    """Put a row into the form of stock; gives the answer."""
    edit = {"form": "stock", "was": None, "now": [length, "4"], "at": 0}
    return here.post("/api/changes", json={"id": length, "why": "", "upon": 0, "edits": [edit]})


def told(here: TestClient, *lengths: str) -> list[int]:
    return [typed(here, length).json()["revision"] for length in lengths]


def lengths_in(path: Path) -> set[str]:
    with JobFile.open(path) as own:
        return {row[0] for row in own.form("stock").rows}


def kept_by(job: Path) -> Path:
    (kept,) = job.parent.glob("heron kept *.ribband")
    return kept


def put_back_older(job: Path, older: Path) -> None:
    older.replace(job)


def cut_short(job: Path, older: Path) -> None:
    os.truncate(job, job.stat().st_size // 2 // 4096 * 4096)


def emptied(job: Path, older: Path) -> None:
    os.truncate(job, 0)


def deleted(job: Path, older: Path) -> None:
    job.unlink()


def copied_over(job: Path, older: Path) -> None:
    job.write_bytes(older.read_bytes())


def another_kind(job: Path, older: Path) -> None:
    job.write_text("a letter to the owner")


HARMS = [put_back_older, cut_short, emptied, deleted, copied_over, another_kind]


@pytest.mark.parametrize("harm", HARMS, ids=lambda harm: harm.__name__)
def test_a_file_harmed_behind_its_back_is_not_written_and_what_was_told_is_kept_aside(
    job: Path, here: TestClient, harm: Callable[[Path, Path], None]
) -> None:
    older = Path(shutil.copyfile(job, job.with_name("older")))
    assert told(here, "10ft", "12ft", "14ft") == [1, 2, 3]
    harm(job, older)
    after = job.read_bytes() if job.exists() else b""
    for _ in range(2):
        answer = typed(here, "16ft")
        assert answer.status_code == 503
        assert "Another program changed the file" in answer.json()["says"]
        assert "to revision 3, is kept in" in answer.json()["says"]
        assert str(job.parent) not in answer.json()["says"]
    stock = [("files", ("stock.csv", b"length,count\n10ft,3\n", "text/csv"))]
    for refused in (here.post("/api/take", files=stock), here.post("/api/work", json={})):
        assert "Another program changed the file" in refused.json()["says"]
    assert (job.read_bytes() if job.exists() else b"") == after
    kept = kept_by(job)
    assert lengths_in(kept) == {"10ft", "12ft", "14ft"}
    assert verify(kept) == ()
    with JobFile.open(kept) as own:
        whole = harm in {put_back_older, deleted}
        assert len(own.history()) == (3 if whole else 1)
    shutil.copyfile(kept, job) if whole else None
    if whole:
        assert typed(here, "16ft").json()["revision"] == 4, "it is as it was, so work goes on"


def test_every_browser_is_told_and_one_that_comes_later(job: Path, here: TestClient) -> None:
    older = Path(shutil.copyfile(job, job.with_name("older")))
    told(here, "10ft")
    with here.websocket_connect(LIVE) as socket:
        assert socket.receive_json()["file"] == ""
        older.replace(job)
        said = {}
        while said.get("kind") != "file":
            said = socket.receive_json()  # within a second or two, and nobody changed anything
        assert "is not the job it was" in said["says"]
        assert "now without any revision" in said["says"]
        shutil.copyfile(kept_by(job), job)
        said = {}
        while said.get("kind") != "file":
            said = socket.receive_json()
        assert said["says"] == ""
        socket.close()
        while here.app.state.yard.live.hands:
            time.sleep(0.01)


def test_a_file_put_in_place_that_holds_all_there_was_is_the_job_still(
    job: Path, here: TestClient
) -> None:
    told(here, "10ft")
    synced = Path(shutil.copyfile(job, job.with_name("synced")))
    with JobFile.open(synced, writing=True) as own:
        own.add_revision({"frames": Form("frames", ("a",), (("1",),), "f", (2,))}, "Bo", "")
    synced.replace(job)
    assert told(here, "12ft") == [3]
    assert not list(job.parent.glob("heron kept *"))


def test_a_second_program_that_writes_without_waiting_its_turn_is_noticed(
    job: Path, here: TestClient
) -> None:
    """As on a share that keeps no locks: it read the file, we wrote, and it writes what it read."""
    told(here, "10ft")
    with closing(sqlite3.connect(f"{job.as_uri()}?nolock=1", uri=True, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = MEMORY")
        db.execute("BEGIN IMMEDIATE")
        db.execute("INSERT INTO revision VALUES (2, 1, 'new', '2026-11-25T10:00:00Z', 'Bo', '')")
        assert told(here, "12ft", "14ft") == [2, 3]
        db.execute("COMMIT")
    answer = typed(here, "16ft")
    assert answer.status_code == 503
    assert "Another program changed the file without waiting its turn" in answer.json()["says"]
    assert lengths_in(kept_by(job)) == {"10ft", "12ft", "14ft"}


def test_a_change_that_went_into_a_file_replaced_meanwhile_is_not_acknowledged(job: Path) -> None:
    older = Path(shutil.copyfile(job, job.with_name("older")))
    form = Form("frames", ("a",), (("1",),), "f", (2,))
    with JobFile.open(job, writing=True) as own, pytest.raises(NotTheJob, match="does not hold"):  # noqa: PT012, SIM117
        with own.together():
            own.add_revision({"frames": form}, "Ada", "")
            older.replace(job)
    with JobFile.open(job) as own:
        assert own.history() == ()


def test_a_watch_keeps_one_file_aside_for_each_trouble(job: Path) -> None:
    watch = Watch(job)
    form = Form("frames", ("a",), (("1",),), "f", (2,))
    with watch.opened(writing=True) as own:
        own.add_revision({"frames": form}, "Ada", "")
    whole = job.read_bytes()
    for _ in range(3):
        job.write_bytes(b"")
        with pytest.raises(OtherState), watch.opened():
            pass
        assert watch.aside is not None
        job.write_bytes(whole)
        with watch.opened() as own:
            assert own.newest() == 1
        assert watch.aside is None
    watch.close()


def test_what_is_kept_aside_is_named_by_the_check_as_a_second_state(job: Path) -> None:
    shutil.copyfile(job, job.with_name("heron kept 2026-11-25 101500.ribband"))
    said = CliRunner().invoke(cli, ["check", str(job)], prog_name="ribband").output
    assert "heron kept 2026-11-25 101500.ribband" in said


def test_an_emptied_file_is_no_job_begun_anew_where_there_are_copies_of_it(job: Path) -> None:
    copies = job.with_name("heron copies")
    copies.mkdir()
    copy = copies / "heron 2026-11-24 revision 0.ribband"
    shutil.copyfile(job, copy)
    job.write_bytes(b"")
    for words in (["status", str(job)], ["rules", str(job), "set", "butts.passing", "2"]):
        done = CliRunner().invoke(cli, words, prog_name="ribband")
        assert done.exit_code == 4
        assert "is empty: another program emptied it" in done.output
        assert copy.name in done.output
    assert job.read_bytes() == b""
