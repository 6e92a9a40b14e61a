"""The yard: what one server has in hand, and how a request gets at it.

One server serves one job file. Every change goes through `Yard.change` or its fellows, one at a
time, so that browsers are told of revisions in their order; a change is told only after it is on
the disk.
"""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import os
import threading
from collections import deque
from collections.abc import Callable, Coroutine, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal, cast
from urllib.parse import unquote

from fastapi import Depends
from fastapi.requests import HTTPConnection

from ribband.app.entering import changes
from ribband.app.entering.jobs import whoever
from ribband.app.entering.keeping import NotTheJob, Watch
from ribband.app.showing.answers import plain
from ribband.errors import JobFileError
from ribband.web.access import Caller, Share
from ribband.web.aside import Aside
from ribband.web.live import Live
from ribband.web.work import Work

__all__ = ["TheCaller", "TheYard", "Yard"]

LOOK_SECONDS = 1.0
MOST_KEPT, MOST_KEPT_BYTES = 8, 1_500_000
MOST_TOGETHER = 50  # changes put on the disk at once


@dataclass(eq=False, slots=True)
class _Asked:
    """A change that was asked for, and what came of it."""

    change: changes.Change
    done: changes.Patch | changes.Clash | BaseException | None = None


@dataclass
class Yard:
    """One job being served."""

    job: Path
    share: Share | None
    live: Live
    work: Work
    aside: Aside = field(default_factory=Aside)  # for what a hand waits for
    press: Aside = field(default_factory=Aside)  # for papers, which take their time
    revision: int = 0
    front: int = 0  # the port of the yard's own page, where there is one
    known_as: tuple[str, ...] = ()  # what the yard's network reaches this machine by, if shared
    file_says: str = ""  # what is wrong with the job file, where another program changed it
    lock: threading.Lock = field(default_factory=threading.Lock)
    asked: deque[_Asked] = field(default_factory=deque)  # changes not put in yet
    kept: dict[str, bytes] = field(default_factory=dict)  # the last few drawings, by their tag
    making: dict[str, asyncio.Task[bytes]] = field(default_factory=dict)

    file: Watch = field(init=False)  # whether the job file is still the one it was

    def __post_init__(self) -> None:
        """Have the job file watched."""
        self.file = Watch(self.job)

    @property
    def key(self) -> str:
        """Tell this job from others in one browser, without saying where it lies."""
        return hashlib.sha256(str(self.job).encode()).hexdigest()[:16]

    def change(self, change: changes.Change) -> changes.Patch | changes.Clash:
        """Apply a change and tell everyone; blocks, so call it from a thread.

        Changes that come while another is on its way to the disk go there together, and wait for
        it once.
        """
        mine = _Asked(change)
        self.asked.append(mine)
        with self.lock:
            while mine.done is None:
                self._put_in()
        if isinstance(mine.done, BaseException):
            raise mine.done
        return mine.done

    def _put_in(self) -> None:
        """Put in what was asked for up to now, in its order."""
        batch = [self.asked.popleft() for _ in range(min(len(self.asked), MOST_TOGETHER))]
        try:
            with self._file_told():
                asked = [one.change for one in batch]
                found: Sequence[Any] = changes.apply_all(self.job, asked, self.file)
        except BaseException as wrong:
            for one in batch:
                one.done = wrong
            return
        for one, done in zip(batch, found, strict=True):
            one.done = done
            if isinstance(done, changes.Patch):
                self._tell(done)

    def step(
        self, kind: Literal["undo", "redo"], who: str, mark: str, upon: int | None
    ) -> changes.Patch | None:
        """Undo or redo and tell everyone."""
        with self.lock, self._file_told():
            done = changes.step(self.job, kind, who, mark=mark, upon=upon, watch=self.file)
            if done is not None:
                self._tell(done)
            return done

    def go_back(self, number: int, who: str, mark: str) -> changes.Patch:
        """Go back to a revision by making a new one, and tell everyone."""
        with self.lock, self._file_told():
            done = changes.go_back(self.job, number, who, mark=mark, watch=self.file)
            self._tell(done)
            return done

    async def once(self, tag: str, make: Callable[[], Coroutine[Any, Any, bytes]]) -> bytes:
        """Give what is kept under `tag`, or make it once for however many ask meanwhile."""
        if tag in self.kept:
            return self.kept[tag]
        if tag not in self.making:
            task = self.making[tag] = asyncio.ensure_future(make())
            task.add_done_callback(lambda _: self.making.pop(tag, None))
        body = await asyncio.shield(self.making[tag])
        self.keep(tag, body)
        return body

    def keep(self, tag: str, body: bytes) -> None:
        """Keep a drawing for the next browser that asks, if it is not large."""
        if len(body) <= MOST_KEPT_BYTES:
            while len(self.kept) >= MOST_KEPT:
                self.kept.pop(next(iter(self.kept)), None)
            self.kept[tag] = body

    def told(self) -> None:
        """Tell everyone of revisions made through no page: the command line, another server.

        And, where the file is not the job any more that it was, of that.
        """
        with self.lock, self._file_told():
            with self.file.opened() as job:
                past = job.history(self.revision)
            if past:
                last = past[-1]
                self._tell(
                    changes.Patch(
                        "", last.number, self.revision, last.who, last.why, last.at, ("*",)
                    )
                )

    @contextlib.contextmanager
    def _file_told(self) -> Iterator[None]:
        """Tell everyone where the file is found to be another, and where it is right again.

        Raises
        ------
        NotTheJob : it is another; where it lies is not said
        """
        try:
            yield
        except NotTheJob as wrong:
            says = str(wrong).replace(f"{self.job.parent}{os.sep}", "")
            self._say_of_file(says)
            raise NotTheJob(says) from wrong
        self._say_of_file("")

    def _say_of_file(self, says: str) -> None:
        if says != self.file_says:
            self.file_says = says
            self.live.say("file", says=says)

    def _tell(self, patch: changes.Patch) -> None:
        if patch.revision <= self.revision:
            return  # a repeat, or nothing new
        self.revision = patch.revision
        self.live.say("patch", **patch_out(patch))
        if self.live.loop is not None:
            self.live.loop.call_soon_threadsafe(self.work.changed)

    async def watch(self) -> None:
        """Look for what others do to the job file, every second."""
        seen: object = None
        while True:
            stamp = self._stamp()
            if stamp != seen:
                seen = stamp
                with contextlib.suppress(JobFileError, OSError):
                    await asyncio.to_thread(self.told)
            await asyncio.sleep(LOOK_SECONDS)

    def _stamp(self) -> object:
        try:
            own = self.job.stat()
        except OSError:
            return "gone"
        return own.st_ino, own.st_size, own.st_mtime_ns


def patch_out(patch: changes.Patch) -> dict[str, Any]:
    """Give a patch as it goes to a browser."""
    return cast("dict[str, Any]", plain(patch))


def _yard(connection: HTTPConnection) -> Yard:
    return cast("Yard", connection.app.state.yard)


def _caller(connection: HTTPConnection) -> Caller:
    """Say who asks: the name they sign with, and what they may do."""
    found = connection.scope.get("ribband.caller") or Caller("", "lead")
    said = connection.headers.get("x-ribband-who", "").strip()[:60]
    return Caller(found.name or _unquoted(said) or whoever(), found.role)


def _unquoted(text: str) -> str:
    return " ".join(unquote(text).split())


TheYard = Annotated[Yard, Depends(_yard)]
TheCaller = Annotated[Caller, Depends(_caller)]
