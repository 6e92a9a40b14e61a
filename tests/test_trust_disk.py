"""Full disks, read-only places, shares, two programs, newer versions: an answer to each."""

from __future__ import annotations

import errno
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from ribband.app.demo import copy_example
from ribband.app.entering.changes import Change, Edit, apply
from ribband.app.entering.jobs import new_job
from ribband.app.papers.whole import into_file, into_folder
from ribband.app.plan.planning import plan
from ribband.cli import cli
from ribband.errors import JobFileError, said_of_system
from ribband.store import JobFile, NoRoom, jobfile, places, verify
from ribband.store.migrations import MIGRATIONS
from ribband.survey.rows import Form

LINUX = sys.platform.startswith("linux")
NOBODY = 65534

FILLS = """
import json, resource, sys
from pathlib import Path
from ribband.errors import JobFileError
from ribband.store import JobFile
from ribband.survey.rows import Form
path, limit = Path(sys.argv[1]), int(sys.argv[2])
if limit:
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
told, says = [], ""
try:
    for n in range(int(sys.argv[3])):
        rows = tuple((str(n), str(k), "x" * 40) for k in range(200))
        form = Form("frames", ("a", "b", "c"), rows, "f", tuple(range(200)))
        with JobFile.open(path, writing=True) as job:
            told.append(job.add_revision({"frames": form}, "Ada", str(n)).number)
except JobFileError as wrong:
    says = str(wrong)
print(json.dumps({"told": told, "says": says}))
"""

TAKES_AWAY = """
import json, resource, sys
from pathlib import Path
from ribband.app.papers.whole import into_file, into_folder
folder, limit = Path(sys.argv[1]), int(sys.argv[2])
if limit:
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
def fill(into):
    for name in ("a", "b", "c"):
        into.joinpath(name).write_text(name * (10 if name == "a" else 3_000_000))
        yield into / name
says = []
for act in (lambda: into_file(folder / "book.pdf", lambda part: part.write_text("x" * 3_000_000)),
            lambda: into_folder(folder / "tables", fill)):
    try:
        act()
    except OSError as wrong:
        says.append(wrong.strerror)
print(json.dumps(says))
"""


