"""The page of lining out: the seams, a seam being dragged, another number of strakes."""

from __future__ import annotations

import time
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from ribband.app.screens.drag import (
    another,
    beside,
    hull_now,
    hull_points,
    let_go,
    moved,
    nib_moved,
    ready,
)
from ribband.app.screens.line_out import line_out_view, space_view
from ribband.app.screens.renumber import Renumbering, renumbering
from ribband.app.showing.answers import plain
from ribband.errors import InputError
from ribband.web.yard import TheCaller, TheYard

router = APIRouter(prefix="/api/line-out", tags=["lining out"])

LAST = "line-out drag"  # where the last drag is kept for the other browsers
Name = Annotated[str, Field(min_length=1, max_length=40)]
Hold = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[\w.:-]+$")]
Held = Annotated[str, Field(max_length=40, pattern=r"^[\w.:-]*$")]
Girths = list[list[int]]


class LineOutOut(BaseModel):
    """The lining out; girths and widths (strake, column) in tenths of a mm, -1 = none."""

    revision: int
    unit: str
    states: dict[str, str]
    there: bool
    ground: dict[str, Any] | None = None
    strakes: list[dict[str, Any]] = []
    lower: Girths = []
    upper: Girths = []
    width: Girths = []
    feasible: bool = True
    limits: dict[str, Any] = {}
    figures: list[dict[str, str]] = []
    reasons: list[str] = []
    binds: list[dict[str, str]] = []
    alternatives: list[dict[str, Any]] = []
    findings: list[dict[str, str]] = []


class SpaceOut(BaseModel):
    """Frames (frame, point, xyz) and hood ends in space, mm; normals point outward."""

    frames: list[Any]
    stem: list[Any] | None
    stern: list[Any] | None
    girths: dict[str, float]
    normals: list[Any]


class PlanksOut(BaseModel):
    """The planks beside a seam, flat: points x, y, x, y in tenths of a mm, figures in words.

    `why` says why there are none; `butts` is the state of the butts they are cut by; `part` that
    only those on the frame under the hand are among them.
    """

    strakes: list[str]
    planks: list[dict[str, Any]]
    why: str
    butts: str
    part: bool = False


class SeamsOut(BaseModel):
    """Seams while they are dragged; `feasible` is False where a limit is passed by `over`.

    `passed` says which strake passes a limit most. An empty row of `lower` stands for the upper
    edge of the strake below. `more` where they do not lie still yet: the same asked again brings
    them on.

    Where a stealer's nib is dragged: its name now, `clash` in words, and whether it `stands`.
    """

    lower: Girths
    upper: Girths
    width: Girths
    names: list[str]
    feasible: bool
    over: str
    passed: str = ""
    cost: float
    more: bool = False
    strakes: list[dict[str, Any]] = []
    girth: float | None = None
    text: str = ""
    planks: PlanksOut | None = None
    stealer: str = ""
    clash: list[str] = []
    stands: bool = True
    wishes: list[dict[str, str]] = []


class MoveIn(BaseModel):
    """The seam above a strake, brought to a girth on a frame (or stem, or stern).

    `rests` is false where the hand still moves and asks again.
    """

    hold: Hold
    strake: Name
    frame: Name
    girth: Annotated[float, Field(ge=0, le=100_000)]
    planks: bool = False
    rests: bool = True


class NibIn(BaseModel):
    """A stealer, as it was named before the drag, with its squared end where it is wanted."""

    hold: Hold
    stealer: Name
    above: Name
    frame: Name


class LetGoIn(BaseModel):
    """A drag that came to nothing."""

    hold: Hold


class AnotherIn(BaseModel):
    """How many strakes to try; with `stealers`, they may be among them."""

    strakes: Annotated[int, Field(ge=3, le=80)]
    stealers: bool = False


class AnotherOut(BaseModel):
    """Another lining, for comparison."""

    strakes: list[dict[str, Any]]
    lower: Girths
    upper: Girths
    width: Girths
    feasible: bool
    figures: list[dict[str, str]]


BINARY: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/octet-stream": {}}},
    204: {"description": "Nothing to show yet; the header x-ribband-why says why"},
}
SEAMS: dict[int | str, dict[str, Any]] = {200: {"model": SeamsOut}}


@router.get("")
def line_out(yard: TheYard) -> LineOutOut:
    """Give the lining out on the expansion, with limits, reasons and alternatives."""
    return LineOutOut(**line_out_view(yard.job))


