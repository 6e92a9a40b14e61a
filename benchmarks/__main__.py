"""Run every benchmark and keep `docs/benchmarks.md`: python -m benchmarks [SUBJECT ...].

Every subject runs in a process of its own, so that its peak memory is its own; its section of the
page is written as soon as it is done, with the day, how long it took and how busy the machine was
when it began. An interrupted run keeps what it has; subjects not run keep their last section.
"""

from __future__ import annotations

import os
import platform
import re
import subprocess
import sys
import time
from collections.abc import Sequence
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path

from benchmarks.table import line, peak_mb

HERE = Path(__file__).parent
PAGE = HERE.parent / "docs" / "benchmarks.md"
NOT_SUBJECTS = {"__init__", "__main__", "table"}
ALONE = "--alone"  # this process is the one of a single subject
PEAK = "peak memory"
HEAD = """# Benchmarks

The last run of `make bench`, section by section, on {machine}.
Times are the least of several runs unless the note says otherwise. In a comparison with a
general-purpose way the figure is *times ours*: over 1, ours is the better. Peak memory is that of
the section's own process. A section with no day at its head is of an earlier run.
"""
BUSY = 0.5  # load at which it is said that others were at work


def subjects() -> list[str]:
    """List the benchmark modules, by name."""
    return sorted(p.stem for p in HERE.glob("*.py") if p.stem not in NOT_SUBJECTS)


def machine() -> str:
    """Say what machine this is, in one line."""
    model = ""
    if Path("/proc/cpuinfo").exists():
        named = re.search(r"model name\s*:\s*(.*)", Path("/proc/cpuinfo").read_text("utf-8"))
        model = f"{named[1].strip()}, " if named else ""
    python = platform.python_version()
    return f"{model}{platform.machine()}, {os.cpu_count()} cores, Python {python}"


def alone(subject: str) -> None:
    """Run one subject in this process, each row said as it comes, then its peak memory."""
    for row in import_module(f"benchmarks.{subject}").rows():
        print(line(row), flush=True)
    print(f"{PEAK} {peak_mb():.0f} MB", flush=True)


def measured(subject: str) -> list[str]:
    """Run a subject in a process of its own; give the lines of its section."""
    load, began = os.getloadavg()[0], time.perf_counter()
    words = [sys.executable, "-m", "benchmarks", ALONE, subject]
    rows: list[str] = []
    other: list[str] = []
    peak = ""
    with subprocess.Popen(words, cwd=HERE.parent, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None  # a pipe was asked for
        for text in process.stdout:
            print(text, end="", flush=True)
            said = text.rstrip("\n")
            if said.startswith(PEAK):
                peak = said
            else:
                (rows if said.startswith("| ") else other).append(said)
    took = time.perf_counter() - began
    busy = "" if load < BUSY * (os.cpu_count() or 1) else ", others at work on the machine"
    day = datetime.now(UTC).strftime("%Y-%m-%d %H:%M")
    end = "" if process.returncode == 0 else "; **it broke off**"
    return [
        f"{day} UTC, {took:.0f} s, {peak or PEAK + ' not known'}, load {load:.1f}{busy}{end}.",
        *(f"\n{said}" for said in other if said),
        "",
        "| what | measured | target | held | note |",
        "|---|---|---|---|---|",
        *rows,
    ]


def sections(text: str) -> dict[str, str]:
    """Split the page into its sections, by subject."""
    found = re.split(r"^## (\w+)\n", text, flags=re.MULTILINE)[1:]
    return {name: body.strip("\n") for name, body in zip(found[::2], found[1::2], strict=True)}


def kept(subject: str, lines: Sequence[str]) -> None:
    """Put a subject's section into the page in place of its last one."""
    before = sections(PAGE.read_text("utf-8")) if PAGE.exists() else {}
    now = {s: before[s] for s in subjects() if s in before} | {subject: "\n".join(lines)}
    head = HEAD.format(machine=machine()).splitlines()
    body = [f"\n## {name}\n\n{now[name]}" for name in sorted(now)]
    PAGE.write_text("\n".join([*head, *body]) + "\n", "utf-8")


def main(words: Sequence[str]) -> None:
    """Run all subjects, or those named, keeping each section as it is done."""
    if words[:1] == [ALONE]:
        alone(words[1])
        return
    began = time.perf_counter()
    for subject in words or subjects():
        print(f"\n## {subject}", flush=True)
        kept(subject, measured(subject))
    print(f"\n{time.perf_counter() - began:.0f} s in all, kept in {PAGE.name}")


if __name__ == "__main__":
    main(sys.argv[1:])
