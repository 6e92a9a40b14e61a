"""A yard's jobs: the job files of one folder, each at a glance.

A job is known by its file's name without the ending. Only plain files that lie in the folder
itself are jobs: a link that leads elsewhere is named and not opened. A file that cannot be read
says why, and the others are shown all the same.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ribband.app.entering.jobs import SUFFIX, new_job
from ribband.app.screens.job import JobView, job_view
from ribband.errors import InputError, JobFileError, Problem
from ribband.findings import Severity

__all__ = ["YardJob", "job_in", "jobs_of", "new_in", "yard_view"]

MOST = 200  # job files of a folder that are looked at
NAME = re.compile(r"[^\W_](?:[\w .-]{0,58}[\w-])?")
TAKEN = {"con", "prn", "aux", "nul"}  # names that one system or another keeps for itself


@dataclass(frozen=True, slots=True)
class YardJob:
    """A job at a glance; `trouble` says why it cannot be opened, and the rest is then empty.

    state : in words; stale : steps that want making; next : what to do next
    """

    name: str
    vessel: str = ""
    yard: str = ""
    revision: int = 0
    at: str = ""
    who: str = ""
    state: str = ""
    stale: int = 0
    faults: int = 0
    cautions: int = 0
    next: str = ""
    trouble: str = ""


def jobs_of(folder: Path) -> dict[str, Path]:
    """Give the job files of a folder by name, in order of name; links that lead out left out.

    Raises
    ------
    JobFileError : the folder cannot be read
    """
    return {path.stem: path for path in _files(folder) if _inside(path, folder)}


def job_in(folder: Path, name: str) -> Path | None:
    """Find a job by name; None where there is none. The name is looked up, never made a path."""
    return jobs_of(folder).get(name)


def new_in(folder: Path, name: str, who: str) -> Path:
    """Make a job with nothing entered yet.

    Raises
    ------
    InputError : the name is no name for a file
    JobFileError : it is there already, or the folder cannot be written
    """
    own = " ".join(name.split())
    if not NAME.fullmatch(own) or own.lower() in TAKEN or own.lower().endswith(SUFFIX):
        wanted = "letters and figures, also with spaces, dots and dashes between; at most 60"
        raise InputError([Problem("yard", 0, "name", name[:80], wanted, "marl-heron")])
    return new_job(folder / f"{own}{SUFFIX}", None, who).job


def yard_view(folder: Path) -> tuple[YardJob, ...]:
    """Look every job of a folder over; nothing is made.

    Raises
    ------
    JobFileError : the folder cannot be read
    """
    return tuple(_looked_at(path, folder) for path in _files(folder))


def _files(folder: Path) -> list[Path]:
    try:
        found = sorted(p for p in folder.iterdir() if p.suffix == SUFFIX and p.is_file())
    except OSError as wrong:
        raise JobFileError(f"the folder {folder} cannot be read: {wrong.strerror}") from wrong
    return found[:MOST]


def _inside(path: Path, folder: Path) -> bool:
    return path.resolve().parent == folder.resolve()


def _looked_at(path: Path, folder: Path) -> YardJob:
    if not _inside(path, folder):
        return YardJob(path.stem, trouble="it is a link that leads out of the folder")
    try:
        stamp = path.stat()
        return _seen(path, stamp.st_mtime_ns, stamp.st_size)
    except OSError as wrong:  # said to others: where the folder lies is not theirs to know
        return YardJob(path.stem, trouble=str(wrong).replace(f"{path.parent}{os.sep}", ""))


@lru_cache(maxsize=MOST)
def _seen(path: Path, _time: int, _size: int) -> YardJob:
    """Look a job over once for as long as its file is the same."""
    own = job_view(path)
    every = [finding for step in own.steps for finding in step.findings]
    return YardJob(
        path.stem, own.vessel, own.yard, own.revision, own.last.at if own.last else "",
        own.last.who if own.last else "", _state(own), len(own.stale),
        sum(f.severity is Severity.FAULT for f in every),
        sum(f.severity is Severity.CAUTION for f in every), own.next.says,
    )  # fmt: skip


def _state(own: JobView) -> str:
    states = {step.state for step in own.steps}
    if own.problems:
        return "to mend"
    if states == {"not made"}:
        return "nothing made yet"
    return "stale" if "stale" in states else "up to date" if states == {"good"} else "begun"
