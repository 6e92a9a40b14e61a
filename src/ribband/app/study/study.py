"""A study: many ways to plank one vessel, each planned, side by side.

What is kept is not planned again: the same study goes on where it was stopped. Results come from
whoever plans them (`study/hands.py`), are kept as they come (`study/kept.py`), and are compared
by the figures of `study/measures.py`. The job file itself is only read.
"""

from __future__ import annotations

import os
from collections.abc import Generator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ribband.app.entering.jobs import job_path
from ribband.app.entering.rules import in_force
from ribband.app.plan.making import Tell
from ribband.app.plan.runner import MemoryShelf, job_unit, quiet, run
from ribband.app.plan.steps import STEPS, keys, needed_for
from ribband.app.study.cases import AS_IT_IS, Alternative, forms_with
from ribband.app.study.hands import Came, Lost, on_cluster, on_cores
from ribband.app.study.kept import StudyFile, study_path
from ribband.app.study.work import OtherProgram, Outcome, Task, task_of
from ribband.errors import InputError, Problem, RibbandError
from ribband.store import JobFile
from ribband.store.forms import sense_of
from ribband.survey.rows import Form

__all__ = ["Asked", "Studied", "study"]

SHARED = ("survey", "hull")  # made once for all that have the same; no seed changes them
SECONDS = 10.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What a study is asked to do.

    last : the step each is planned to; seconds : the search for butts of each
    cores : of this machine, 0 is all there are; cluster : the address of a scheduler, or empty
    keep : the study file, beside the job unless said; beside : where files of settings lie
    """

    alternatives: tuple[Alternative, ...]
    last: str = "shapes"
    seconds: float = SECONDS
    cores: int = 0
    cluster: str = ""
    keep: Path | None = None
    beside: Path | None = None


@dataclass(frozen=True, slots=True)
class Studied:
    """What came of it: outcomes in the order they were asked, how many were kept from before.

    lost : alternatives no worker brought to an end, with why; stopped : why it was left, if it was
    """

    job: Path
    vessel: str
    yard: str
    unit: str
    revision: int
    asked: int
    outcomes: tuple[Outcome, ...]
    before: int
    kept: Path
    lost: tuple[tuple[str, str], ...] = ()
    stopped: str = ""

    @property
    def whole(self) -> bool:
        """True where every alternative has its outcome."""
        return len(self.outcomes) == self.asked


def study(path: Path, asked: Asked, *, tell: Tell = quiet) -> Studied:
    """Plan every alternative that is not kept yet, and give them all.

    Ctrl+C leaves it with what is kept, as does a cluster that is lost: `stopped` says so.

    Raises
    ------
    InputError : no forms, a setting or step that cannot be read, a cluster that does not answer
    JobFileError : the job cannot be opened, or the study file not written
    """
    path = job_path(path)
    _step(asked.last)
    with JobFile.open(path) as job:
        forms, past = job.forms(), job.history()
    if not forms:
        wanted = "forms taken in first: ribband take JOB FOLDER"
        raise InputError([Problem(str(path), 0, "", "a job without forms", wanted)])
    kept = StudyFile(asked.keep or study_path(path))
    tasks = _tasks(forms, asked, asked.beside or path.parent)
    before = sum(task.key in kept.outcomes for task in tasks)
    lost, stopped = _brought_in(forms, tasks, asked, kept, tell)
    return Studied(
        path, *_said(forms), past[-1].number if past else 0, len(tasks),
        tuple(_as_asked(kept, task) for task in tasks if task.key in kept.outcomes),
        before, kept.path, tuple(lost), stopped,
    )  # fmt: skip


def _step(last: str) -> None:
    names = [step.name for step in STEPS if step.name != "survey"]
    if last not in names:
        raise InputError([Problem("study", 0, "to", last, "one of " + ", ".join(names), "shapes")])


def _said(forms: dict[str, Form]) -> tuple[str, str, str]:
    from ribband.app.entering.taking import vessel_says

    return vessel_says(forms, "vessel"), vessel_says(forms, "yard"), job_unit(forms)


def _as_asked(kept: StudyFile, task: Task) -> Outcome:
    """Give what is kept under the name it has in this study."""
    return replace(kept.outcomes[task.key], name=task.name, settings=task.settings)


def _tasks(forms: dict[str, Form], asked: Asked, beside: Path) -> list[Task]:
    """Make the tasks, the same one once; every setting that cannot be read is told together."""
    problems: list[Problem] = []
    found: dict[str, Task] = {}
    every = asked.alternatives or (Alternative(AS_IT_IS),)
    for own in every:
        try:
            changed = forms_with(forms, own, beside)
            in_force(changed.get("rules"), job_unit(changed))
            task = task_of(own, changed, asked.last, asked.seconds)
            found.setdefault(task.key, task)
        except InputError as wrong:
            problems += [p for p in wrong.problems if p not in problems]
    if problems:
        raise InputError(problems)
    return list(found.values())


def _brought_in(
    forms: dict[str, Form], tasks: Sequence[Task], asked: Asked, kept: StudyFile, tell: Tell
) -> tuple[list[tuple[str, str]], str]:
    """Plan what is not kept and keep it; gives what was lost, and why it was left if it was."""
    left = [task for task in tasks if task.key not in kept.outcomes]
    lost: list[tuple[str, str]] = []
    try:
        ready = _with_shared(forms, left, tell)
        with closing(_coming(ready, asked)) as coming:
            for came in coming:
                if isinstance(came, Lost):
                    lost.append((came.task.name, came.says))
                else:
                    kept.keep(came)
                    done = sum(task.key in kept.outcomes for task in tasks)
                    tell(0.02 + 0.98 * done / len(tasks), f"{done} of {len(tasks)} planned")
    except KeyboardInterrupt:
        return lost, "stopped by hand"
    except (ConnectionError, OtherProgram) as wrong:
        return lost, str(wrong)
    return lost, ""


def _coming(tasks: Sequence[Task], asked: Asked) -> Generator[Came, None, None]:
    if not tasks:
        return on_cores((), 1)
    if asked.cluster:
        return on_cluster(tasks, asked.cluster)
    return on_cores(tasks, asked.cores or os.cpu_count() or 1)


def _with_shared(forms: dict[str, Form], tasks: list[Task], tell: Tell) -> list[Task]:
    """Fair the hull once for all alternatives that leave it as it is."""
    if len(tasks) < 2 or "hull" not in {step.name for step in needed_for(tasks[0].last)}:
        return tasks
    tell(0.01, "fairing the hull, once for all")
    shelf = MemoryShelf()
    try:
        run(forms, {name: sense_of(form) for name, form in forms.items()}, shelf, "hull")
    except RibbandError:
        return tasks  # each says for itself what is wrong
    return [replace(task, made=_theirs(task, shelf.results)) for task in tasks]


def _theirs(task: Task, made: dict[str, Any]) -> dict[str, Any]:
    own = keys(task.forms, {name: sense_of(form) for name, form in task.forms.items()})
    return {own[step]: made[own[step]] for step in SHARED if own[step] in made}
