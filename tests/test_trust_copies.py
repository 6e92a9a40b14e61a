"""Dated copies beside a job: when they are made, how many stay, and what is never taken away."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from ribband.app.entering.keeping import checked_answer
from ribband.cli import cli
from ribband.errors import JobFileError
from ribband.store import JobFile, copies, copies_of, folder_of, jobfile, verify
from ribband.survey.rows import Form

FIRST = datetime(2026, 11, 2, 9, 30)


class Clock(datetime):
    """The clock of the yard, which a test sets."""

    shows = FIRST

    @classmethod
    def now(cls, tz: object = None) -> datetime:
        here = cls.shows.astimezone()
        return here if tz is None else here.astimezone(tz)  # type: ignore[arg-type]


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> type[Clock]:
    monkeypatch.setattr(jobfile, "datetime", Clock)
    monkeypatch.delenv("RIBBAND_COPIES", raising=False)
    Clock.shows = FIRST
    return Clock


@pytest.fixture
def path(tmp_path: Path, clock: type[Clock]) -> Path:
    path = tmp_path / "heron.ribband"
    with JobFile.create(path):
        pass
    return path


def write(path: Path, text: str) -> int:
    form = Form("stock", ("length", "notes"), (("18ft", text),), "s.csv", (2,))
    with JobFile.open(path, writing=True) as job:
        made = job.add_revision({"stock": form}, "Ada", text)
        assert made
        return made.number


def said(path: Path) -> str:
    with JobFile.open(path) as job:
        return job.forms()["stock"].rows[0][1]


def test_the_first_change_of_another_day_keeps_what_the_day_found(
    path: Path, clock: type[Clock]
) -> None:
    write(path, "monday, early")
    write(path, "monday, late")
    assert copies_of(path) == (), "a job begun today has no earlier state"
    clock.shows += timedelta(days=1)
    write(path, "tuesday, early")
    write(path, "tuesday, late")
    (copy,) = copies_of(path)
    assert (copy.day, copy.revision, copy.form) == ("2026-11-03", 2, None)
    assert copy.path == folder_of(path) / "heron 2026-11-03 revision 2.ribband"
    assert said(copy.path) == "monday, late"
    assert verify(copy.path) == ()
    assert said(path) == "tuesday, late"


def test_a_result_kept_is_a_change_too(path: Path, clock: type[Clock]) -> None:
    write(path, "monday")
    clock.shows += timedelta(days=1)
    with JobFile.open(path, writing=True) as job:
        job.keep("a" * 64, "hull", (1,), "0", 0.0)
        job.keep("b" * 64, "hull", (1,), "0", 0.0)
    assert [copy.revision for copy in copies_of(path)] == [1]


def test_ten_stay_and_what_is_not_ours_stays_too(path: Path, clock: type[Clock]) -> None:
    folder = folder_of(path)
    for n in range(14):
        write(path, f"day {n}")
        clock.shows += timedelta(days=1)
        if n == 1:
            others = [
                folder / "heron 2026-11-02 revision 1 of Ben.ribband",
                folder / "heron 2026-11-01 revision 0.ribband",  # our name, and not a job file
                folder / "kestrel 2026-11-02 revision 1.ribband",
                folder / "notes.txt",
            ]
            for other in others:
                other.write_text("mine")
    assert [copy.revision for copy in copies_of(path)] == list(range(4, 14))
    assert all(other.read_text() == "mine" for other in others)


def test_a_clock_set_back_neither_loses_nor_disorders(path: Path, clock: type[Clock]) -> None:
    for n in range(12):
        write(path, f"day {n}")
        clock.shows += timedelta(days=1)
    clock.shows = FIRST - timedelta(days=400)  # a flat battery
    write(path, "back")
    clock.shows -= timedelta(days=1)
    write(path, "further back")
    with JobFile.open(path) as job:
        past = job.history()
        assert [r.number for r in past] == list(range(1, 15))
        assert past[-1].at < past[0].at
        assert job.forms()["stock"].rows[0][1] == "further back"
    (said,) = checked_answer(path).notes
    assert said.startswith("2 revisions, from 13 on, are dated before the one before: a clock was")
    newest = copies_of(path)[-1]
    assert (newest.revision, newest.day) == (13, "2025-09-27"), "kept by revision, not by date"
    with JobFile.open(path, writing=True) as job:
        assert job.undo("Ben")
        assert job.forms()["stock"].rows[0][1] == "back"
        job.keep("a" * 64, "hull", (1,), "0", 0.0)
        clock.shows -= timedelta(days=1)
        job.keep("b" * 64, "hull", (2,), "0", 0.0)
        assert [r.key[0] for r in job.results()] == ["b", "a"], "as they were kept"
    assert verify(path) == ()


def test_none_are_kept_where_none_are_wanted(
    path: Path, clock: type[Clock], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RIBBAND_COPIES", "0")
    write(path, "monday")
    clock.shows += timedelta(days=1)
    write(path, "tuesday")
    assert not folder_of(path).exists()
    monkeypatch.setenv("RIBBAND_COPIES", "2")
    for n in range(5):
        clock.shows += timedelta(days=1)
        write(path, f"day {n}")
    assert [copy.revision for copy in copies_of(path)] == [5, 6]


def test_where_no_copy_can_be_made_the_work_goes_on_and_it_is_told(
    path: Path, clock: type[Clock], caplog: pytest.LogCaptureFixture
) -> None:
    write(path, "monday")
    folder_of(path).write_text("a file where the folder should be")
    clock.shows += timedelta(days=1)
    assert write(path, "tuesday") == 2
    assert "no copy of" in caplog.text
    assert folder_of(path).read_text() == "a file where the folder should be"


def test_the_shape_is_not_changed_where_no_copy_can_be_made(tmp_path: Path) -> None:
    old = Path(__file__).parent / "data" / "jobs" / "before-0.1.0.ribband"
    path = tmp_path / "heron.ribband"
    path.write_bytes(old.read_bytes())
    folder_of(path).write_text("a file where the folder should be")
    with pytest.raises(JobFileError, match="no copy of"):
        JobFile.open(path, writing=True)
    assert path.read_bytes() == old.read_bytes()


def test_a_copy_cut_off_leaves_nothing_and_is_cleared_away(
    path: Path, clock: type[Clock], monkeypatch: pytest.MonkeyPatch
) -> None:
    write(path, "monday")
    clock.shows += timedelta(days=1)
    folder_of(path).mkdir()
    part = folder_of(path) / ".heron 12-34.part"
    part.write_text("half")
    monkeypatch.setattr(copies, "STALE_PART_SECONDS", -1.0)

    def fails(db: sqlite3.Connection, into: Path) -> int:
        into.write_text("half")
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as full:
        full.setattr(copies, "copy_into", fails)
        write(path, "tuesday")
    assert [p.name for p in folder_of(path).iterdir()] == [part.name]
    clock.shows += timedelta(days=1)
    write(path, "wednesday")
    assert [p.name for p in folder_of(path).iterdir()] == [copies_of(path)[0].path.name]


def test_a_job_is_made_of_a_copy_by_a_verb(path: Path, clock: type[Clock], tmp_path: Path) -> None:
    write(path, "monday")
    clock.shows += timedelta(days=1)
    write(path, "spoilt")

    def ribband(*words: object) -> tuple[int, str]:
        done = CliRunner().invoke(cli, [str(word) for word in words], prog_name="ribband")
        return done.exit_code, done.output

    code, listed = ribband("copies", path)
    assert code == 0
    assert "2026-11-03" in listed
    assert "whole" in listed
    code, _ = ribband("copies", path, 1, "--to", tmp_path / "again")
    assert code == 0
    assert said(tmp_path / "again.ribband") == "monday"
    assert said(path) == "spoilt"
    assert ribband("copies", path, 1, "--to", path)[0] == 4, "the job itself is never written over"
    assert ribband("copies", path, 2, "--to", tmp_path / "more")[0] == 3
    assert ribband("copies", path, 1)[0] == 2
    path.unlink()
    assert "monday" not in ribband("copies", path)[1]
    assert ribband("copies", path)[0] == 0, "the copies are found where the job is gone"
    assert ribband("copies", tmp_path / "nowhere")[0] == 4


def test_a_damaged_job_names_its_newest_copy(path: Path, clock: type[Clock]) -> None:
    write(path, "monday")
    clock.shows += timedelta(days=1)
    write(path, "tuesday")
    path.write_bytes(b"SQLite format 3\0" + b"x" * 5000)
    with pytest.raises(JobFileError, match=r"the newest copy of it is .*revision 1\.ribband"):
        JobFile.open(path)
    assert date.fromisoformat(copies_of(path)[0].day) == date(2026, 11, 3)
