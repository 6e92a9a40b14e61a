"""The job as every page shows it, and its forms; the answers are the pages' own records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from starlette.responses import JSONResponse

from ribband.app.screens.forms import FormName, FormView, form_names, form_view
from ribband.app.screens.job import JobView, job_view
from ribband.app.showing.answers import plain
from ribband.web.access import Caller
from ribband.web.work import WorkState
from ribband.web.yard import TheCaller, TheYard, Yard

router = APIRouter(prefix="/api", tags=["job"])


@dataclass(frozen=True, slots=True)
class JobOut(JobView):
    """The job at a glance, who asks and what they may do, and the work in hand."""

    who: str
    role: str
    work: WorkState


@router.get("/job", response_model=JobOut)
def job(yard: TheYard, caller: TheCaller) -> Any:
    """Give the job at a glance: what is stale, doubtful, wrong and next."""
    return JSONResponse(job_out(job_view(yard.job), yard, caller))


def job_out(view: JobView, yard: Yard, caller: Caller) -> dict[str, Any]:
    """Give the job at a glance as it goes to a browser."""
    more = {"who": caller.name, "role": caller.role, "work": plain(yard.work.state)}
    return {**plain(view), **more}


@router.get("/forms")
def forms() -> list[FormName]:
    """List the forms there are."""
    return list(form_names())


@router.get("/forms/{name}", response_model=FormView)
def form(name: str, yard: TheYard) -> Any:
    """Give one form: rows as typed, its columns, and what is to be mended."""
    return JSONResponse(plain(form_view(yard.job, name)))
