"""Watching a job file: is it still the one this program wrote to, and what was in it if not.

*Seen*: a state of a job as a program saw it, its newest revision by number and by a hash of who,
when, why and which forms. A file that does not hold what was seen is another state of the job: it
was put in place of this one (by syncing, by a copy from a share), cut short, or written over by a
program that did not wait its turn. *Kept aside*: what this program last saw, put into a job file of
its own beside the other, so that nothing acknowledged is lost: whole, with its history, where the
old file is still in reach of an open handle (it was replaced, moved or deleted), else the newest
forms, which are kept in memory.

A change is refused as long as the file does not hold what was seen; once it does again the work
goes on. Which of two states is wanted only a person can say.

Not checked here: results, which can be made again.
"""

from __future__ import annotations

import os
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

from ribband.errors import JobFileError
from ribband.store import copies
from ribband.store.forms import form_of
from ribband.store.jobfile import JobFile
from ribband.store.plain_words import NotTheJob
from ribband.store.seen import Seen, holds, seen_in

__all__ = ["OtherState", "Watch"]

MOST_LOOKED_THROUGH = 100_000_000  # bytes of a file whose structure is gone through at once
QUICK_SECONDS, REST = 0.01, 200.0  # a look that takes longer rests so many times as long
Stamp = tuple[int, int, int, int]


class OtherState(NotTheJob):
    """The file does not hold what this program saw in it; nothing was changed."""


