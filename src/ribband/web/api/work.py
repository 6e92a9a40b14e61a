"""Work in hand: begin, end, and hear how far it is."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import AfterValidator, BaseModel, Field
from starlette.responses import StreamingResponse

from ribband.app.plan.steps import STEPS, WHOLE
from ribband.web.work import AUTO_SECONDS, WorkState
from ribband.web.yard import TheCaller, TheYard

router = APIRouter(prefix="/api", tags=["work in hand"])


def _known(name: str) -> str:
    if name != WHOLE and name not in {step.name for step in STEPS}:
        raise ValueError("all, or a step: " + ", ".join(step.name for step in STEPS))
    return name


Last = Annotated[str, AfterValidator(_known), Field(max_length=20)]


class WorkIn(BaseModel):
    """How far to bring the plan up to date, and how long to search for butts."""

    last: Last = WHOLE
    seconds: Annotated[float, Field(ge=0.5, le=36_000)] = AUTO_SECONDS


@router.get("/work")
async def state(yard: TheYard) -> WorkState:
    """Say how far the work in hand is."""
    return yard.work.state


@router.post("/work")
async def start(asked: WorkIn, yard: TheYard, caller: TheCaller) -> WorkState:
    """Bring the plan up to date, in place of any work in hand."""
    await asyncio.to_thread(yard.told)  # nothing is kept in a file that is another
    return yard.work.start(asked.last, asked.seconds, caller.name)


@router.delete("/work")
async def cancel(yard: TheYard, caller: TheCaller) -> WorkState:
    """End the work in hand; what was kept stays."""
    return yard.work.cancel(caller.name)


@router.get("/progress", response_class=StreamingResponse, responses={200: {"content": {
    "text/event-stream": {"schema": {"type": "string"}}}}})  # fmt: skip
async def events(yard: TheYard, once: bool = False) -> StreamingResponse:
    """Tell how far the work is, as server-sent events; with `once`, only how far it is now."""

    async def told() -> AsyncIterator[str]:
        async for state in yard.work.events():
            yield f"event: work\ndata: {_json(asdict(state))}\n\n"
            if once:
                return

    return StreamingResponse(told(), media_type="text/event-stream",
                             headers={"cache-control": "no-store"})  # fmt: skip


def _json(body: Any) -> str:
    return json.dumps(body, ensure_ascii=False)
