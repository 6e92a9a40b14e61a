"""Work in hand: long solves in a process of their own.

One piece of work at a time. It is asked for, or begins by itself a moment after a change (the
moment starts anew with every further change, and work on what is overtaken is ended). Ending it
ends the process; what was kept stays. When a piece that was asked for of one step is done, what
hangs on it is brought up to date as after a change. The state goes to every browser over the
socket and as server-sent events.
"""

from __future__ import annotations

import asyncio
import multiprocessing
from collections.abc import AsyncIterator
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from ribband.app.plan.limits import WORK_SECONDS, lost
from ribband.app.plan.steps import WHOLE, look_again
from ribband.app.plan.work_aside import plan_aside
from ribband.web.live import Live

__all__ = ["Work", "WorkState"]

LAST = WHOLE
WAIT_SECONDS = 1.2  # after the last change, before the plan is brought up to date
AUTO_SECONDS = 4.0  # of search for butts, where nobody asked for more
REST_SECONDS = 0.3  # after one step was worked out, before what hangs on it is
TOLD_EVERY = 0.1


@dataclass(slots=True)
class WorkState:
    """How far it is: "idle", "waiting", "running", "done", "ended" or "trouble".

    `number` counts the pieces of work since the server began; `kept` the results kept in this
    piece, so that a page knows when to fetch again; `lines` is the best so far.
    """

    state: str = "idle"
    number: int = 0
    part: float = 0.0
    words: str = ""
    step: str = ""
    who: str = ""
    kept: int = 0
    says: str = ""
    lines: list[dict[str, str]] = field(default_factory=list)
    problems: list[dict[str, Any]] = field(default_factory=list)


class Work:
    """The work in hand on one job."""

    def __init__(self, job: Path, live: Live, *, by_itself: bool = True) -> None:
        self.job = job
        self.live = live
        self.by_itself = by_itself
        self.state = WorkState()
        self._process: multiprocessing.process.BaseProcess | None = None
        self._task: asyncio.Task[None] | None = None
        self._soon: asyncio.TimerHandle | None = None
        self._turn = asyncio.Event()  # set when the state has changed; then a new one

    # ---- what pages ask for; all on the loop of the server

    def start(self, last: str = LAST, seconds: float = AUTO_SECONDS, who: str = "") -> WorkState:
        """Begin, in place of any work in hand."""
        self._end()
        number = self.state.number + 1
        self.state = WorkState("running", number, words="beginning", who=who)
        self._task = asyncio.ensure_future(self._watch(last, seconds))
        self._say()
        return self.state

    def cancel(self, who: str = "") -> WorkState:
        """End the work in hand; what was kept stays."""
        if self.state.state in {"running", "waiting"}:
            self._end()
            self.state.state = "ended"
            self.state.says = f"ended by {who}" if who else "ended"
            self._say()
        return self.state

    def changed(self) -> None:
        """Bring the plan up to date a moment from now; called after every change."""
        if not self.by_itself:
            return
        waits = self._soon is not None
        self._end()
        if not waits:  # everybody knows already that it waits for the last change
            self.state = WorkState("waiting", self.state.number, words="a moment after the change")
            self._say()
        self._soon = asyncio.get_running_loop().call_later(WAIT_SECONDS, self._begin)

    def _begin(self) -> None:
        self._soon = None
        self.start()

    async def events(self) -> AsyncIterator[WorkState]:
        """Give the state now, and again whenever it changes."""
        while True:
            turn = self._turn
            yield self.state
            with suppress(TimeoutError):
                await asyncio.wait_for(turn.wait(), 15.0)

    async def close(self) -> None:
        """End everything, at the end of the server."""
        self._end()

    # ---- within

    def _end(self) -> None:
        if self._soon is not None:
            self._soon.cancel()
            self._soon = None
        if self._task is not None:
            self._task.cancel()
            self._task = None
        if self._process is not None and self._process.is_alive():
            self._process.terminate()
        self._process = None

    async def _watch(self, last: str, seconds: float) -> None:
        """Run the process and pass on what it tells."""
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(
            target=plan_aside, args=(theirs, self.job, last, seconds), daemon=True
        )
        self._process = process
        begun = asyncio.ensure_future(asyncio.to_thread(process.start))
        try:
            await asyncio.shield(begun)
            theirs.close()
            await asyncio.wait_for(self._listen(ours, process), WORK_SECONDS + seconds)
            self._go_on(last)
        except TimeoutError:
            self._trouble(f"The work took longer than {WORK_SECONDS / 60:.0f} minutes and was "
                          "ended; what was kept stays.")  # fmt: skip
        finally:
            ours.close()
            # where it was still being begun, it is ended as soon as there is anything to end
            begun.add_done_callback(lambda _: _end(process))
            if begun.done():
                _end(process)

    def _go_on(self, last: str) -> None:
        """Bring the rest up to date, where only a part of the plan was asked for."""
        if self.by_itself and last != LAST and self.state.state == "done" and self._soon is None:
            self._soon = asyncio.get_running_loop().call_later(REST_SECONDS, self._begin)

    async def _listen(self, pipe: Any, process: multiprocessing.process.BaseProcess) -> None:
        while self.state.state == "running":
            while not pipe.poll():
                await asyncio.sleep(TOLD_EVERY / 2)
            told, ended = _all_of(pipe)
            for one in told:
                self._heard(one)
            if ended and self.state.state == "running":
                await asyncio.to_thread(process.join, 5.0)
                self._trouble(lost(process.exitcode))
            else:
                self._say()

    def _trouble(self, says: str) -> None:
        self.state.state, self.state.says = "trouble", says
        self._say()

    def _heard(self, said: dict[str, Any]) -> None:
        state = self.state
        if said["kind"] != "tell":
            look_again()  # the process may have begun with a newer program than this one
        match said["kind"]:
            case "tell":
                state.part, state.words, state.step = said["part"], said["words"], said["step"]
            case "kept":
                state.kept += 1
                state.lines = said["lines"] or state.lines
            case "done":
                state.state, state.part, state.kept = "done", 1.0, state.kept + 1
                state.words, state.lines = "up to date", said["lines"]
            case _:
                state.state, state.says = "trouble", said["says"]
                state.problems = said["problems"]

    def _say(self) -> None:
        turn, self._turn = self._turn, asyncio.Event()
        turn.set()
        self.live.say("work", **asdict(self.state))


def _end(process: multiprocessing.process.BaseProcess) -> None:
    if process.pid is not None and process.is_alive():
        process.terminate()


def _all_of(pipe: Any) -> tuple[list[dict[str, Any]], bool]:
    """Take everything that lies in the pipe; tell whether its other end is closed."""
    told = []
    try:
        while pipe.poll():
            told.append(pipe.recv())
    except (EOFError, OSError):
        return told, True
    return told, False
