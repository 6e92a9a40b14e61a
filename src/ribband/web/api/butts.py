"""The page of butts: the layout, and the clashes of one that is being tried."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, Field

from ribband.app.screens.butts import butts_view, clashes_of
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api/butts", tags=["butts"])

Row = Annotated[int, Field(ge=0, le=1000)]
Landing = Annotated[int, Field(ge=0, le=4000)]


class ClashOut(BaseModel):
    """A rule broken: in words, and the butts (strake, landing) concerned."""

    code: str
    rule: str
    butts: list[tuple[int, int]]
    strake: int
    where: str
    says: str
    why: str
    source: str


class NoteOut(BaseModel):
    """Something to know that is no clash of two butts."""

    code: str
    severity: str
    where: str
    says: str
    why: str


class ClashesOut(BaseModel):
    """Every rule a layout breaks; `too_short` where the vessel is too short for them."""

    clashes: list[ClashOut]
    notes: list[NoteOut]
    too_short: bool


class TryIn(BaseModel):
    """A layout to be looked at: butts of one side as strake and landing, from 0."""

    side: Annotated[int, Field(ge=0, le=1)] = 0
    butts: Annotated[list[tuple[Row, Landing]], Field(max_length=3000)]


class SideOut(ClashesOut):
    """One side: where butts may stand ("1"), what is forbidden, what is laid, goals."""

    name: str
    open: list[str]
    shut: list[dict[str, str]]
    butts: list[tuple[int, int, bool]]
    solved: bool
    feasible: bool
    goals: list[dict[str, Any]]
    why_not: list[str]
    reliefs: list[str]
    too_short: bool = False


class ButtsOut(BaseModel):
    """Everything on the page; girths and lengths along strakes in tenths of a mm, -1 = none."""

    revision: int
    unit: str
    states: dict[str, str]
    there: bool
    ground: dict[str, Any] | None = None
    strakes: list[dict[str, Any]] = []
    lower: list[list[int]] = []
    upper: list[list[int]] = []
    width: list[list[int]] = []
    along: list[list[int]] = []
    length: list[int] = []
    sides: list[SideOut] = []
    stock: list[dict[str, Any]] = []
    pile: str = ""
    trim: float = 0.0
    rules: list[dict[str, Any]] = []
    sets: list[dict[str, Any]] = []
    problems: list[dict[str, Any]] = []


@router.get("")
def butts(yard: TheYard) -> ButtsOut:
    """Give the layout of butts on the expansion, with clashes, rules, stock and wishes."""
    return ButtsOut(**butts_view(yard.job))


@router.post("/check")
def check(asked: TryIn, yard: TheYard) -> ClashesOut:
    """Give the clashes of a layout that is being tried; nothing is changed."""
    return ClashesOut(**clashes_of(yard.job, asked.side, asked.butts))
