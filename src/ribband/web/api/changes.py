"""Changing things: edits, undo and redo, history and going back."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from ribband.app.entering.changes import Change, Clash, Edit, Overtaken
from ribband.app.screens.history import compared, revisions
from ribband.app.showing.answers import plain
from ribband.web.api.job import RevisionOut
from ribband.web.troubles import Trouble, trouble
from ribband.web.yard import TheCaller, TheYard, patch_out

router = APIRouter(prefix="/api", tags=["changes"])

Cell = Annotated[str, Field(max_length=2_000)]
Cells = Annotated[list[Cell], Field(max_length=400)]
Mark = Annotated[str, Field(min_length=1, max_length=100, pattern=r"^[\w.:-]+$")]
Number = Annotated[int, Field(ge=0, le=2**53)]
Which = Annotated[int, Query(ge=1, le=2**53)]


class EditIn(BaseModel):
    """One row: put in (`was` null), changed, or taken out (`now` null).

    `at` is its place from 0; -1 is the heading. Rows may be shorter than the heading.
    """

    form: Annotated[str, Field(max_length=60)]
    was: Cells | None = None
    now: Cells | None = None
    at: Annotated[int, Field(ge=-1, le=100_000)] = 0


class ChangeIn(BaseModel):
    """Edits that stand or fall together; `upon` is the revision they were seen in."""

    id: Mark
    why: Annotated[str, Field(max_length=300)] = ""
    edits: Annotated[list[EditIn], Field(min_length=1, max_length=20_000)]
    upon: Number


class EditOut(BaseModel):
    """One row as it fell out."""

    form: str
    was: list[str] | None
    now: list[str] | None
    at: int


class PatchOut(BaseModel):
    """What was done; `forms` names what to look at again, `edits` is empty for whole forms."""

    id: str
    revision: int
    upon: int
    who: str
    why: str
    at: str
    forms: list[str]
    edits: list[EditOut]
    repeated: bool


class CellClashOut(BaseModel):
    """A cell that two hands changed."""

    column: str
    was: str
    mine: str
    theirs: str


class RowClashOut(BaseModel):
    """What each hand wants of a row; null is taking it out."""

    edit: int
    form: str
    at: int
    header: list[str]
    was: list[str] | None
    mine: list[str] | None
    theirs: list[str] | None
    both: list[str] | None
    cells: list[CellClashOut]


class ClashOut(BaseModel):
    """Two hands at one thing; nothing was changed."""

    says: str
    id: str
    revision: int
    who: str
    rows: list[RowClashOut]


class StepIn(BaseModel):
    """Undo or redo; `upon` is the revision its sender sees."""

    id: Mark
    upon: Number


class BackIn(BaseModel):
    """Go back to a revision."""

    id: Mark
    number: Annotated[int, Field(ge=1, le=2**53)]


class HistoryOut(BaseModel):
    """Every revision, oldest first."""

    revisions: list[RevisionOut]


class ComparedOut(BaseModel):
    """Two revisions side by side: rows that differ, and figures where they are kept."""

    a: RevisionOut
    b: RevisionOut
    forms: list[dict[str, Any]]
    figures: list[dict[str, str]]


CLASHES: dict[int | str, dict[str, Any]] = {409: {"model": ClashOut}}
MOVED_ON: dict[int | str, dict[str, Any]] = {409: {"model": Trouble}}


@router.post("/changes", response_model=PatchOut, responses=CLASHES)
def change(asked: ChangeIn, yard: TheYard, caller: TheCaller) -> Any:
    """Change rows of forms. Answered when it is on the disk; 409 shows a clash."""
    edits = tuple(Edit(e.form, _cells(e.was), _cells(e.now), e.at) for e in asked.edits)
    done = yard.change(Change(asked.id, caller.name, asked.why, edits, asked.upon))
    return _clash(done) if isinstance(done, Clash) else PatchOut(**patch_out(done))


@router.post("/undo", response_model=PatchOut, responses=MOVED_ON)
def undo(asked: StepIn, yard: TheYard, caller: TheCaller) -> Any:
    """Go back one revision by making a new one."""
    return _step("undo", asked, yard, caller)


@router.post("/redo", response_model=PatchOut, responses=MOVED_ON)
def redo(asked: StepIn, yard: TheYard, caller: TheCaller) -> Any:
    """Bring back what was undone."""
    return _step("redo", asked, yard, caller)


@router.get("/history")
def history(yard: TheYard) -> HistoryOut:
    """List every revision, oldest first."""
    return HistoryOut(revisions=[RevisionOut(**plain(r)) for r in revisions(yard.job)])


@router.get("/history/compare")
def compare(yard: TheYard, a: Which, b: Which) -> ComparedOut:
    """Compare two revisions: every row that differs, and the figures kept of each."""
    return ComparedOut(**plain(compared(yard.job, a, b)))


@router.post("/history/back")
def back(asked: BackIn, yard: TheYard, caller: TheCaller) -> PatchOut:
    """Go back to a revision by making a new one that says the same."""
    return PatchOut(**patch_out(yard.go_back(asked.number, caller.name, asked.id)))


def _step(
    kind: Literal["undo", "redo"], asked: StepIn, yard: TheYard, caller: TheCaller
) -> PatchOut | Response:
    try:
        done = yard.step(kind, caller.name, asked.id, asked.upon)
    except Overtaken:
        return trouble(409, "Another hand changed the job meanwhile; look again first.")
    if done is None:
        return trouble(409, f"There is nothing to {kind}.")
    return PatchOut(**patch_out(done))


def _cells(cells: list[str] | None) -> tuple[str, ...] | None:
    return None if cells is None else tuple(cells)


def _clash(clash: Clash) -> Response:
    says = f"{clash.who or 'Another hand'} changed the same thing; nothing was changed."
    return JSONResponse({"says": says, **plain(clash)}, 409)
