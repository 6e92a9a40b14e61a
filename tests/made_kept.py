"""Planned jobs of *Marl Heron*, made once in a run of the tests and copied wherever wanted.

All workers of one run share a folder; a lock sees to it that each job is planned by one of them.
A job planned as far as one step is begun from the furthest one there is on the way to it. The
demo, which begins from nothing, is run once too; what it said is kept with what it wrote.
"""

from __future__ import annotations

import fcntl
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import chdir, contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from click.testing import CliRunner

from ribband.app.demo import copy_example
from ribband.app.entering.jobs import new_job
from ribband.app.plan.planning import plan
from ribband.app.plan.steps import needed_for
from ribband.cli import cli

SHELF = "RIBBAND_TESTS_SHELF"  # set by conftest
FORMS_ALONE = "forms"
DEMO = ("demo", "--out", "demo", "--no-open")


@dataclass(frozen=True)
class Said:
    """How a command ended and what it said: its answer, and that with its progress and trouble."""

    exit_code: int
    stdout: str
    output: str


def planned_copy(to: Path, last: str | None) -> Path:
    """Copy the job planned as far as `last`, or with its forms alone, planning it if need be."""
    shelf = os.environ.get(SHELF) or tempfile.mkdtemp()  # used outside a run of the tests
    return Path(shutil.copyfile(_kept(Path(shelf), last or FORMS_ALONE), to))


def demo_copy(to: Path) -> Said:
    """Copy what ``ribband demo --out demo`` wrote into the folder `to`, running it if need be."""
    home = Path(os.environ.get(SHELF) or tempfile.mkdtemp()) / "home"
    with _alone(home.parent, "demo lock"):
        if not (home / "said.json").exists():
            home.mkdir(exist_ok=True)
            with chdir(home):
                done = CliRunner().invoke(cli, DEMO, prog_name="ribband")
            said = Said(done.exit_code, done.stdout, done.output)
            (home / "said.json").write_text(json.dumps(asdict(said)), "utf-8")
    shutil.copytree(home / "demo", to / "demo")
    return Said(**json.loads((home / "said.json").read_text("utf-8")))


def _kept(shelf: Path, last: str) -> Path:
    path = shelf / f"heron-{last}.ribband"
    with _alone(shelf, "lock"):
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
def _alone(shelf: Path, name: str) -> Iterator[None]:
    with (shelf / name).open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
