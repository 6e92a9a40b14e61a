"""The job file keeps what it acknowledged, whatever happens to the program."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from made_waits import first_line
from ribband.errors import JobFileError
from ribband.store import JobFile, inputs_hash, jobfile, verify
from ribband.store.forms import body_of, form_of, sense_of
from ribband.store.migrations import APPLICATION_ID, MIGRATIONS
from ribband.store.revisions import Revision, redo_to, undo_to
from ribband.survey.rows import Form

KEY = "a" * 64


def form(name: str = "frames", *rows: tuple[str, ...], file: str = "frames.csv") -> Form:
    rows = rows or (("1", "2-0-0"), ("2", "4-0-0"))
    return Form(name, ("frame", "position"), rows, file, tuple(range(2, len(rows) + 2)))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "marl heron.ribband"
    with JobFile.create(path) as job:
        job.add_revision({"frames": form()}, "Ada", "first")
    return path


def test_forms_come_back_exactly_as_typed(path: Path) -> None:
    typed = form("girths", (" 7-3-2? ", "=1+1"), ("é'\n\"", ""), file="girths.csv")
    typed = replace(typed, notes=((1, "# taped in the rain"),), heading_row=2)
    with JobFile.open(path, writing=True) as job:
        job.add_revision({"frames": form(), "girths": typed}, "Ada", "girths")
    with JobFile.open(path) as job:
        assert job.forms()["girths"] == typed
        assert list(job.forms(1)) == ["frames"]


@given(st.lists(st.tuples(st.text(), st.text()), max_size=4))
@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])  # others load the machine
def test_any_text_comes_back(rows: list[tuple[str, str]]) -> None:
    typed = Form("x", ("a", "b"), tuple(rows), "x.csv", tuple(range(len(rows))))
    assert form_of(body_of(typed)) == typed


def test_the_same_input_from_another_file_is_no_new_revision(path: Path) -> None:
    other = replace(form(), file="book.xlsx", numbers=(5, 9), notes=((1, "# note"),))
    assert sense_of(other) == sense_of(form())
    with JobFile.open(path, writing=True) as job:
        assert job.add_revision({"frames": other}, "Ben", "again") is None
        assert len(job.history()) == 1
        assert job.forms()["frames"] == form()


def test_a_changed_a_new_and_a_missing_form_are_each_a_new_revision(path: Path) -> None:
    with JobFile.open(path, writing=True) as job:
        assert job.add_revision({"frames": form("frames", ("1", "2-0-1"))}, "", "")
        assert job.add_revision({"frames": form(), "stock": form("stock")}, "", "")
        assert job.add_revision({"frames": form()}, "", "")
        assert [r.number for r in job.history()] == [1, 2, 3, 4]
        assert [r.parent for r in job.history()] == [None, 1, 2, 3]


def test_inputs_hash_changes_with_one_cell_and_not_with_order() -> None:
    a, b = form("a"), form("b")
    assert inputs_hash({"a": a, "b": b}) == inputs_hash({"b": b, "a": a})
    assert inputs_hash({"a": a}) != inputs_hash({"a": form("a", ("1", "2-0-1"), ("2", "4-0-0"))})


def test_undo_and_redo_walk_the_line_and_lose_nothing(path: Path) -> None:
    def position(job: JobFile) -> str:
        return job.forms()["frames"].rows[0][1]

    with JobFile.open(path, writing=True) as job:
        for at in ("a", "b", "c"):
            job.add_revision({"frames": form("frames", ("1", at))}, "Ada", at)
        seen = []
        for step in (job.undo, job.undo, job.redo, job.undo):
            step("Ben")
            seen.append(position(job))
        assert seen == ["b", "a", "b", "a"]
        job.add_revision({"frames": form("frames", ("1", "d"))}, "Ada", "d")
        assert job.redo("Ben") is None
        assert [job.undo("Ben") is not None for _ in range(3)] == [True, True, False]
        assert position(job) == "2-0-0"
        assert job.forms(4)["frames"].rows[0][1] == "c"  # still there
        assert {r.kind for r in job.history()} == {"new", "undo", "redo"}


@given(st.lists(st.sampled_from(["new", "undo", "redo"]), max_size=30))
def test_undo_then_redo_is_where_one_was(steps: list[str]) -> None:
    """Against a plain editor's undo stack."""
    history, says, back, forward = [], {}, [], []
    current = None
    for step in ["new", *steps]:
        number = len(history) + 1
        if step == "new":
            back, forward = ([*back, current] if current else []), []
            says[number], parent, current = number, number - 1 or None, number
        else:
            find = undo_to if step == "undo" else redo_to
            target = find(history[-1], lambda n: history[n - 1])
            source, other = (back, forward) if step == "undo" else (forward, back)
            assert (target is None) == (not source)
            if target is None:
                continue
            other.append(current)
            current = source.pop()
            says[number] = says[target]
            assert says[number] == current
            parent = target
        history.append(Revision(number, parent, step, "", "", ""))


