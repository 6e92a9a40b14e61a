"""What every page shows of a job: who she is, what is stale, doubtful or wrong, what is next.

Made without loading a solver: it reads what is kept. Findings of a kept result never change, so
they are read once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ribband.app.entering.changes import problems_of
from ribband.app.entering.taking import is_blank, vessel_says
from ribband.app.plan.log_keys import renews
from ribband.app.plan.making import Made
from ribband.app.plan.runner import job_unit
from ribband.app.plan.steps import STEPS, kept_as, keys, step_named
from ribband.app.screens.written import written_on
from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.store import JobFile, KeptResult, Revision
from ribband.survey.rows import Form
from ribband.units import UNITS, counted

__all__ = ["JobView", "Next", "StepView", "job_view", "problems_at", "unit_of", "unit_of_job"]

PAGES = {"survey": "measure", "hull": "measure", "lining": "line-out", "shapes": "planks"}
ROOMS = ("butts", "planks", "timber", "shop", "record")


@dataclass(frozen=True, slots=True)
class StepView:
    """A step: "good", "stale" or "not made"; where it is looked at; what was found in it."""

    step: str
    does: str
    page: str
    state: str
    at: str
    revision: int | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Next:
    """What to do next, and on which page; `act` is "go" there, or "plan" it at once."""

    page: str
    says: str
    act: str = "go"


@dataclass(frozen=True, slots=True)
class JobView:
    """A job at a glance, as every page shows it.

    `problems` are cells that cannot be read; `wanting` says what is still to be filled in before
    anything can be planned, "" where nothing is.
    """

    file: str
    vessel: str
    yard: str
    unit: str
    revision: int
    last: Revision | None
    can_undo: bool
    can_redo: bool
    forms: dict[str, int]
    steps: tuple[StepView, ...]
    problems: tuple[Problem, ...]
    wanting: str
    open_doubts: int | None
    next: Next

    @property
    def stale(self) -> tuple[str, ...]:
        """Name the steps that do not belong to the present forms."""
        return tuple(step.step for step in self.steps if step.state != "good")


def job_view(path: Path) -> JobView:
    """Look a job over for the pages; nothing is made.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        last, forms, hashes = job.last(), job.forms(), job.form_hashes()
        can = {kind: job.leads(kind) is not None for kind in ("undo", "redo")}
        own = keys(forms, hashes)
        steps = _steps(job, forms, own)
        doubts = _open_doubts(job, own["hull"])
    problems = problems_at(path, last.number) if last else ()
    wanting = _wanting(forms, problems)
    problems = tuple(problem for problem in problems if not _bare(problem))
    return JobView(
        file=path.name,
        vessel=vessel_says(forms, "vessel") or path.stem,
        yard=vessel_says(forms, "yard"),
        unit=unit_of(forms),
        revision=last.number if last else 0,
        last=last,
        can_undo=can["undo"],
        can_redo=can["redo"],
        forms={name: len(form.rows) for name, form in forms.items()},
        steps=steps,
        problems=problems,
        wanting=wanting,
        open_doubts=doubts,
        next=_unsaid(forms, wanting) or _next(wanting, problems, _asked_for(steps, forms), doubts),
    )


def unit_of(forms: Mapping[str, Form]) -> str:
    """Give the job's unit; millimetres where what is typed names none."""
    try:
        return job_unit(forms)
    except (InputError, ValueError):
        return "mm"


