"""The yard: what one server has in hand, and how a request gets at it.

One server serves one job file. Every change goes through `Yard.change` or its fellows, one at a
time, so that browsers are told of revisions in their order; a change is told only after it is on
the disk.
"""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import threading
from collections import deque
from collections.abc import Callable, Coroutine, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal, cast
from urllib.parse import unquote

from fastapi import Depends
from fastapi.requests import HTTPConnection

from ribband.app.entering import changes
from ribband.app.entering.jobs import history, whoever
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
    lock: threading.Lock = field(default_factory=threading.Lock)
    asked: deque[_Asked] = field(default_factory=deque)  # changes not put in yet
    kept: dict[str, bytes] = field(default_factory=dict)  # the last few drawings, by their tag
    making: dict[str, asyncio.Task[bytes]] = field(default_factory=dict)

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
            found: Sequence[Any] = changes.apply_all(self.job, [one.change for one in batch])
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
        with self.lock:
            done = changes.step(self.job, kind, who, mark=mark, upon=upon)
            if done is not None:
                self._tell(done)
            return done

    def go_back(self, number: int, who: str, mark: str) -> changes.Patch:
        """Go back to a revision by making a new one, and tell everyone."""
        with self.lock:
            done = changes.go_back(self.job, number, who, mark=mark)
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
        """Tell everyone of revisions made through no page: the command line, another server."""
        with self.lock:
            if past := history(self.job, self.revision):
                last = past[-1]
                self._tell(
                    changes.Patch(
                        "", last.number, self.revision, last.who, last.why, last.at, ("*",)
                    )
                )

    def _tell(self, patch: changes.Patch) -> None:
        if patch.revision <= self.revision:
            return  # a repeat, or nothing new
        self.revision = patch.revision
        self.live.say("patch", **patch_out(patch))
        if self.live.loop is not None:
            self.live.loop.call_soon_threadsafe(self.work.changed)

    async def watch(self) -> None:
        """Look for what others write into the job file, every second."""
        seen = None
        while True:
            await asyncio.sleep(LOOK_SECONDS)
            with contextlib.suppress(JobFileError, OSError):
                stamp = self.job.stat().st_mtime_ns
                if stamp != seen:
                    seen = stamp
                    await asyncio.to_thread(self.told)


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