def run(code: str, *words: object, first: tuple[str, ...] = ()) -> dict:
    done = subprocess.run(
        [*first, sys.executable, "-c", code, *map(str, words)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def may_mount() -> bool:
    tried = ["unshare", "-m", "sh", "-c", "mount -t tmpfs -o size=1m tmpfs /mnt"]
    try:
        return subprocess.run(tried, capture_output=True, check=False).returncode == 0
    except OSError:
        return False


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "heron.ribband"
    with JobFile.create(path) as job:
        job.add_revision({"frames": Form("frames", ("frame",), (("1",),), "f", (2,))}, "Ada", "")
    return path


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """Give a folder that every user of the machine can reach."""
    folder = Path(tempfile.mkdtemp(prefix="ribband-test-"))
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


def ribband(*words: object) -> tuple[int, str]:
    done = CliRunner().invoke(cli, [str(word) for word in words], prog_name="ribband")
    return done.exit_code, done.output


# ---- a full disk


@pytest.mark.skipif(not LINUX, reason="limits of a process")
def test_where_a_file_may_not_grow_what_was_told_is_kept(path: Path) -> None:
    said = run(FILLS, path, 150_000, 40)
    assert "disk" in said["says"]
    assert "not changed" in said["says"]
    with JobFile.open(path) as job:
        assert {r.number for r in job.history()} >= set(said["told"])
    assert verify(path) == ()
    assert run(FILLS, path, 0, 2)["told"], "it goes on when there is room again"


@pytest.mark.skipif(not LINUX or not may_mount(), reason="no small disk can be made here")
def test_a_full_disk_is_said_and_nothing_is_lost(tmp_path: Path) -> None:
    code = FILLS.replace("told, says", (
        "Path('/mnt/x').touch()\nwith JobFile.create(path): pass\ntold, says"
    ), 1) + "import shutil; shutil.copyfile(path, sys.argv[4])\n"  # fmt: skip
    words = ("unshare", "-m", "sh", "-c", 'mount -t tmpfs -o size=1m tmpfs /mnt && exec "$@"', "-")
    said = run(code, "/mnt/heron.ribband", 0, 200, tmp_path / "heron.ribband", first=words)
    assert said["says"] == "the disk is full; /mnt/heron.ribband was not changed"
    assert len(said["told"]) > 3
    with JobFile.open(tmp_path / "heron.ribband") as job:
        assert [r.number for r in job.history()] == said["told"]
    assert verify(tmp_path / "heron.ribband") == ()


@pytest.mark.skipif(not LINUX, reason="limits of a process")
def test_what_is_taken_away_to_a_full_disk_is_not_there_by_halves(tmp_path: Path) -> None:
    (tmp_path / "book.pdf").write_text("of last week")
    assert len(run(TAKES_AWAY, tmp_path, 2_000_000)) == 2
    assert [p.name for p in tmp_path.iterdir()] == ["book.pdf"]
    assert (tmp_path / "book.pdf").read_text() == "of last week"
    assert run(TAKES_AWAY, tmp_path, 0) == []
    assert sorted(p.name for p in (tmp_path / "tables").iterdir()) == ["a", "b", "c"]


def test_what_is_planned_where_there_is_no_room_to_keep_it_is_shown_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    job = new_job(tmp_path / "heron", copy_example("marl_heron_girths", tmp_path / "forms")).job

    def full(*_: object) -> None:
        raise NoRoom("the disk is full; heron.ribband was not changed")

    monkeypatch.setattr(JobFile, "keep", full)
    done = plan(job, "hull").run
    assert done.result("hull") is not None
    assert not done.stopped
    assert done.bench.unkept.endswith("what is made now is shown, but not kept")
    assert caplog.messages == [done.bench.unkept], "said once, not at every step"


def test_what_cannot_be_written_is_named_as_it_was_asked_for(tmp_path: Path) -> None:
    def fails(part: Path) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(part))

    with pytest.raises(OSError, match="No space left") as told:
        into_file(tmp_path / "book.pdf", fails)
    assert told.value.filename == str(tmp_path / "book.pdf")
    with pytest.raises(OSError, match="No space left") as told:
        into_folder(tmp_path / "tables", lambda into: [fails(into / "a.csv")])  # type: ignore[func-returns-value, list-item]
    assert told.value.filename == str(tmp_path / "tables")
    assert said_of_system(told.value) == "the disk is full"


def test_sqlites_own_word_for_a_full_disk(path: Path) -> None:
    with JobFile.open(path, writing=True) as job:
        pages = job._db.execute("PRAGMA page_count").fetchone()[0]
        job._db.execute(f"PRAGMA max_page_count = {pages}")
        big = Form("frames", ("a",), tuple(("x" * 999,) for _ in range(99)), "f", tuple(range(99)))
        for _ in range(2):  # the transaction is closed each time, however it ended
            with pytest.raises(JobFileError, match=r"the disk is full; .* was not changed"):
                job.add_revision({"frames": big}, "Ada", "too much")
        assert len(job.history()) == 1
    assert verify(path) == ()


# ---- places that may not be written


def tries(path: Path) -> dict[str, object]:
    """Read and write a job as whoever this is."""
    with JobFile.open(path) as job:
        forms = sorted(job.forms())
    try:
        says = str(apply(path, Change("x", "Ada", "", (Edit("frames", None, ("9",), 0),), 99)))
    except JobFileError as wrong:
        says = str(wrong)
    return {"forms": forms, "says": says, "whole": verify(path) == ()}


def as_nobody(path: Path) -> dict[str, object]:
    """Do so in a process of a user who may do nothing but what everyone may."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            os.write(theirs, json.dumps(tries(path)).encode())
        finally:
            os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as heard:
        said = heard.read()
    os.waitpid(child, 0)
    return json.loads(said)


@pytest.mark.skipif(not LINUX, reason="as another user")
@pytest.mark.parametrize("closed", ["the file", "the folder"])
def test_what_may_not_be_written_is_read_and_told(path: Path, open_folder: Path,
                                                  closed: str) -> None:  # fmt: skip
    own = open_folder / "heron.ribband"
    shutil.copyfile(path, own)
    own.chmod(0o444 if closed == "the file" else 0o666)
    open_folder.chmod(0o777 if closed == "the file" else 0o555)
    before = own.read_bytes()
    tries(path)  # once before, so that everything is loaded
    said = as_nobody(own)
    assert said["forms"] == ["frames"]
    assert said["whole"]
    assert "cannot be written" in said["says"]
    assert "nothing was changed" in said["says"]
    assert ("its folder is read-only" in said["says"]) == (closed == "the folder")
    assert own.read_bytes() == before
    open_folder.chmod(0o755)


def test_a_change_cut_off_where_nothing_may_be_written_is_told(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(db: object, path: Path, how: str) -> None:
        raise sqlite3.OperationalError("attempt to write a readonly database")

    path.with_name("heron.ribband-journal").write_bytes(b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7")
    monkeypatch.setattr(jobfile, "may_be_written", lambda path: False)
    monkeypatch.setattr(jobfile, "_prepared", refuses)
    with pytest.raises(JobFileError, match="cut off, and is taken back when"):
        JobFile.open(path)


# ---- shares and synced folders


def test_a_share_is_said_and_so_is_a_second_state(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert ribband("check", path)[1].count("share") == 0
    other = path.with_name("heron (conflicted copy of Ben 2026-11-25).ribband")
    shutil.copyfile(path, other)
    shutil.copyfile(path, path.with_name("heron-of-tuesday.ribband"))
    monkeypatch.setattr(places, "_kind_of", lambda path, mounts: "nfs4")
    code, said = ribband("check", path)
    assert code == 0, "a danger is no damage"
    assert "It lies on a share (nfs4)" in said
    assert other.name in said
    assert "of-tuesday" not in said
    assert "It lies on a share (nfs4)" in ribband("status", path)[1]
    with JobFile.open(path, writing=True) as job:
        job.add_revision({"frames": Form("frames", ("frame",), (("2",),), "f", (2,))}, "Ada", "")
    said = ribband("undo", path)[1]
    assert f"Beside it lies {other.name}: another state of this job" in said, "at every change"
    code, said = ribband("check", path, "--json")
    assert len(json.loads(said)["place"]) == 2


@pytest.mark.parametrize(
    ("name", "another"),
    [
        ("heron (conflicted copy 2026-11-25).ribband", True), ("heron (1).ribband", True),
        ("heron.sync-conflict-20261125-101010-ABC.ribband", True), ("heron-ii.ribband", False),
        ("heronconflict.ribband", False), ("kestrel (1).ribband", False), ("heron (1).pdf", False),
    ],
)  # fmt: skip
def test_what_looks_like_a_second_state(tmp_path: Path, name: str, another: bool) -> None:
    (tmp_path / name).touch()
    assert bool(places.conflicts_of(tmp_path / "heron.ribband")) == another


def test_the_kind_of_disk_is_that_of_the_nearest_mount() -> None:
    table = "/dev/sda / ext4 rw 0 0\nyard:/j /srv/the\\040yard nfs4 rw 0 0\ntmp /srv/t tmpfs rw\n"
    mounts = places._mounts(table)
    assert places._kind_of(Path("/srv/the yard/a/b.ribband"), mounts) == "nfs4"
    assert places._kind_of(Path("/srv/t/b.ribband"), mounts) == "tmpfs"
    assert places._kind_of(Path("/home/b.ribband"), mounts) == "ext4"


def test_a_share_that_keeps_no_locks_is_said(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = f"yard:/j {path.parent} nfs4 rw,nolock,vers=3 0 0\n/dev/sda / ext4 rw 0 0\n"
    monkeypatch.setattr(places.Path, "read_text", lambda *_: table)
    said = places.said_of_place(path)
    assert "It lies on a share (nfs4)" in said[0]
    assert "keeps no locks (nolock): never have two programs at this job" in said[1]


def test_a_disk_nearly_full_is_said(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(path.parent)._replace(free=3_000_000)
    monkeypatch.setattr(places.shutil, "disk_usage", lambda path: usage)
    assert "Only 3 MB are left" in ribband("check", path)[1]


# ---- a making that was cut off


@pytest.mark.parametrize("left", [b"", None], ids=["an empty file", "a job without a revision"])
def test_a_job_whose_making_was_cut_off_is_made_by_the_same_command(
    tmp_path: Path, left: bytes | None
) -> None:
    forms, path = copy_example("marl_heron_girths", tmp_path / "forms"), tmp_path / "heron.ribband"
    if left is None:
        with JobFile.create(path):
            pass
    else:
        path.write_bytes(left)
    code, said = ribband("check", path)
    assert code == 0
    assert "It holds nothing: no form was ever taken in." in said
    assert ribband("new", path, forms)[0] == 0
    assert "It holds nothing" not in ribband("check", path)[1]
    with JobFile.open(path) as job:
        assert [r.number for r in job.history()] == [1]
    code, said = ribband("new", path, forms)
    assert code == 4
    assert "is there already" in said
    (tmp_path / "mine.ribband").write_text("a letter")
    assert ribband("new", tmp_path / "mine.ribband", forms)[0] == 4
    assert (tmp_path / "mine.ribband").read_text() == "a letter"


# ---- two programs, and another version


def test_two_programs_take_turns_and_the_one_that_waits_too_long_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    forms = copy_example("marl_heron_girths", tmp_path / "forms")
    path = new_job(tmp_path / "heron", forms).job
    monkeypatch.setattr(jobfile, "WAIT_SECONDS", 0.05)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    code, said = ribband("photo", path, "P1-1", "a.jpg", "--name-only")
    assert code == 4
    assert "in use by another program; nothing was changed, try again" in said
    assert ribband("history", path)[0] == 0, "reading goes on"
    assert ribband("check", path)[0] == 0
    other.execute("ROLLBACK")
    other.close()
    assert ribband("photo", path, "P1-1", "a.jpg", "--name-only")[0] == 0


def test_a_newer_file_is_refused_with_both_versions_named(path: Path) -> None:
    with JobFile.open(path, writing=True) as job:
        job.keep("a" * 64, "hull", (1,), "7.3.1", 0.0)
    db = sqlite3.connect(path)
    db.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 3}")
    db.close()
    before = path.read_bytes()
    for verb in (("status", path), ("check", path), ("undo", path), ("text", path, path.parent)):
        code, said = ribband(*verb)
        assert code == 4
        assert f"the file has shape {len(MIGRATIONS) + 3}" in said
        assert f"knows shapes 1 to {len(MIGRATIONS)}" in said
        assert "by Ribband 7.3.1" in said
        assert "newer version" in said
    assert path.read_bytes() == before


def test_a_damaged_file_has_its_exit_code_and_words(path: Path) -> None:
    db = sqlite3.connect(path)
    db.executescript(
        """DROP TRIGGER form_is_kept_update; CREATE TABLE mine (a);
        UPDATE form SET body = replace(body, '"1"', '"2"');
        DROP TRIGGER revision_is_kept_update; UPDATE revision SET parent = 1, at = 'yesterday';"""
    )
    db.close()
    code, said = ribband("check", path)
    assert code == 1
    for words in (
        "is damaged", "trigger form_is_kept_update is missing", "mine is none of Ribband's",
        "is not what was entered", "comes from 1, which cannot be", "'yesterday', which is no",
    ):  # fmt: skip
        assert words in said
    assert ribband("text", path, path.parent / "text")[0] == 0, "what can be read is written"
