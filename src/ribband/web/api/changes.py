"""Changing things: edits, undo and redo, history and going back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from ribband.app.entering.changes import Change, Clash, Edit, Overtaken, Patch
from ribband.app.screens.history import MOST, PAGE, Compared, Past, compared, past
from ribband.app.showing.answers import plain
from ribband.web.troubles import Trouble, trouble
from ribband.web.yard import TheCaller, TheYard, patch_out

router = APIRouter(prefix="/api", tags=["changes"])

Cell = Annotated[str, Field(max_length=2_000)]
Cells = Annotated[list[Cell], Field(max_length=400)]
Mark = Annotated[str, Field(min_length=1, max_length=100, pattern=r"^[\w.:-]+$")]
Number = Annotated[int, Field(ge=0, le=2**53)]
Which = Annotated[int, Query(ge=1, le=2**53)]
Before = Annotated[int | None, Query(ge=1, le=2**53)]
Limit = Annotated[int, Query(ge=1, le=MOST)]


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


@dataclass(frozen=True, slots=True)
class ClashOut(Clash):
    """Two hands at one thing, in words too; nothing was changed."""

    says: str


class StepIn(BaseModel):
    """Undo or redo; `upon` is the revision its sender sees."""

    id: Mark
    upon: Number


class BackIn(BaseModel):
    """Go back to a revision."""

    id: Mark
    number: Annotated[int, Field(ge=1, le=2**53)]


CLASHES: dict[int | str, dict[str, Any]] = {409: {"model": ClashOut}}
MOVED_ON: dict[int | str, dict[str, Any]] = {409: {"model": Trouble}}


@router.post("/changes", response_model=Patch, responses=CLASHES)
def change(asked: ChangeIn, yard: TheYard, caller: TheCaller) -> Any:
    """Change rows of forms. Answered when it is on the disk; 409 shows a clash."""
    edits = tuple(Edit(e.form, _cells(e.was), _cells(e.now), e.at) for e in asked.edits)
    done = yard.change(Change(asked.id, caller.name, asked.why, edits, asked.upon))
    return _clash(done) if isinstance(done, Clash) else JSONResponse(patch_out(done))


@router.post("/undo", response_model=Patch, responses=MOVED_ON)
def undo(asked: StepIn, yard: TheYard, caller: TheCaller) -> Any:
    """Go back one revision by making a new one."""
    return _step("undo", asked, yard, caller)


@router.post("/redo", response_model=Patch, responses=MOVED_ON)
def redo(asked: StepIn, yard: TheYard, caller: TheCaller) -> Any:
    """Bring back what was undone."""
    return _step("redo", asked, yard, caller)


@router.get("/history", response_model=Past)
def history(yard: TheYard, before: Before = None, limit: Limit = PAGE) -> Any:
    """List revisions, oldest first: the last of all, or the last of those `before` a number."""
    return JSONResponse(plain(past(yard.job, before, limit)))


@router.get("/history/compare", response_model=Compared)
def compare(yard: TheYard, a: Which, b: Which) -> Any:
    """Compare two revisions: every row that differs, and the figures kept of each."""
    return JSONResponse(plain(compared(yard.job, a, b)))


@router.post("/history/back")
def back(asked: BackIn, yard: TheYard, caller: TheCaller) -> Patch:
    """Go back to a revision by making a new one that says the same."""
    return yard.go_back(asked.number, caller.name, asked.id)


def _step(
    kind: Literal["undo", "redo"], asked: StepIn, yard: TheYard, caller: TheCaller
) -> Patch | Response:
    try:
        done = yard.step(kind, caller.name, asked.id, asked.upon)
    except Overtaken:
        return trouble(409, "Another hand changed the job meanwhile; look again first.")
    if done is None:
        return trouble(409, f"There is nothing to {kind}.")
    return done


def _cells(cells: list[str] | None) -> tuple[str, ...] | None:
    return None if cells is None else tuple(cells)


def _clash(clash: Clash) -> Response:
    says = f"{clash.who or 'Another hand'} changed the same thing; nothing was changed."
    return JSONResponse({"says": says, **plain(clash)}, 409)
