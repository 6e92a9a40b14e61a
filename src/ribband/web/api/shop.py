"""The shop: steam, fastenings, caulking, lifting, order of hanging, plan of work and what-ifs."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, Field
from starlette.responses import Response

from ribband.app.screens.shop import bars_bytes, diary_bytes, shop_key, shop_page, what_if
from ribband.app.showing.answers import plain
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api/shop", tags=["shop"])

KINDS = {"svg": "image/svg+xml", "pdf": "application/pdf"}
ALONE = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; sandbox"
NO_FRAME = "frame-ancestors 'none'"
BINARY = {"schema": {"type": "string", "format": "binary"}}
BARS: dict[int | str, dict[str, Any]] = {200: {"content": dict.fromkeys(KINDS.values(), BINARY)}}
DIARY: dict[int | str, dict[str, Any]] = {200: {"content": {"text/calendar": BINARY}}}
PAPER = {"svg": "290x400", "pdf": "A3"}  # to be read on a screen, or printed
Gear = Literal["steam box", "planer", "crane", "staging"]


class PartOut(BaseModel):
    """One sheet of the page: figures, tables, notes, the usual caution, what was found."""

    name: str
    title: str
    state: str
    lines: list[dict[str, str]]
    listings: list[dict[str, Any]]
    notes: list[str]
    caution: str
    says: list[tuple[str, str, str]]


class SpreadOut(BaseModel):
    """The last plank's day over many runs: how many ended on each working day."""

    first: int
    wide: int
    runs: list[int]
    dates: list[tuple[int, str, float]]
    planned: float
    planned_said: str
    late: float
    lost: float
    spoilt: float


class ShopOut(BaseModel):
    """The newest of everything, stale or not; `key` changes with it."""

    key: str
    parts: list[PartOut]
    spread: SpreadOut | None
    hands: list[str]
    proved: bool
    unit: str
    alone: str


class MoreIn(BaseModel):
    """More of a thing there is."""

    item: Gear
    count: Annotated[int, Field(ge=1, le=20)] = 1


class WhatIfIn(BaseModel):
    """What is changed; each by itself. `lost` is a part of the days, `boards` a length."""

    hands: Annotated[int, Field(ge=0, le=50)] = 0
    gear: Annotated[list[MoreIn], Field(max_length=4)] = []
    boards: Annotated[str, Field(max_length=30)] = ""
    lost: Annotated[float, Field(ge=0, le=0.8)] | None = None
    seconds: Annotated[float, Field(ge=0.5, le=30)] = 2.0


class WhatIfOut(BaseModel):
    """Each change planned and run over as the plan is."""

    title: str
    columns: list[str]
    rows: list[list[str]]
    notes: list[str]


@router.get("")
async def shop(yard: TheYard) -> ShopOut:
    """Give everything the shop knows, as kept."""
    found = plain(await yard.aside.run(shop_page, yard.job))
    return ShopOut(key=_word(shop_key(yard.job)), **found)


@router.get("/bars.{kind}", response_class=Response, responses=BARS)
async def bars(
    request: Request,
    yard: TheYard,
    kind: Annotated[Literal["svg", "pdf"], Path()],
    sheet: Annotated[int, Query(ge=1, le=1000)] = 1,
) -> Response:
    """Draw the plan of work as bars: every sheet as PDF, or one as SVG; `sheets` counts them."""
    tag = f'"{_word(f"{shop_key(yard.job)} bars {kind} {sheet}")}"'
    headers = {
        "etag": tag, "cache-control": "no-cache",
        "content-security-policy": ALONE if kind == "svg" else NO_FRAME,
        "content-disposition": f"inline; filename=work.{kind}",
    }  # fmt: skip
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    body, sheets = await yard.press.run(bars_bytes, yard.job, kind, sheet, PAPER[kind])
    return Response(body, media_type=KINDS[kind], headers=headers | {"x-sheets": str(sheets)})


@router.get("/work.ics", response_class=Response, responses=DIARY)
async def diary(yard: TheYard, hand: Annotated[str, Query(max_length=60)] = "") -> Response:
    """Give the plan of work as a calendar file, of one hand's work where named."""
    file, body = await yard.press.run(diary_bytes, yard.job, hand)
    disposition = f"attachment; filename=work.ics; filename*=UTF-8''{quote(file)}"
    headers = {"content-disposition": disposition, "cache-control": "no-store"}
    return Response(body, media_type="text/calendar", headers=headers)


@router.post("/what-if")
async def try_out(asked: WhatIfIn, yard: TheYard) -> WhatIfOut:
    """Plan the work again with a change, beside the plan as it is; nothing is kept."""
    gear = tuple((more.item, more.count) for more in asked.gear)
    tried = await yard.press.run(
        what_if, yard.job, asked.hands, gear, asked.boards, asked.lost, asked.seconds
    )
    return WhatIfOut(**plain(tried.listing), notes=list(tried.notes))


def _word(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()[:20]