def test_results_are_kept_by_key_and_replaced_by_the_same_key(path: Path) -> None:
    with JobFile.open(path, writing=True) as job:
        job.keep(KEY, "hull", (1.5, np.arange(3)), "0", 0.2)
        job.keep(KEY, "hull", (2.5, np.arange(3)), "0", 0.2)
        assert job.kept(KEY)[0] == 2.5
        assert job.kept("b" * 64) is None
        assert [(r.stage, r.revision) for r in job.results()] == [("hull", 1)]


def test_a_result_is_forgotten_by_its_key(path: Path) -> None:
    other = "b" * 64
    with JobFile.open(path, writing=True) as job:
        job.keep(KEY, "hull", (1.5,), "0", 0.2)
        job.keep(other, "hull", (2.5,), "0", 0.2)
        job.forget([KEY, "c" * 64])
        assert job.kept(KEY) is None
        assert job.kept(other) == (2.5,)


def test_a_damaged_result_is_made_again_and_verify_tells(path: Path) -> None:
    with JobFile.open(path, writing=True) as job:
        job.keep(KEY, "hull", (1.5,), "0", 0.2)
    assert verify(path) == ()
    with sqlite3.connect(path) as db:
        db.execute("UPDATE result SET words = '[2.5]'")
    db.close()
    with JobFile.open(path) as job:
        assert job.kept(KEY) is None
    assert verify(path) == (f"result {KEY[:12]} of hull is damaged; it will be made again",)


def test_verify_finds_a_changed_form_and_a_missing_revision(path: Path) -> None:
    db = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        db.execute("UPDATE form SET body = replace(body, '2-0-0', '3-0-0')")
    db.execute("DROP TRIGGER form_is_kept_update")
    db.execute("DROP TRIGGER revision_is_kept_update")
    db.execute("UPDATE form SET body = replace(body, '2-0-0', '3-0-0')")
    db.execute("UPDATE revision SET number = 7")
    db.commit()
    db.close()
    found = " / ".join(verify(path))
    assert "is not what was entered" in found
    assert "points at nothing" in found
    assert "revision 1 is missing" in found


def test_the_file_says_what_it_is(path: Path) -> None:
    header = path.read_bytes()[:100]
    assert int.from_bytes(header[68:72], "big") == APPLICATION_ID
    assert int.from_bytes(header[60:64], "big") == len(MIGRATIONS)
    assert header[18:20] == b"\x01\x01"  # rollback journal: one file
    assert sorted(p.name for p in path.parent.iterdir()) == [path.name]
    with sqlite3.connect(path) as db:
        assert [row[1] for row in db.execute("SELECT * FROM migration")] == [
            step.name for step in MIGRATIONS
        ]
    db.close()


def text_file(path: Path) -> None:
    path.write_text("girths, by tape")


def other_database(path: Path) -> None:
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE bills (a)")
    db.close()


def newer(path: Path) -> None:
    with JobFile.create(path):
        pass
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version = 99")
    db.close()


def cut_short(path: Path) -> None:
    with JobFile.create(path) as job:
        job.add_revision({"frames": form()}, "", "")
    path.write_bytes(path.read_bytes()[:5000])


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda path: None, "there is no job file"),
        (lambda path: path.mkdir(), "is a folder"),
        (text_file, "is not a job file"),
        (other_database, "not a Ribband job file"),
        (newer, "newer version"),
        (cut_short, "damaged or not a job file"),
    ],
)
@pytest.mark.parametrize("writing", [False, True])
def test_what_is_no_job_file_is_refused_in_plain_words(
    tmp_path: Path, make: object, says: str, writing: bool
) -> None:
    path = tmp_path / "x.ribband"
    make(path)  # type: ignore[operator]
    with (
        pytest.raises(JobFileError, match=says),
        JobFile.open(path, writing=writing) as job,
    ):
        job.forms()


def test_create_does_not_write_over_anything(path: Path, tmp_path: Path) -> None:
    with pytest.raises(JobFileError, match="is there already"):
        JobFile.create(path)
    with pytest.raises(JobFileError, match="cannot be made"):
        JobFile.create(tmp_path / "nowhere" / "x.ribband")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write all")
