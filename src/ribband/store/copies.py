"""Dated copies beside a job: the state in which the day found it.

A job ``heron.ribband`` keeps its copies in the folder ``heron copies``. At the first change on a
day a copy of the job as it was before is put there, whole, by SQLite's own means of copying; and
so before the shape of the file is brought forward. The name tells the day and the revision::

    heron copies/heron 2026-11-25 revision 41.ribband
    heron copies/heron 2026-12-01 revision 52 form 1.ribband     (before the shape was changed)

*Limit*: as many dated copies as `most_kept` says stay; the lowest revisions go first, whatever
the clock said. Copies from before a change of shape are not counted and never taken away. Only
files of exactly such a name that are job files are ever taken away.

A copy is a job file like any other: open it, or copy it back by hand.

Not checked here: whether the disk under the copies is another than the one under the job; a copy
in the next folder is no help where the disk itself is lost.
"""

from __future__ import annotations

import logging
import os
import re
import sqlite3
import time
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from ribband.errors import JobFileError
from ribband.store.migrations import APPLICATION_ID

__all__ = [
    "KEPT", "Copy", "copies_of", "copy_due", "copy_into", "folder_of", "keep_copy", "most_kept",
    "newest_copy",
]  # fmt: skip

KEPT = 10  # unless RIBBAND_COPIES says otherwise
STALE_PART_SECONDS = 3600.0
_NAME = re.compile(r" (\d{4}-\d\d-\d\d) revision (\d{1,12})(?: form (\d{1,4}))?\.ribband", re.ASCII)

log = logging.getLogger("ribband.store")


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy beside a job: the day it was made, the revision it holds.

    `form` is the shape of the file it was made before, None for a copy of the day.
    """

    path: Path
    day: str
    revision: int
    form: int | None


def folder_of(path: Path) -> Path:
    """Give the folder in which the copies of a job lie.

    >>> folder_of(Path("jobs/heron.ribband")).name
    'heron copies'
    """
    return path.with_name(f"{path.stem} copies")


def most_kept() -> int:
    """Give how many dated copies are kept: 10, or what RIBBAND_COPIES says; 0 is none.

    >>> most_kept() >= 0
    True
    """
    said = os.environ.get("RIBBAND_COPIES", "").strip()
    return int(said) if said.isascii() and said.isdigit() and len(said) < 6 else KEPT


def copies_of(path: Path) -> tuple[Copy, ...]:
    """List the copies of a job, the lowest revision first.

    >>> copies_of(Path("nowhere/heron.ribband"))
    ()
    """
    found = []
    with suppress(OSError):
        for own in folder_of(path).iterdir():
            told = _NAME.fullmatch(own.name.removeprefix(path.stem))
            if told and own.name.startswith(path.stem) and _is_job(own):
                form = None if told[3] is None else int(told[3])
                found.append(Copy(own, told[1], int(told[2]), form))
    return tuple(sorted(found, key=lambda copy: (copy.revision, copy.day, copy.form or 0)))


def newest_copy(path: Path) -> Path | None:
    """Give the copy with the highest revision; None if there is none."""
    found = copies_of(path)
    return found[-1].path if found else None


def copy_due(path: Path, made_at: str, today: date) -> bool:
    """Tell whether the first change of a day is about to be made.

    `made_at` is when the newest revision was made. A job begun today has no earlier state to keep.

    >>> copy_due(Path("nowhere/a.ribband"), "2026-11-24T10:00:00Z", date(2026, 11, 26))
    True
    >>> copy_due(Path("nowhere/a.ribband"), "2026-11-26T10:00:00Z", date(2026, 11, 26))
    False
    """
    if not most_kept() or _day_of(made_at) == today:
        return False
    return all(copy.day != today.isoformat() for copy in copies_of(path) if copy.form is None)


def keep_copy(db: sqlite3.Connection, path: Path, today: date, form: int | None = None) -> Path:
    """Put a copy of an open job beside it, and take the oldest away where there are too many.

    Raises
    ------
    JobFileError : it could not be made; the job itself is untouched
    """
    folder = folder_of(path)
    try:
        folder.mkdir(exist_ok=True)
        part = folder / f".{path.stem} {os.getpid()}-{time.monotonic_ns()}.part"
        try:
            revision = copy_into(db, part)
            ending = "" if form is None else f" form {form}"
            kept = folder / f"{path.stem} {today} revision {revision}{ending}.ribband"
            part.replace(kept)
        finally:
            part.unlink(missing_ok=True)
        _settle(folder)
    except (OSError, sqlite3.Error) as wrong:
        raise JobFileError(f"no copy of {path} could be made in {folder}: {wrong}") from wrong
    _tidy(path)
    return kept


def copy_into(db: sqlite3.Connection, into: Path) -> int:
    """Copy an open job to a new file, prove the copy, and give the newest revision in it.

    Raises
    ------
    sqlite3.Error, OSError : it cannot be written, or is not whole
    """
    with closing(sqlite3.connect(into, isolation_level=None)) as new:
        db.backup(new)
        said = new.execute("PRAGMA quick_check(1)").fetchone()[0]
        if said != "ok":
            raise sqlite3.DatabaseError(str(said))
        revision = new.execute("SELECT max(number) FROM revision").fetchone()[0]
    with into.open("r+b") as file:
        os.fsync(file.fileno())
    return int(revision or 0)


def _tidy(path: Path) -> None:
    """Take the lowest revisions away where there are too many, and what a killed copy left."""
    dated = [copy for copy in copies_of(path) if copy.form is None]
    for copy in dated[: max(0, len(dated) - max(1, most_kept()))]:
        with suppress(OSError):
            copy.path.unlink()
            log.info("took away the oldest copy, %s", copy.path.name)
    left = re.compile(rf"\.{re.escape(path.stem)} \d+-\d+\.part(-journal)?", re.ASCII)
    with suppress(OSError):
        for own in folder_of(path).iterdir():
            if left.fullmatch(own.name) and time.time() - own.stat().st_mtime > STALE_PART_SECONDS:
                own.unlink(missing_ok=True)


def _is_job(path: Path) -> bool:
    with suppress(OSError), path.open("rb") as file:
        return file.read(72)[68:72] == APPLICATION_ID.to_bytes(4, "big")
    return False


def _day_of(at: str) -> date | None:
    try:
        return datetime.fromisoformat(at).astimezone().date()
    except (ValueError, OverflowError, OSError):
        return None


def _settle(folder: Path) -> None:
    """Have the disk keep the names in a folder, where the system can be asked for that."""
    with suppress(OSError):
        own = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(own)
        finally:
            os.close(own)