def unit_of_job(path: Path) -> str:
    """Give the unit of the job at `path`.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        return unit_of(job.forms())


@lru_cache(maxsize=64)
def problems_at(path: Path, revision: int) -> tuple[Problem, ...]:
    """Give what is to be mended in a revision; a revision never changes, so it is read once."""
    with JobFile.open(path) as job:
        forms = job.forms(revision)
    filled = {name: form for name, form in forms.items() if not is_blank(form)}
    return problems_of(forms) if filled else ()


def _steps(job: JobFile, forms: Mapping[str, Form], own: Mapping[str, str]) -> tuple[StepView, ...]:
    results = job.results()
    kept = {s.name: [r for r in results if r.stage == kept_as(s.name, forms)] for s in STEPS}
    return tuple(_step(job, s.name, s.does, own[s.name], kept[s.name]) for s in STEPS)


def _step(job: JobFile, name: str, does: str, key: str, mine: Sequence[KeptResult]) -> StepView:
    good = next((result for result in mine if result.key == key), None)
    last = good or (mine[0] if mine else None)
    state = "good" if good else "stale" if mine else "not made"
    found = _findings(job, good.key, good.at) if good else ()
    at, revision = (last.at, last.revision) if last else ("", None)
    return StepView(name, does, _page(name), state, at, revision, found)


def _page(name: str) -> str:
    """Tell on which page a step is looked at."""
    if name in PAGES:
        return PAGES[name]
    rooms = step_named(name).rooms or (name,)
    return next((room for room in rooms if room in ROOMS), "overview")


_READ: dict[tuple[str, str], tuple[Finding, ...]] = {}
MOST_READ = 60


def _findings(job: JobFile, key: str, at: str) -> tuple[Finding, ...]:
    """Read the findings of a kept result once; `at` tells a better one under the same key."""
    if (key, at) not in _READ:
        kept = job.kept(key)
        while len(_READ) >= MOST_READ:
            _READ.pop(next(iter(_READ)))
        _READ[key, at] = tuple(dict.fromkeys(Made(*kept).findings)) if kept else ()
    return _READ[key, at]


def _open_doubts(job: JobFile, key: str) -> int | None:
    kept = job.kept(key)
    return None if kept is None else sum(not doubt.decision for doubt in kept[0].doubts)


def _wanting(forms: Mapping[str, Form], problems: tuple[Problem, ...]) -> str:
    """Say what is still to be filled in: an empty form is no mistake."""
    measured = [form for name, form in forms.items() if name != "vessel" and not is_blank(form)]
    if not measured:
        return "the measurements: frames, and girths or offsets"
    if any(_bare(problem) for problem in problems):
        return "the measurements: girths, offsets or points"
    return ""


def _bare(problem: Problem) -> bool:
    """Tell whether it is of no cell, but that nothing is measured yet."""
    return problem.file == "forms" and not problem.column


def _unsaid(forms: Mapping[str, Form], wanting: str) -> Next | None:
    """Ask for the unit before anything is planned on figures that may be of another."""
    if wanting or vessel_says(forms, "unit"):
        return None
    units = ", ".join(unit.says for unit in UNITS.values())
    return Next("measure", f"Say how she is measured, one of {units}.")


def _asked_for(steps: tuple[StepView, ...], forms: Mapping[str, Form]) -> tuple[StepView, ...]:
    """Leave the repair out where nothing is to be renewed: nobody is sent to it."""
    return steps if renews(forms) else tuple(step for step in steps if step.step != "repair")


def _next(
    wanting: str,
    problems: tuple[Problem, ...],
    steps: tuple[StepView, ...],
    doubts: int | None,
) -> Next:
    if wanting:
        return Next("measure", f"Enter {wanting}.")
    if problems:
        many = counted(len(problems), "cell")
        return Next(
            written_on(problems[0].file.partition(".")[0]),
            f"Mend {many} that cannot be read; nothing is planned before.",
        )
    if stale := next((step for step in steps if step.state != "good"), None):
        return Next(stale.page, f"Bring the plan up to date, from {stale.does}.", "plan")
    if doubts:
        many = counted(doubts, "doubtful reading")
        return Next("measure", f"Decide {many}: accept, correct or keep.")
    faulty = [s for s in steps if any(f.severity is Severity.FAULT for f in s.findings)]
    if faulty:
        return Next(faulty[0].page, f"Look at the faults found in {faulty[0].does}.")
    return Next("overview", "Print the planking book, or go on to timber and shop.")
