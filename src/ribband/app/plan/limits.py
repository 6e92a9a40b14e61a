"""How long a step may take and how much memory, so that nothing runs on without end.

*Time*: a step that tells how far it is may take `STEP_SECONDS`, and as long as its search was
given besides; then it is left, as one that did not settle, and what was made before it is kept.
Work in hand on a served job is ended from outside after `WORK_SECONDS` besides its search, whether
it tells anything or not.

*Memory*: the processes a server starts for work may take `most_bytes`: three quarters of the
machine's, at most 8 GB, or what RIBBAND_MEMORY_MB says. On systems that know no such limit none is
set; a process the system ends for want of memory is told of in words.

Not limited here: reading forms and scans; their readers say their own limits.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
import time
from contextlib import suppress
from multiprocessing.connection import wait as wait_for

from ribband.app.plan.making import Tell
from ribband.errors import NotConverged

__all__ = [
    "ASIDE_SECONDS", "NO_MEMORY", "STEP_SECONDS", "WORK_SECONDS", "end_with_parent",
    "hold_memory", "lost", "most_bytes", "timed",
]  # fmt: skip

STEP_SECONDS = 900.0
WORK_SECONDS = 3600.0
ASIDE_SECONDS = 600.0  # what a hand waits for: a drawing, the book
MOST_BYTES = 8_000_000_000
LEAST_BYTES = 500_000_000  # the numerical libraries alone want some of it
NO_MEMORY = "there is not enough memory for it: fewer frames or strakes, or a larger machine"


def timed(tell: Tell, searched: float = 0.0) -> Tell:
    """Give a teller that leaves a step when it has taken too long.

    Raises, when told
    -----------------
    NotConverged : over `STEP_SECONDS` and twice what it was to search

    >>> timed(lambda part, words: print(words))(0.5, "half")
    half
    """
    until = time.monotonic() + STEP_SECONDS + 2.0 * searched

    def told(part: float, words: str) -> None:
        if time.monotonic() > until:
            raise NotConverged(f"it took longer than {STEP_SECONDS / 60:.0f} minutes and was left")
        tell(part, words)

    return told


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
    """Hold this process to `most_bytes`, where the system can; call it in a process of its own."""
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
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_follow, args=(parent.sentinel,), daemon=True).start()


def _follow(sentinel: int) -> None:
    wait_for([sentinel])
    os._exit(0)
