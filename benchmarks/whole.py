"""The whole way: the command line's start, and the demo from forms to finished book."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.table import Row

__all__ = ["rows"]


def rows() -> list[Row]:
    """Time the help page, and the demo with its peak memory."""
    with TemporaryDirectory() as folder:
        runs = [
            _run("demo", "--out", str(Path(folder) / name), "--no-open")
            for name in ("first", "second")  # a new job each: nothing is kept yet
        ]
    help_page = min(_run("--help")[0] for _ in range(5))
    return [
        Row("`ribband --help`", help_page, "s", 0.3),
        Row("demo, start to finished book", min(r[0] for r in runs), "s", 30.0, "of 2 runs"),
        Row("demo, peak memory", max(r[1] for r in runs), "MB", 600.0),
    ]


WATCH = """
import resource, subprocess, sys, time
start = time.perf_counter()
done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
seconds = time.perf_counter() - start
print(done.returncode, seconds, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)
"""


def _run(*arguments: str) -> tuple[float, float]:
    """Give the seconds and the peak memory (MB) of one run of the program alone.

    A small process watches it: a child of this one would count our own memory as its own.
    """
    ours = [sys.executable, "-m", "ribband", *arguments]
    watched = subprocess.run(
        [sys.executable, "-c", WATCH, *ours], check=True, capture_output=True, text=True
    )
    code, seconds, peak = watched.stdout.split()
    if code not in {"0", "1"}:  # 1: done, with faults found
        raise RuntimeError(f"ribband {' '.join(arguments)} ended with {code}")
    return float(seconds), float(peak)
