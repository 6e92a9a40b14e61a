"""Status: what a job holds, what is stale, what is doubtful, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from shlex import quote
from typing import Literal

from ribband.app.entering.jobs import job_path
from ribband.app.entering.taking import vessel_says
from ribband.app.plan.making import Made
from ribband.app.plan.steps import STEPS, kept_as, keys
from ribband.app.screens.history import PAGE, Past, past
from ribband.app.showing.answers import Answer, Line, Listing, plain
from ribband.findings import Severity
from ribband.store import JobFile, inputs_hash, said_of_place
from ribband.survey.rows import Form

__all__ = [
    "State", "Status", "StepStatus", "history_answer", "stale_and_next", "status",
    "status_answer",
]  # fmt: skip

State = Literal["good", "stale", "not made"]


@dataclass(frozen=True, slots=True)
class StepStatus:
    """A step: whether its result belongs to the present forms, and what was found in it."""

    step: str
    state: State
    at: str
    revision: int | None
    faults: int
    cautions: int


@dataclass(frozen=True, slots=True)
class Status:
    """A job at a glance; `forms` counts the rows of each."""

    job: Path
    vessel: str
    revision: int
    inputs_hash: str
    forms: dict[str, int]
    steps: tuple[StepStatus, ...]
    open_doubts: int | None
    next: str


def status(path: Path) -> Status:
    """Look a job over without making anything.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    path = job_path(path)
    with JobFile.open(path) as job:
        forms, newest = job.forms(), job.newest()
        steps = _steps(job, forms)
        doubts = _open_doubts(job, keys(forms, job.form_hashes())["hull"])
    return Status(
        job=path,
        vessel=vessel_says(forms, "vessel"),
        revision=newest,
        inputs_hash=inputs_hash(forms),
        forms={name: len(form.rows) for name, form in forms.items()},
        steps=steps,
        open_doubts=doubts,
        next=_next(path, bool(forms), steps, doubts),
    )


def status_answer(path: Path) -> Answer:
    """Show a job at a glance."""
    found = status(path)
    rows = tuple((s.step, s.state, s.at.replace("T", " ")[:16], *_counted(s)) for s in found.steps)
    filled = ", ".join(f"{name} {rows}" for name, rows in found.forms.items())
    doubts = "not known yet" if found.open_doubts is None else str(found.open_doubts)
    return Answer(
        title=f"{found.vessel or found.job.stem}, revision {found.revision}",
        lines=(Line("forms (rows)", filled or "none"), Line("open doubts", doubts)),
        listings=(Listing("Results", ("step", "", "made", "faults", "cautions"), rows),),
        notes=("", *said_of_place(found.job), f"Next: {found.next}"),
        data=plain(found),
    )


def stale_and_next(path: Path) -> dict[str, str]:
    """Say after a change which results do not belong to it any more, and the next command."""
    found = status(path)
    states = {step.state for step in found.steps}
    stale = ", ".join(step.step for step in found.steps if step.state == "stale")
    if not stale:
        stale = "nothing made yet" if states == {"not made"} else "nothing; what was made holds"
    return {"stale": stale, "next": found.next}


def _counted(step: StepStatus) -> tuple[str, str]:
    good = step.state == "good"
    return (str(step.faults), str(step.cautions)) if good else ("", "")


def history_answer(path: Path, before: int | None = None, last: int = PAGE) -> Answer:
    """Show the last revisions, or the last of those `before` a number."""
    seen = past(job_path(path), before, last)
    found = seen.revisions
    rows = tuple((str(r.number), r.at.replace("T", " ")[:16], r.who, r.kind, r.why) for r in found)
    columns = ("revision", "when (UTC)", "who", "change", "why")
    return Answer(
        title="History",
        listings=(Listing("Revisions, oldest first", columns, rows),),
        notes=(_older(seen),) if seen.older else (),
        data={"revisions": plain(found), "newest": seen.newest, "older": seen.older},
    )


def _older(seen: Past) -> str:
    first = seen.revisions[0].number if seen.revisions else seen.older + 1
    many = f"{seen.older} older ones are" if seen.older > 1 else "1 older one is"
    return f"{many} not shown: --before {first}, or more with --last."


def _steps(job: JobFile, forms: dict[str, Form]) -> tuple[StepStatus, ...]:
    own, results = keys(forms, job.form_hashes()), job.results()
    found = []
    for step in STEPS:
        mine = [result for result in results if result.stage == kept_as(step.name, forms)]
        good = next((result for result in mine if result.key == own[step.name]), None)
        last = good or (mine[0] if mine else None)
        state: State = "good" if good else "stale" if mine else "not made"
        faults, cautions = _counts(job, good.key) if good else (0, 0)
        at, revision = (last.at, last.revision) if last else ("", None)
        found.append(StepStatus(step.name, state, at, revision, faults, cautions))
    return tuple(found)


def _counts(job: JobFile, key: str) -> tuple[int, int]:
    kept = job.kept(key)
    findings = Made(*kept).findings if kept else ()
    return (
        sum(f.severity is Severity.FAULT for f in findings),
        sum(f.severity is Severity.CAUTION for f in findings),
    )


def _open_doubts(job: JobFile, key: str) -> int | None:
    kept = job.kept(key)
    return None if kept is None else sum(not doubt.decision for doubt in kept[0].doubts)


def _next(path: Path, forms: bool, steps: tuple[StepStatus, ...], doubts: int | None) -> str:
    job = quote(str(path))
    if not forms:
        return f"take forms in: ribband take {job} FOLDER"
    if any(step.state == "stale" for step in steps):
        return f"bring it up to date: ribband plan {job}"
    if any(step.state == "not made" for step in steps):
        return f"make what is not made yet: ribband plan {job}"
    if doubts:
        readings = "reading" if doubts == 1 else "readings"
        return f"decide {doubts} doubtful {readings}: ribband doubts {job}"
    if any(step.faults for step in steps):
        return f"look at the faults: ribband plan {job}"
    return f"draw, or write the book: ribband book {job}"
