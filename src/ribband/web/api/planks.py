"""The planks: the list, one plank's sheet, its ticket, and the planked hull to be turned."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel
from starlette.responses import Response

from ribband.app.screens.planks import (
    PlankRow,
    PlankSheet,
    hull_bytes,
    pattern_bytes,
    plank_sheet,
    planks_key,
    planks_page,
    ticket_bytes,
)
from ribband.errors import InputError
from ribband.web.names import from_the_yard
from ribband.web.yard import TheYard, Yard

router = APIRouter(prefix="/api", tags=["planks"])

Name = Annotated[str, Path(max_length=20, pattern=r"^[A-Za-z0-9-]+$")]
BINARY: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/octet-stream": {}}},
    204: {"description": "Nothing to show yet; the header x-ribband-why says why"},
}
TYPES = {"pdf": "application/pdf", "dxf": "image/vnd.dxf", "svg": "image/svg+xml"}
PATTERN: dict[int | str, dict[str, Any]] = {200: {"content": {name: {} for name in TYPES.values()}}}
PatternKind = Literal["A3", "A4", "letter", "roll", "dxf", "arcs", "svg"]
PAPER: dict[int | str, dict[str, Any]] = {200: {"content": {"application/pdf": {}}}}


class PlanksOut(BaseModel):
    """Every plank as kept; `key` changes whenever they do.

    `as_of` says of which revision they are, where that is not the newest; `alone` that they are
    the new planks of a repair, where one stands.
    """

    key: str
    planks: list[PlankRow]
    as_of: str
    alone: str


@router.get("/planks")
async def planks(yard: TheYard) -> PlanksOut:
    """List the planks as kept, or as they last were; empty where there never were any."""
    found = await yard.aside.run(planks_page, yard.job)
    return PlanksOut(
        key=_word(planks_key(yard.job)),
        planks=list(found.planks),
        as_of=found.as_of,
        alone=found.alone,
    )


@router.get("/planks/{name}")
async def plank(yard: TheYard, name: Name) -> PlankSheet:
    """Give one plank's sheet."""
    return await yard.aside.run(plank_sheet, yard.job, name)


@router.get("/planks/{name}/ticket.pdf", response_class=Response, responses=PAPER)
async def ticket(request: Request, yard: TheYard, name: Name) -> Response:
    """Print one plank's ticket; its code opens the plank in this app, where a phone reaches it."""
    body = await yard.press.run(ticket_bytes, yard.job, name, _reached_at(request, yard))
    headers = {"content-disposition": f"inline; filename={name}.pdf", "cache-control": "no-store"}
    return Response(body, media_type="application/pdf", headers=headers)


@router.get("/planks/{name}/pattern", response_class=Response, responses=PATTERN)
async def pattern(yard: TheYard, name: Name, kind: PatternKind = "A3") -> Response:
    """Print one plank's pattern at full size: on sheets, on a roll, or for a router."""
    file, body = await yard.press.run(pattern_bytes, yard.job, name, kind)
    headers = {"content-disposition": f'inline; filename="{file}"', "cache-control": "no-store"}
    return Response(body, media_type=TYPES[file.rpartition(".")[2]], headers=headers)


@router.get("/hull-view", response_class=Response, responses=BINARY)
async def hull_view(request: Request, yard: TheYard) -> Response:
    """Give the planked hull for the screen: a heading in JSON, points, triangles."""
    tag = f'"{_word(planks_key(yard.job))}"'
    headers = {"etag": tag, "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    body = yard.kept.get(tag)
    if body is None:
        try:
            body = await yard.aside.run(hull_bytes, yard.job)
        except InputError as wrong:
            why = wrong.problems[0].wanted.encode("ascii", "replace").decode()
            return Response(status_code=204, headers={"x-ribband-why": f"Wanted: {why}."})
        yard.keep(tag, body)
    return Response(body, media_type="application/octet-stream", headers=headers)


def _reached_at(request: Request, yard: Yard) -> str:
    """Give the address a code is to open; none where only this machine could."""
    host = request.url.hostname or ""
    if from_the_yard([host]):
        return str(request.base_url)
    return f"http://{yard.known_as[0]}:{request.url.port}/" if yard.known_as else ""


def _word(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()[:20]
