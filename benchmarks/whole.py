"""The whole way: the command line's start, and the demo from forms to finished book."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.table import Row

__all__ = ["rows"]


def rows() -> list[Row]:
    """Time the help page, and the demo with its peak memory."""
    with TemporaryDirectory() as folder:
        first, second = (str(Path(folder) / name) for name in ("first", "second"))
        seconds = _seconds("demo", "--out", first, "--no-open")
        again = _seconds("demo", "--out", second, "--no-open")  # a new job: nothing is kept yet
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return [
        Row("`ribband --help`", min(_seconds("--help") for _ in range(5)), "s", 0.3),
        Row("demo, start to finished book", min(seconds, again), "s", 30.0, "of 2 runs"),
        Row("demo, peak memory", peak, "MB", 600.0),
    ]


def _seconds(*arguments: str) -> float:
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "ribband", *arguments], capture_output=True, check=False
    )
    if done.returncode not in {0, 1}:  # 1: done, with faults found
        raise RuntimeError(done.stderr.decode())
    return time.perf_counter() - start
