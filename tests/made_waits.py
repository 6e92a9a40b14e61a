"""Waiting no longer than can be meant: a test that waits for ever says nothing.

What is to come about is asked after again and again, and a line of a process is waited for, both
with a limit; so is everything a browser is asked to wait for. Beyond them stands `conftest`, which
ends a test that takes longer than any does, and says where it stood.
"""

from __future__ import annotations

import selectors
import subprocess
import time
from collections.abc import Callable
from typing import IO, Any

LINE_SECONDS = 90.0  # a process that begins on a busy machine
COMES_SECONDS = 240.0  # whatever is done on one


def until(there: Callable[[], object], seconds: float = COMES_SECONDS) -> None:
    """Wait until something has come about; it is to within `seconds`."""
    end = time.monotonic() + seconds
    while not there():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.03)


def line_of(out: IO[Any] | None, seconds: float = LINE_SECONDS) -> Any:
    """Give the next line of a pipe nothing was read of yet; it is to come within `seconds`."""
    assert out is not None
    with selectors.DefaultSelector() as watch:
        watch.register(out, selectors.EVENT_READ)
        assert watch.select(seconds), f"nothing was said within {seconds:g} s"
    return out.readline()


def first_line(process: subprocess.Popen[Any], seconds: float = LINE_SECONDS) -> Any:
    """Give the first line a process says; one that says nothing in time is ended."""
    try:
        return line_of(process.stdout, seconds)
    except AssertionError:
        process.kill()
        process.wait(10)
        raise
