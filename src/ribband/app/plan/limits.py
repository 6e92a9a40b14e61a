"""How long a step may take and how much memory, so that nothing runs on without end.

*Time*: a step may take `step_seconds` (15 minutes, or what RIBBAND_STEP_MINUTES says), and twice as
long as its search was given besides; then it is left, as one that did not settle, and what was made
before it is kept. One that tells how far it is is left when it next tells (`timed`); one that tells
nothing is left from outside (`held`). A program of ours that cannot be left, because it is within
one call of a numerical library, is ended a minute later where it runs by itself (the command line,
a process of work). Work in hand on a served job is ended after `WORK_SECONDS` besides its search.

*Memory*: the command line, and the processes a server starts for work, may take `most_bytes`:
three quarters of the machine's, at most 8 GB, or what RIBBAND_MEMORY_MB says. On systems that know
no such limit none is set; a process the system ends for want of memory is told of in words.

Not limited here: reading forms and scans; their readers say their own limits.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from ribband.errors import NotConverged

if TYPE_CHECKING:
    from ribband.app.plan.making import Tell

__all__ = [
    "ASIDE_SECONDS", "NO_MEMORY", "STEP_SECONDS", "WORK_SECONDS", "TooLong", "end_with_parent",
    "held", "hold_memory", "lost", "most_bytes", "step_seconds", "timed",
]  # fmt: skip

STEP_SECONDS = 900.0
MOST_STEP_MINUTES = 600
WORK_SECONDS = 3600.0
ASIDE_SECONDS = 600.0  # what a hand waits for: a drawing, the book
LAST_SECONDS = 60.0  # for what is to be left to come to an end by itself
AGAIN_SECONDS = 1.0  # it is told to leave again and again, for a search may think it is another's
MOST_BYTES = 8_000_000_000
LEAST_BYTES = 500_000_000  # the numerical libraries alone want some of it
NO_MEMORY = "there is not enough memory for it: fewer frames or strakes, or a larger machine"


def step_seconds() -> float:
    """Give how long a step may take: 15 minutes, or what RIBBAND_STEP_MINUTES says, 1 to 600.

    >>> 60.0 <= step_seconds() <= 36000.0
    True
    """
    said = os.environ.get("RIBBAND_STEP_MINUTES", "").strip()
    if said.isascii() and said.isdigit() and 1 <= int(said[:9]) <= MOST_STEP_MINUTES:
        return 60.0 * int(said)
    return STEP_SECONDS


class TooLong(NotConverged):
    """A step took longer than it may."""

    def __init__(self) -> None:
        super().__init__(f"it took longer than {step_seconds() / 60:.0f} minutes and was left")


def timed(tell: Tell, searched: float = 0.0) -> Tell:
    """Give a teller that leaves a step when it has taken too long.

    Raises, when told
    -----------------
    NotConverged : over `step_seconds` and twice what it was to search

    >>> timed(lambda part, words: print(words))(0.5, "half")
    half
    """
    until = time.monotonic() + step_seconds() + 2.0 * searched

    def told(part: float, words: str) -> None:
        if time.monotonic() > until:
            raise TooLong
        tell(part, words)

    return told


@contextmanager
def held(searched: float = 0.0) -> Iterator[None]:
    """Leave what is done within when it has taken too long, whether it tells anything or not.

    Raises
    ------
    NotConverged : over `step_seconds` and twice what it was to search

    >>> with held():
    ...     sum(range(4))
    6
    """
    watch = _Watch(step_seconds() + 2.0 * searched)
    try:
        yield
    finally:
        watch.end()


class _Watch:
    """Looks on from a thread of its own while another is at a step, and has it leave."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self.whom = threading.get_ident()
        self.alone = threading.current_thread() is threading.main_thread()
        self.over = threading.Event()
        self.turn = threading.Lock()
        threading.Thread(target=self._look_on, daemon=True).start()

    def end(self) -> None:
        """Look on no longer; a word to leave that was not heard yet is taken back."""
        try:
            self._end()
        except TooLong:
            self._end()
            raise

    def _end(self) -> None:
        with self.turn:
            self.over.set()
            _say_to(self.whom, None)

    def _look_on(self) -> None:
        if self.over.wait(self.seconds):
            return
        last = time.monotonic() + LAST_SECONDS
        while not self.over.is_set():
            with self.turn:
                if not self.over.is_set():
                    _say_to(self.whom, TooLong)
            if time.monotonic() > last and self.alone and _Own.process:
                _end_process()
            self.over.wait(AGAIN_SECONDS)


class _Own:
    """Whether this process is ours alone, and so may be ended."""

    process = False


def _say_to(thread: int, error: type[BaseException] | None) -> None:
    """Have a thread raise an error where it is; None takes back one it has not raised yet."""
    import ctypes

    said = None if error is None else ctypes.py_object(error)
    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), said)


def _end_process() -> None:
    sys.stderr.write(f"It did not settle: {TooLong()}; what was kept stays.\n")
    sys.stderr.flush()
    os._exit(1)


def most_bytes() -> int:
    """Give how much memory a process of work may take, in bytes.

    >>> most_bytes() >= LEAST_BYTES
    True
    """
    said = os.environ.get("RIBBAND_MEMORY_MB", "").strip()
    if said.isascii() and said.isdigit() and len(said) < 9:
        return max(LEAST_BYTES, int(said) * 1_000_000)
    whole = 0
    with suppress(AttributeError, ValueError, OSError):
        whole = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    return max(LEAST_BYTES, min(MOST_BYTES, whole * 3 // 4 or MOST_BYTES))


def hold_memory() -> None:
    """Hold this process to `most_bytes`, where the system can; call it in a process of its own.

    It is then also one that may be ended where a step of it cannot be left.
    """
    _Own.process = True
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_DATA, (most_bytes(), most_bytes()))


def lost(exitcode: int | None) -> str:
    """Say why a process of work ended before it was done.

    >>> lost(-9)[:38]
    'The system ended the work, most likely'
    >>> lost(1)
    'The work ended before it was done; start it again.'
    """
    if exitcode in {-6, -9}:
        return (
            "The system ended the work, most likely for want of memory; what was kept stays. "
            "Close other programs, or plan a smaller part, and start it again."
        )
    return "The work ended before it was done; start it again."


def end_with_parent() -> None:
    """End this process when the one that started it does, even if that was killed."""
    import multiprocessing

    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_follow, args=(parent.sentinel,), daemon=True).start()


def _follow(sentinel: int) -> None:
    from multiprocessing.connection import wait

    wait([sentinel])
    os._exit(0)
