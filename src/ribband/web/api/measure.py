"""The page of measurements: readings, doubts, both sides; the records are the page's own."""

from __future__ import annotations

from dataclasses import fields
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse

from ribband.app.entering.unit_again import Bare, bare_figures
from ribband.app.screens.job import unit_of_job
from ribband.app.screens.measure import MeasureView, Trying, evenly, measure_view
from ribband.app.showing.answers import plain
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api/measure", tags=["measure"])


class TryIn(BaseModel):
    """A cell that is still being typed: row and column from 0."""

    form: Annotated[str, Field(max_length=60)]
    row: Annotated[int, Field(ge=0, le=100_000)]
    column: Annotated[int, Field(ge=0, le=400)]
    text: Annotated[str, Field(max_length=2_000)]


class FramesIn(BaseModel):
    """Frames at one spacing: how many, and lengths as typed; a blank first is nought."""

    many: Annotated[int, Field(ge=1, le=400)]
    spacing: Annotated[str, Field(max_length=60)]
    first: Annotated[str, Field(max_length=60)] = ""


@router.get("", response_model=MeasureView)
def measure(yard: TheYard) -> Any:
    """Give the readings as far as they can be read, doubts, and the sides compared."""
    return _answer(measure_view(yard.job))


@router.post("/try", response_model=MeasureView)
def try_out(asked: TryIn, yard: TheYard) -> Any:
    """Give the same with one cell as it is being typed; nothing is changed."""
    return _answer(measure_view(yard.job, Trying(asked.form, asked.row, asked.column, asked.text)))


@router.post("/frames", response_model=list[str])
def even_frames(asked: FramesIn, yard: TheYard) -> list[str]:
    """Give the positions of frames at one spacing, in the job's unit; nothing is changed."""
    return list(evenly(asked.many, asked.spacing, asked.first, unit_of_job(yard.job)))


@router.get("/bare", response_model=Bare)
def bare(yard: TheYard, was: Annotated[str, Query(max_length=20)] = "") -> Any:
    """Give the bare lengths written while the job had another unit; nothing is changed.

    `edits` would write them in the present one, taken in `was`.
    """
    return JSONResponse(plain(bare_figures(yard.job, was)))


def _answer(view: MeasureView) -> JSONResponse:
    body = {field.name: getattr(view, field.name) for field in fields(view)}
    few = {"doubts": plain(view.doubts), "sides": plain(view.sides)}
    return JSONResponse(body | few)
