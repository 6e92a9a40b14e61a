"""The page of measurements: what is drawn of the readings, their doubts and both sides."""

from __future__ import annotations

from dataclasses import fields
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse

from ribband.app.screens.measure import MeasureView, Trying, measure_view
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api/measure", tags=["measure"])


class DoubtOut(BaseModel):
    """A reading the fair surface does not believe; `place` is form, row and column from 0.

    `at` and `fair_at` are where it lies and where the fair value lies: x, y, z (or x, girth), mm.
    """

    key: str
    frame: str
    line: str
    typed: str
    reads: str
    fair: str
    off: str
    explains: str
    decision: str
    value: str
    changed: bool
    place: tuple[str, int, int] | None
    at: list[float] | None
    fair_at: list[float] | None


class SideOut(BaseModel):
    """How the sides differ at a frame, port less starboard; `far` where by more than allowed."""

    frame: str
    girth: str
    mm: float
    greatest: str
    at: str
    port: str
    starboard: str
    far: bool


class MeasureOut(BaseModel):
    """Readings as typed and the last fair hull, in mm for drawing; text in the job's unit."""

    revision: int
    unit: str
    states: dict[str, str]
    stations: list[dict[str, Any]]
    readings: list[dict[str, Any]]
    ends: list[dict[str, Any]]
    girths: list[dict[str, Any]]
    frames: list[dict[str, Any]]
    fair: dict[str, Any] | None
    doubts: list[DoubtOut]
    sides: list[SideOut]
    sides_from: str
    old: list[dict[str, Any]]
    old_butts: list[dict[str, Any]]
    tolerance: str


class TryIn(BaseModel):
    """A cell that is still being typed: row and column from 0."""

    form: Annotated[str, Field(max_length=60)]
    row: Annotated[int, Field(ge=0, le=100_000)]
    column: Annotated[int, Field(ge=0, le=400)]
    text: Annotated[str, Field(max_length=2_000)]


@router.get("", response_model=MeasureOut)
def measure(yard: TheYard) -> Any:
    """Give the readings as far as they can be read, doubts, and the sides compared."""
    return _answer(measure_view(yard.job))


@router.post("/try", response_model=MeasureOut)
def try_out(asked: TryIn, yard: TheYard) -> Any:
    """Give the same with one cell as it is being typed; nothing is changed."""
    return _answer(measure_view(yard.job, Trying(asked.form, asked.row, asked.column, asked.text)))


def _answer(view: MeasureView) -> JSONResponse:
    return JSONResponse({field.name: getattr(view, field.name) for field in fields(view)})
