"""The record: how far every plank has come, one plank's own record, a seam set against the plan."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path
from pydantic import BaseModel, Field

from ribband.app.screens.record import (
    PlankStand,
    Told,
    plank_record,
    record_key,
    record_page,
)
from ribband.app.screens.record_sums import record_sums
from ribband.app.screens.seam_off import SeamOff, seam_off
from ribband.app.showing.answers import plain
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api/record", tags=["record"])

Name = Annotated[str, Path(max_length=20, pattern=r"^[A-Za-z0-9-]+$")]
Word = Annotated[str, Field(max_length=30)]


class LeftOut(BaseModel):
    """What is left, as last divided, or the repair as last planned."""

    state: str
    lines: list[dict[str, str]]
    listings: list[dict[str, Any]]
    notes: list[str]
    says: list[list[str]]


class RecordOut(BaseModel):
    """Every plank and what is left; `key` changes with them."""

    key: str
    planks: list[PlankStand]
    counts: list[tuple[str, int, int]]
    states: list[str]
    hands: list[str]
    left: LeftOut
    repair: LeftOut
    unit: str
    problems: list[str]


class MeasuredIn(BaseModel):
    """A seam as measured; the girth as read from the tape, in the job's unit."""

    side: Literal["port", "starboard"]
    strake: Word
    edge: Literal["lower", "upper"]
    frame: Word
    girth: Word


@router.get("")
async def record(yard: TheYard) -> RecordOut:
    """Give how far every plank has come, and what is left."""
    found = plain(await yard.aside.run(record_page, yard.job))
    key = await yard.aside.run(record_key, yard.job)
    return RecordOut(key=hashlib.sha256(key.encode()).hexdigest()[:20], **found)


@router.post("/measured")
async def measured(asked: MeasuredIn, yard: TheYard) -> SeamOff:
    """Set a measured seam against its plan, and say what is to be asked; nothing is kept."""
    return await yard.aside.run(seam_off, yard.job, asked.model_dump())


@router.get("/sums")
async def sums(yard: TheYard) -> LeftOut:
    """Give costs, planned and so far, and the old planking beside the new, as last planned."""
    return LeftOut(**plain(await yard.aside.run(record_sums, yard.job)))


@router.get("/{name}")
async def plank(yard: TheYard, name: Name) -> Told:
    """Give one plank's record: its log, its seams as hung, its pictures."""
    return await yard.aside.run(plank_record, yard.job, name)
