"""Planned jobs of *Marl Heron*, made once in a run of the tests and copied wherever wanted.

All workers of one run share a folder; a lock sees to it that each job is planned by one of them.
A job planned as far as one step is begun from the furthest one there is on the way to it.
"""

from __future__ import annotations

import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ribband.app.demo import copy_example
from ribband.app.entering.jobs import new_job
from ribband.app.plan.planning import plan
from ribband.app.plan.steps import needed_for

SHELF = "RIBBAND_TESTS_SHELF"  # set by conftest
FORMS_ALONE = "forms"


def planned_copy(to: Path, last: str | None) -> Path:
    """Copy the job planned as far as `last`, or with its forms alone, planning it if need be."""
    shelf = os.environ.get(SHELF) or tempfile.mkdtemp()  # used outside a run of the tests
    return Path(shutil.copyfile(_kept(Path(shelf), last or FORMS_ALONE), to))


def _kept(shelf: Path, last: str) -> Path:
    path = shelf / f"heron-{last}.ribband"
    with _alone(shelf):
        if not path.exists():
            half = shelf / f"half-{last}.ribband"
            _begin(shelf, half, last)
            if last != FORMS_ALONE:
                plan(half, last, seconds=3.0)
            half.rename(path)
    return path


def _begin(shelf: Path, half: Path, last: str) -> None:
    """Begin from the furthest job on the way to `last`, or from the forms."""
    wanted = set() if last == FORMS_ALONE else {step.name for step in needed_for(last)}
    on_the_way = [
        (len(steps), path)
        for path in shelf.glob("heron-*.ribband")
        if (name := path.stem.removeprefix("heron-")) != FORMS_ALONE
        and (steps := {step.name for step in needed_for(name)}) <= wanted
    ]
    if on_the_way:
        shutil.copyfile(max(on_the_way)[1], half)
        return
    forms = copy_example("marl_heron", shelf / f"forms-{last}")
    new_job(half, forms, "Ada")


@contextmanager
def _alone(shelf: Path) -> Iterator[None]:
    with (shelf / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
