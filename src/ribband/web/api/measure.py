"""The page of measurements: readings, doubts, both sides; the records are the page's own."""

from __future__ import annotations

from dataclasses import fields
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse

from ribband.app.screens.measure import MeasureView, Trying, measure_view
from ribband.app.showing.answers import plain
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api/measure", tags=["measure"])


class TryIn(BaseModel):
    """A cell that is still being typed: row and column from 0."""

    form: Annotated[str, Field(max_length=60)]
    row: Annotated[int, Field(ge=0, le=100_000)]
    column: Annotated[int, Field(ge=0, le=400)]
    text: Annotated[str, Field(max_length=2_000)]


@router.get("", response_model=MeasureView)
def measure(yard: TheYard) -> Any:
    """Give the readings as far as they can be read, doubts, and the sides compared."""
    return _answer(measure_view(yard.job))


@router.post("/try", response_model=MeasureView)
def try_out(asked: TryIn, yard: TheYard) -> Any:
    """Give the same with one cell as it is being typed; nothing is changed."""
    return _answer(measure_view(yard.job, Trying(asked.form, asked.row, asked.column, asked.text)))


def _answer(view: MeasureView) -> JSONResponse:
    body = {field.name: getattr(view, field.name) for field in fields(view)}
    few = {"doubts": plain(view.doubts), "sides": plain(view.sides)}
    return JSONResponse(body | few)