def test_a_read_only_file_can_be_read_and_not_written(path: Path) -> None:
    path.chmod(0o444)
    with JobFile.open(path) as job:
        assert job.forms()
    with pytest.raises(JobFileError, match="cannot be written"):
        JobFile.open(path, writing=True)


def test_opened_to_read_it_cannot_be_changed(path: Path) -> None:
    with JobFile.open(path) as job, pytest.raises(JobFileError, match="cannot be written"):
        job.add_revision({}, "", "")


def test_a_second_writer_waits_then_gives_up_in_plain_words(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobfile, "WAIT_SECONDS", 0.1)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with JobFile.open(path, writing=True) as job:
        with pytest.raises(JobFileError, match="in use by another program"):
            job.add_revision({}, "Ben", "")
        assert len(job.history()) == 1  # reading goes on meanwhile
        other.execute("ROLLBACK")
        assert job.add_revision({}, "Ben", "").number == 2
    other.close()


def test_an_error_half_way_leaves_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = path.read_bytes()
    with JobFile.open(path, writing=True) as job:
        real, calls = jobfile.hash_of, []

        def fails_on_the_third(text: str) -> str:
            calls.append(text)
            if len(calls) == 3:
                raise KeyboardInterrupt
            return real(text)

        monkeypatch.setattr(jobfile, "hash_of", fails_on_the_third)
        with pytest.raises(KeyboardInterrupt):
            job.add_revision({name: form(name) for name in "abcde"}, "Ada", "half")
        assert len(job.history()) == 1
    assert path.read_bytes() == before


WRITER = """
import sys
from pathlib import Path
from ribband.store import JobFile
from ribband.survey.rows import Form
import numpy as np
with JobFile.open(Path(sys.argv[1]), writing=True) as job:
    for i in range(100000):
        rows = tuple((sys.argv[2], str(i), "x" * 50) for _ in range(200))
        form = Form("frames", ("a", "b", "c"), rows, "f", tuple(range(200)))
        revision = job.add_revision({"frames": form}, sys.argv[2], str(i))
        print(revision.number, i, flush=True)
        job.keep(f"{revision.number:064d}", "hull", (np.full(20000, i),), "0", 0.0)
"""


def writer(path: Path, who: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), who], stdout=subprocess.PIPE, text=True
    )


@pytest.mark.parametrize("seed", range(6))
def test_killed_while_writing_what_was_acknowledged_is_there(path: Path, seed: int) -> None:
    with writer(path, "Ada") as process:
        first = first_line(process)
        time.sleep(random.Random(seed).uniform(0.0, 0.15))
        process.send_signal(signal.SIGKILL)
        said = [line.split() for line in (first + process.stdout.read()).splitlines()]
    said = [line for line in said if len(line) == 2]
    assert said
    with JobFile.open(path) as job:  # a change cut off half-way is taken back on reading too
        history = {r.number: r for r in job.history()}
        for number, i in said:
            assert history[int(number)].why == i
            assert job.forms(int(number))["frames"].rows[-1][1] == i
        assert len(history) <= len(said) + 2  # and at most one that was not yet told
    assert verify(path) == ()


def test_two_writers_at_once_both_get_every_revision_in(path: Path) -> None:
    both = [writer(path, who) for who in ("Ada", "Ben")]
    first = [first_line(process) + process.stdout.readline() for process in both]
    said = []
    for process, lines in zip(both, first, strict=True):
        process.kill()
        said += [line.split() for line in (lines + process.stdout.read()).splitlines()]
        process.wait(10)
        process.stdout.close()
    numbers = [int(line[0]) for line in said if len(line) == 2]
    assert len(set(numbers)) == len(numbers) >= 4
    with JobFile.open(path, writing=True) as job:
        assert {r.number for r in job.history()} >= set(numbers)
        assert {r.who for r in job.history()} == {"Ada", "Ben"}
    assert verify(path) == ()


def test_opening_a_job_gives_up_no_lock_of_another_thread(path: Path) -> None:
    """POSIX: a process that closes any handle of a file gives up all its locks on it."""
    ask = (
        "import sqlite3, sys\n"
        "sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None).execute('BEGIN IMMEDIATE')"
    )
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("BEGIN IMMEDIATE")
        with JobFile.open(path):
            pass
        with JobFile.open(path, writing=True):
            pass
        other = subprocess.run(
            [sys.executable, "-c", ask, str(path)],
            check=False,
            capture_output=True,
            text=True,
            timeout=60,
        )
    assert "database is locked" in other.stderr
