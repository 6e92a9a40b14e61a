"""A plan as it is kept: everything that belongs to the present forms, and nothing made.

For pages and papers that must answer at once. What is stale is not there; `wanting` names it.
A page that would be empty meanwhile shows the last plan there was, whole and of one revision
(`as_last_kept`), and says of which: papers never do. While a repair stands, a plan that is asked
for the repair, or for what is worked out of it, has its new planks alone.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from ribband import __version__
from ribband.app.entering.rules import in_force
from ribband.app.plan.alone import new_planks_alone, whole_left_out
from ribband.app.plan.log_keys import renews
from ribband.app.plan.making import Bench, Made
from ribband.app.plan.planning import Planned
from ribband.app.plan.runner import SEARCH_SECONDS, Run, job_unit
from ribband.app.plan.steps import OF_REPAIR, STEPS, kept_as, keys
from ribband.errors import InputError, Problem
from ribband.store import JobFile, inputs_hash

__all__ = [
    "as_kept",
    "as_last_kept",
    "copy_of",
    "has_no_forms",
    "hull_and_repair",
    "kept_keys",
    "wanting",
]

FAR = 5  # states of a job that are looked back through
EVERY = tuple(own.name for own in STEPS)


def as_kept(path: Path, steps: Sequence[str] = EVERY) -> Planned:
    """Give the plan with what is kept of `steps`.

    Raises
    ------
    InputError : there are no forms, or rules that cannot be read
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        return _of(job, path, job.newest(), steps)


def hull_and_repair(path: Path) -> Planned:
    """Give all that is kept, the whole hull's planks beside what is worked out for a repair's.

    Raises
    ------
    InputError, JobFileError : as for `as_kept`
    """
    with JobFile.open(path) as job:
        return _all_of(job, path, job.newest(), EVERY)


def as_last_kept(path: Path, steps: Sequence[str], need: str) -> tuple[Planned, str]:
    """Give the plan as kept, or where `need` is not, the last one before it that has it.

    The words say of which revision it is, "" where it is of the newest.

    Raises
    ------
    InputError, JobFileError : as for `as_kept`
    """
    with JobFile.open(path) as job:
        newest = _of(job, path, job.newest(), steps)
        if need in newest.run.bench.made:
            return newest, ""
        for number in _made_at(job, kept_as(need, newest.run.bench.forms)):
            try:
                before = _of(job, path, number, steps)
            except InputError:
                continue
            if need in before.run.bench.made:
                return before, f"As it was at revision {number}: the plan is not up to date."
        return newest, ""


def _made_at(job: JobFile, step: str) -> list[int]:
    """Give the revisions at which what is kept as `step` was last made here, newest first."""
    found = [
        one.revision for one in job.results() if (one.stage, one.version) == (step, __version__)
    ]
    return list(dict.fromkeys(found))[:FAR]


def _of(job: JobFile, path: Path, number: int, steps: Sequence[str]) -> Planned:
    """Give what is kept of a revision, of the new planks alone where its repair is asked for."""
    planned = _all_of(job, path, number, steps)
    if not renews(planned.run.bench.forms) or {"repair", *OF_REPAIR}.isdisjoint(steps):
        return planned
    if "repair" not in steps:
        planned = _all_of(job, path, number, (*steps, "repair"))
    bench = planned.run.bench
    alone = new_planks_alone(bench) or whole_left_out(bench)
    return replace(planned, run=replace(planned.run, bench=alone))


def _all_of(job: JobFile, path: Path, number: int, steps: Sequence[str]) -> Planned:
    forms, hashes = job.forms(number), job.form_hashes(number)
    if not forms:
        raise InputError([Problem(path.name, 0, "", "a job without forms", "measurements")])
    own, unit = keys(forms, hashes), job_unit(forms)
    bench = Bench(forms, in_force(forms.get("rules"), unit), unit, SEARCH_SECONDS)
    for name in steps:
        if (kept := job.kept(own[name])) is not None:
            bench.made[name] = Made(*kept)
    return Planned(path, job.history(number - 1)[0], inputs_hash(forms), Run(bench, own, {}))


def has_no_forms(path: Path) -> bool:
    """Tell whether a job has no forms yet.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        return not job.form_hashes()


def wanting(planned: Planned, steps: Sequence[str]) -> tuple[str, ...]:
    """Name what of `steps` is not kept for the present forms, in words."""
    return tuple(
        step.does
        for step in STEPS
        if step.name in steps and step.name not in planned.run.bench.made
    )


def kept_keys(path: Path, steps: Sequence[str]) -> str:
    """Give one word that changes whenever what is kept of `steps` does."""
    with JobFile.open(path) as job:
        own = keys(job.forms(), job.form_hashes())
        at = {result.key: result.at for result in job.results()}
        said = [f"{name} {own[name]} {at.get(own[name], '')}" for name in steps]
        return "\n".join((str(job.newest()), *said))


def copy_of(path: Path, into: Path) -> Path:
    """Copy a job file whole, also while it is being written.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path):
        pass  # it is a job file, or says why not
    with (
        closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as old,
        closing(sqlite3.connect(into)) as new,
    ):
        old.backup(new)
    return into
