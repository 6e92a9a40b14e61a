"""Hands: pieces of work done here one after the other, or by several processes at once.

*Piece*: a function of a module that can be imported, with plain arguments, and what to say as it
is begun. Pieces may be done in any order and by any hand; the same pieces give the same files
however many hands there are. The processes are started early (`Hands` is entered), so that they
have read the heavy libraries by the time there is work.

A piece's error comes through as itself and ends the others; so does an interrupt. Processes end
with the one that started them, even if that is killed. Where no process can be started, or one is
lost, the work is done here.

Not checked: that no two pieces write the same file.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

from ribband.app.plan.limits import end_with_parent
from ribband.app.plan.making import Tell

__all__ = ["Hands", "Piece", "spare_hands"]

MOST = 2  # more would wait for the longest piece


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of work."""

    says: str
    work: Callable[..., Any]
    args: tuple[Any, ...]


def spare_hands() -> int:
    """Give how many processes this machine has room for, one to two."""
    try:
        room = len(os.sched_getaffinity(0))
    except AttributeError:  # not known on every system
        room = os.cpu_count() or 1
    return min(MOST, room)


class Hands:
    """Processes that wait for pieces of work; one hand is this process itself.

    Each reads the libraries after the one before it has, so that only one does so beside the work
    of this process.

    >>> with Hands(1) as hands:
    ...     hands.do([Piece("adding", sum, ((1, 2),))], lambda part, words: print(part, words))
    0.0 adding
    [3]
    """

    def __init__(self, count: int, ready: Callable[[], None] | None = None) -> None:
        self.count, self.ready = count, ready
        self._pools: list[ProcessPoolExecutor] = []

    def __enter__(self) -> Self:
        if self.count > 1:
            try:
                self._pools = [_pool(self.ready) for _ in range(self.count)]
                self._start(0)
            except (OSError, ValueError, ImportError):  # no processes on this system
                self._close(at_once=True)
        return self

    def _start(self, n: int) -> None:
        """Start a process by asking it for nothing, and the next when it has come."""
        with suppress(IndexError, RuntimeError, OSError):  # the last; or closed since
            self._pools[n].submit(_nothing).add_done_callback(lambda _: self._start(n + 1))

    def __exit__(
        self, kind: type[BaseException] | None, _: BaseException | None, __: TracebackType | None
    ) -> None:
        self._close(at_once=kind is not None)

    def do(self, pieces: Sequence[Piece], tell: Tell) -> list[Any]:
        """Do every piece; gives what each gave, in their order.

        Raises
        ------
        Whatever a piece raises; the first to fail.
        """
        if not self._pools:
            return _one_by_one(pieces, tell)
        try:
            return _shared(self._pools, pieces, tell)
        except BrokenProcessPool:
            self._close(at_once=True)
            return _one_by_one(pieces, tell)

    def _close(self, *, at_once: bool) -> None:
        """Let the processes go; at once, whatever they are at."""
        pools, self._pools = self._pools, []
        for pool in pools:
            if at_once:
                for process in list((pool._processes or {}).values()):  # no public way before 3.14
                    process.terminate()
            pool.shutdown(wait=True, cancel_futures=True)


def _pool(ready: Callable[[], None] | None) -> ProcessPoolExecutor:
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(1, mp_context=context, initializer=_begin, initargs=(ready,))


def _one_by_one(pieces: Sequence[Piece], tell: Tell) -> list[Any]:
    done = []
    for n, piece in enumerate(pieces):
        tell(n / len(pieces), piece.says)
        done.append(piece.work(*piece.args))
    return done


def _shared(pools: Sequence[ProcessPoolExecutor], pieces: Sequence[Piece], tell: Tell) -> list[Any]:
    """Give each hand a piece, and the next as it has done; so what is told is what is begun."""
    waiting, free = list(enumerate(pieces))[::-1], list(pools)[::-1]
    begun: dict[Future[Any], tuple[int, ProcessPoolExecutor]] = {}
    done: dict[int, Any] = {}
    while waiting or begun:
        while waiting and free:
            (n, piece), pool = waiting.pop(), free.pop()
            tell(n / len(pieces), piece.says)
            begun[pool.submit(piece.work, *piece.args)] = n, pool
        for future in wait(begun, return_when=FIRST_COMPLETED).done:
            n, pool = begun.pop(future)
            done[n] = future.result()
            free.append(pool)
    return [done[n] for n in range(len(pieces))]


def _nothing() -> None:
    """Do nothing: the process is there once it was asked."""


def _begin(ready: Callable[[], None] | None) -> None:
    """Begin a process: interrupts are the first one's to hear; it ends with that one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent()
    if ready is not None:
        ready()