@router.get("/space")
def space(yard: TheYard) -> SpaceOut:
    """Give the frames in space, for the body plan and for sighting along a seam."""
    return SpaceOut(**space_view(yard.job))


@router.post("/ready", response_class=Response, responses=SEAMS)
async def hold_ready(yard: TheYard) -> Response:
    """Hold the lining ready to be dragged, and give its seams under the wishes as they are."""
    return _json(await yard.aside.run(ready, yard.job))


@router.post("/move", response_class=Response, responses=SEAMS)
async def move(asked: MoveIn, yard: TheYard, caller: TheCaller) -> Response:
    """Move a seam and settle the rest; nothing is changed in the job. Others are told."""
    began = time.perf_counter()
    where = (asked.strake, asked.frame)
    body = await yard.aside.run(
        moved, yard.job, asked.hold, *where, asked.girth, planks=asked.planks, rests=asked.rests
    )
    return _told(yard, caller, body, (asked.hold, *where), began)


@router.post("/nib", response_class=Response, responses=SEAMS)
async def move_nib(asked: NibIn, yard: TheYard, caller: TheCaller) -> Response:
    """Move a stealer's squared end and settle the rest; nothing is changed. Others are told."""
    began = time.perf_counter()
    where = (asked.above, asked.frame)
    body = await yard.aside.run(nib_moved, yard.job, asked.hold, asked.stealer, *where)
    return _told(yard, caller, body, (asked.hold, *where), began)


@router.get("/planks")
async def planks(yard: TheYard, strake: Name, hold: Held = "") -> PlanksOut:
    """Lay the planks on both sides of the seam above a strake flat, as the seams lie now."""
    return PlanksOut(**await yard.aside.run(beside, yard.job, hold, strake))


@router.get("/hull", response_class=Response, responses=BINARY)
async def hull(yard: TheYard, hold: Held = "") -> Response:
    """Give the planked hull as the seams lie now: a heading in JSON, points, triangles."""
    try:
        body = await yard.aside.run(hull_now, yard.job, hold)
    except InputError as wrong:
        why = wrong.problems[0].wanted.encode("ascii", "replace").decode()
        return Response(status_code=204, headers={"x-ribband-why": why})
    return _bytes(body)


@router.get("/hull/points", response_class=Response, responses=BINARY)
async def points(yard: TheYard, hold: Held = "") -> Response:
    """Give the points alone of what `hull` gives, while a seam is dragged."""
    try:
        return _bytes(await yard.aside.run(hull_points, yard.job, hold))
    except InputError:
        return Response(status_code=204)


STILL: dict[int | str, dict[str, Any]] = {204: {"description": "No seam is being dragged."}}


@router.get("/move", response_class=Response, responses=SEAMS | STILL)
async def last_move(yard: TheYard) -> Response:
    """Give the seams as another hand is dragging them; no content where none has."""
    body = yard.kept.get(LAST)
    return Response(status_code=204) if body is None else _json(body)


@router.post("/let-go", status_code=204)
async def leave(asked: LetGoIn, yard: TheYard) -> None:
    """Forget a drag that came to nothing, and tell the others."""
    await yard.aside.run(let_go, asked.hold)
    yard.live.say("seam", hold=asked.hold, strake="", frame="", who="")


@router.get("/renumber", response_model=Renumbering)
def renumber(yard: TheYard, whole: Annotated[int, Query(ge=1, le=99)]) -> Any:
    """Say which wishes would be of other planks with so many strakes from end to end."""
    return JSONResponse(plain(renumbering(yard.job, whole)))


@router.post("/another")
async def try_another(asked: AnotherIn, yard: TheYard) -> AnotherOut:
    """Line out with another number of strakes, for comparison; nothing is kept."""
    found = await yard.aside.run(another, yard.job, asked.strakes, stealers=asked.stealers)
    return AnotherOut(**found)


def _told(
    yard: TheYard, caller: TheCaller, body: bytes, drag: tuple[str, str, str], began: float
) -> Response:
    """Answer a move, and tell the other browsers that there is one."""
    hold, strake, frame = drag
    yard.keep(LAST, body)
    yard.live.say("seam", hold=hold, strake=strake, frame=frame, who=caller.name)
    answer = _json(body)
    answer.headers["server-timing"] = f"settle;dur={1000 * (time.perf_counter() - began):.1f}"
    return answer


def _bytes(body: bytes) -> Response:
    headers = {"cache-control": "no-store"}
    return Response(body, media_type="application/octet-stream", headers=headers)


def _json(body: bytes) -> Response:
    return Response(body, media_type="application/json", headers={"cache-control": "no-store"})
