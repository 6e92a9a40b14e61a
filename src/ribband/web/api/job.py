"""The job as every page shows it, and its forms."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel

from ribband.app.screens.forms import form_names, form_view
from ribband.app.screens.job import JobView, job_view
from ribband.app.showing.answers import plain
from ribband.web.access import Caller
from ribband.web.troubles import ProblemOut
from ribband.web.yard import TheCaller, TheYard, Yard

router = APIRouter(prefix="/api", tags=["job"])


class FindingOut(BaseModel):
    """A doubt or refusal."""

    code: str
    severity: str
    stage: str
    where: str
    says: str
    why: str
    source: str


class StepOut(BaseModel):
    """A step of the work: "good", "stale" or "not made"."""

    step: str
    does: str
    page: str
    state: str
    at: str
    revision: int | None
    findings: list[FindingOut]


class RevisionOut(BaseModel):
    """A state of the inputs."""

    number: int
    parent: int | None
    kind: str
    at: str
    who: str
    why: str


class NextOut(BaseModel):
    """What to do next, and on which page; `act` is "go" there, or "plan" it at once."""

    page: str
    says: str
    act: str


class JobOut(BaseModel):
    """The job at a glance."""

    file: str
    vessel: str
    yard: str
    unit: str
    revision: int
    last: RevisionOut | None
    can_undo: bool
    can_redo: bool
    forms: dict[str, int]
    steps: list[StepOut]
    problems: list[ProblemOut]
    open_doubts: int | None
    next: NextOut
    who: str
    role: str
    work: dict[str, Any]


class ColumnOut(BaseModel):
    """A column of a form, with what may stand in it."""

    name: str
    says: str
    needed: bool
    choices: list[str]
    example: str
    by: dict[str, list[str]]


class CellProblemOut(BaseModel):
    """A cell to be mended; `at` is its row from 0, -1 the heading, null the whole form."""

    at: int | None
    column: str
    found: str
    wanted: str
    example: str


class FormOut(BaseModel):
    """A form as typed."""

    name: str
    title: str
    notes: list[str]
    revision: int
    unit: str
    there: bool
    header: list[str]
    rows: list[list[str]]
    numbers: list[int]
    columns: list[ColumnOut]
    problems: list[CellProblemOut]


class FormName(BaseModel):
    """A form there is."""

    name: str
    title: str


@router.get("/job")
def job(yard: TheYard, caller: TheCaller) -> JobOut:
    """Give the job at a glance: what is stale, doubtful, wrong and next."""
    return job_out(job_view(yard.job), yard, caller)


def job_out(view: JobView, yard: Yard, caller: Caller) -> JobOut:
    """Give the job at a glance as it goes to a browser."""
    work = plain(yard.work.state)
    return JobOut(**plain(view), who=caller.name, role=caller.role, work=work)


@router.get("/forms")
def forms() -> list[FormName]:
    """List the forms there are."""
    return [FormName(name=name, title=title) for name, title in form_names()]


@router.get("/forms/{name}")
def form(name: str, yard: TheYard) -> FormOut:
    """Give one form: rows as typed, its columns, and what is to be mended."""
    return FormOut(**plain(form_view(yard.job, name)))