class Watch:
    """Watches one job file for a program that has it in hand for long; safe to use from threads."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.seen: Seen | None = None
        self.aside: Path | None = None  # where what was seen is kept, while the file is another
        self._forms: dict[str, tuple[str, str]] = {}  # by name: hash and body, of what was seen
        self._held: sqlite3.Connection | None = None
        self._stamp: Stamp | None = None
        self._next_look = 0.0  # when the structure is looked through again
        self._turn = threading.RLock()

    @contextmanager
    def opened(self, *, writing: bool = False) -> Iterator[JobFile]:
        """Open the job, having seen that it is as it was left; what is in it after is seen.

        Raises
        ------
        OtherState : it is not, or is no job file any more; nothing was changed
        JobFileError : it cannot be opened or written
        """
        with self._turn:
            try:
                self._not_emptied()
                job = JobFile.open(self.path, writing=writing)
            except NotTheJob as wrong:
                raise self._other(str(wrong)) from wrong
            with job:
                self._look(job)
                yield job
                self._saw(job)

    def _not_emptied(self) -> None:
        """See that there is anything: an empty file would be taken for a job just begun."""
        stamp = _stamp(self.path)
        if self.seen is not None and stamp is not None and not stamp[3]:
            raise NotTheJob(f"{self.path} is empty")

    def _look(self, job: JobFile) -> None:
        try:
            with job.reading() as db:
                there = self.seen is None or holds(db, self.seen)
                broken = "" if self._stamp == _stamp(self.path) else self._broken(db)
        except NotTheJob as wrong:
            raise self._other(str(wrong)) from wrong
        if not there:
            raise self._other(_says_else(job, self.seen))
        if broken:
            raise self._other(f"{self.path} is damaged ({broken})")
        self.aside = None

    def _broken(self, db: sqlite3.Connection) -> str:
        """Look through the structure, where that takes long not too often: changes wait for it."""
        began = time.monotonic()
        if began < self._next_look:
            return ""
        found = _structure(db, self.path)
        took = time.monotonic() - began
        self._next_look = began + (REST * took if took > QUICK_SECONDS else 0.0)
        return found

    def _saw(self, job: JobFile) -> None:
        with job.reading() as db:
            self.seen = seen_in(db)
            rows = db.execute(
                "SELECT name, form FROM revision_form WHERE revision = ?", (self.seen.revision,)
            ).fetchall()
            self._forms = {name: self._body(db, name, key) for name, key in rows}
        self._hold()
        self._stamp = _stamp(self.path)

    def _body(self, db: sqlite3.Connection, name: str, key: str) -> tuple[str, str]:
        known = self._forms.get(name)
        if known is not None and known[0] == key:
            return known
        return key, str(db.execute("SELECT body FROM form WHERE hash = ?", (key,)).fetchone()[0])

    def _hold(self) -> None:
        """Hold the file open, so that it can still be read when another is put in its place."""
        stamp = _stamp(self.path)
        if self._held is not None and self._stamp and stamp and stamp[:2] == self._stamp[:2]:
            return
        self._let_go()
        with suppress(sqlite3.Error, OSError):
            name = f"{self.path.resolve().as_uri()}?mode=ro"
            self._held = sqlite3.connect(name, uri=True, timeout=2.0, check_same_thread=False)
            self._held.execute("SELECT count(*) FROM sqlite_master").fetchone()

    def _let_go(self) -> None:
        if self._held is not None:
            self._held.close()
            self._held = None

    def close(self) -> None:
        """Let the file go."""
        with self._turn:
            self._let_go()

    def _other(self, why: str) -> OtherState:
        """Keep what was seen aside, once, and say what happened."""
        if self.aside is None and self.seen is not None and self.seen.revision:
            self.aside = self._kept_aside(self.seen)
        return OtherState(
            f"{why}. Another program changed the file without waiting its turn: a synced folder, a "
            f"copy put in its place, or a share that keeps no locks. {self._what_to_do()}"
        )

    def _what_to_do(self) -> str:
        if self.aside is None or self.seen is None:
            return "Nothing is written until the file is as it was; see its copies: ribband copies."
        return (
            f"What was there, to revision {self.seen.revision}, is kept in {self.aside}. Nothing "
            "is written meanwhile. Look at both (ribband history). Put that file back under the "
            "job's name, and the work goes on by itself; or, to go on with the other, end this "
            "server and open the job again."
        )

    def _kept_aside(self, seen: Seen) -> Path | None:
        now = datetime.now().astimezone()
        into = self.path.with_name(f"{self.path.stem} kept {now:%Y-%m-%d %H%M%S}.ribband")
        for put in (self._whole_into, self._newest_into):
            try:
                put(into, seen)
            except (OSError, sqlite3.Error, JobFileError, ValueError):
                into.unlink(missing_ok=True)
            else:
                return into
        return None

    def _whole_into(self, into: Path, seen: Seen) -> None:
        """Copy the file that is still held open, if it holds what was seen."""
        if self._held is None:
            raise sqlite3.OperationalError("not held")
        if not holds(self._held, seen):
            raise sqlite3.DatabaseError("it was written over")
        copies.copy_into(self._held, into)

    def _newest_into(self, into: Path, seen: Seen) -> None:
        """Make a job of the forms as they were seen."""
        forms = {name: form_of(body) for name, (_, body) in self._forms.items()}
        with JobFile.create(into) as job:
            why = f"as revision {seen.revision} of {self.path.name} was last seen"
            job.add_revision(forms, "Ribband", why)


def _stamp(path: Path) -> Stamp | None:
    try:
        own = os.stat(path)  # noqa: PTH116 - one word for what is read of it
    except OSError:
        return None
    return own.st_dev, own.st_ino, own.st_mtime_ns, own.st_size


def _structure(db: sqlite3.Connection, path: Path) -> str:
    """Say what is wrong in the structure of a file that another wrote to; "" if nothing is."""
    with suppress(OSError):
        if path.stat().st_size > MOST_LOOKED_THROUGH:
            return ""
    said = str(db.execute("PRAGMA quick_check(1)").fetchone()[0])
    return "" if said == "ok" else said


def _says_else(job: JobFile, seen: Seen | None) -> str:
    last = job.last()
    is_at = f"at revision {last.number} by {last.who}" if last else "without any revision"
    was_at = seen.revision if seen else 0
    return f"{job.path} is not the job it was: it was at revision {was_at} and is now {is_at}"
