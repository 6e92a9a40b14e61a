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
        out = str(Path(folder) / "demo")
        seconds = _seconds("demo", "--out", out, "--no-open")
        again = _seconds("demo", "--out", out, "--no-open")
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return [
        Row("`ribband --help`", min(_seconds("--help") for _ in range(5)), "s", 0.3),
        Row("demo, start to finished book", min(seconds, again), "s", 30.0, "of 2 runs"),
        Row("demo, peak memory", peak, "MB", 600.0),
    ]


def _seconds(*arguments: str) -> float:
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "ribband", *arguments], check=True, capture_output=True
    )
    return time.perf_counter() - start
