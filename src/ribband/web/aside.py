"""Aside: short jobs that need the heavy libraries, in one warm process apart from the server.

What a page asks for at once (a drawing, a check, a downloaded book) is a function of `app` with
plain arguments; it runs in a process that stays warm while it is used and goes when it is not, so
that the server itself stays small.
"""

from __future__ import annotations

import asyncio
import multiprocessing
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import ParamSpec, TypeVar

from ribband.app.plan.limits import ASIDE_SECONDS, NO_MEMORY, end_with_parent, hold_memory, lost
from ribband.errors import NotConverged

__all__ = ["Aside"]

P = ParamSpec("P")
T = TypeVar("T")
IDLE_SECONDS = 60.0


def _end_with_server() -> None:
    """End this process when the server does, even if it was killed; hold it to its memory."""
    hold_memory()
    end_with_parent()


class Aside:
    """One process for short jobs; `run` may be called by many at once and takes them in turn."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._used = 0.0
        self._busy = 0
        self._watch: asyncio.Task[None] | None = None

    async def run(self, work: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
        """Run a function of a module that can be imported; its errors come back as they were."""
        self._busy += 1
        try:
            return await self._tried(work, *args, **named)
        except BrokenProcessPool:
            self.close()
            return await self._once_more(work, *args, **named)
        finally:
            self._busy -= 1
            self._used = time.monotonic()

    async def _once_more(self, work: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
        try:
            return await self._tried(work, *args, **named)
        except BrokenProcessPool:
            self.close()
            raise NotConverged(lost(-9)) from None

    async def _tried(self, work: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
        future = self._opened().submit(work, *args, **named)
        try:
            return await asyncio.wait_for(asyncio.wrap_future(future), ASIDE_SECONDS)
        except TimeoutError:
            self.close()
            raise NotConverged(f"it took longer than {ASIDE_SECONDS / 60:.0f} minutes") from None
        except MemoryError:
            self.close()
            raise NotConverged(NO_MEMORY) from None

    def _opened(self) -> ProcessPoolExecutor:
        if self._pool is None:
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(1, mp_context=context, initializer=_end_with_server)
            self._watch = asyncio.ensure_future(self._tidy())
        return self._pool

    async def _tidy(self) -> None:
        while self._pool is not None:
            await asyncio.sleep(IDLE_SECONDS / 4)
            if not self._busy and time.monotonic() - self._used > IDLE_SECONDS:
                self.close()

    def close(self) -> None:
        """Let the process go, whatever it is at."""
        pool, self._pool = self._pool, None
        if pool is None:
            return
        for process in list((pool._processes or {}).values()):  # no public way before 3.14
            process.terminate()
        pool.shutdown(wait=True, cancel_futures=True)
