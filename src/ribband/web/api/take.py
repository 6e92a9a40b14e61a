"""Taking in files of forms, as dropped on a page."""

from __future__ import annotations

import asyncio
from typing import Annotated, Literal

from fastapi import APIRouter, File, Form, UploadFile
from pydantic import BaseModel

from ribband.app.entering.dropped import take_dropped
from ribband.web.yard import TheCaller, TheYard

router = APIRouter(prefix="/api", tags=["changes"])


class TakenOut(BaseModel):
    """What came of it: the revision made, null where nothing was new; what was left or gone."""

    revision: int | None
    forms: list[str]
    kept: list[str]
    says: list[str]


@router.post("/take")
async def take(
    yard: TheYard,
    caller: TheCaller,
    files: Annotated[list[UploadFile], File(max_length=40)],
    replace: Annotated[bool, Form()] = False,
    decimal: Annotated[Literal["point", "comma"], Form()] = "point",
) -> TakenOut:
    """Take in files of forms (CSV or XLSX); with `replace` in place of all there is.

    `decimal` says what the figures of the files have for decimals.
    """
    bodies = {file.filename or "form.csv": await file.read() for file in files}
    await asyncio.to_thread(yard.told)  # nothing is taken into a file that is another
    taken = await yard.aside.run(
        take_dropped, yard.job, bodies, caller.name, replace=replace, decimal=decimal
    )
    await asyncio.to_thread(yard.told)
    return TakenOut(
        revision=taken.revision.number if taken.revision else None,
        forms=list(taken.forms),
        kept=list(taken.kept),
        says=list(taken.says),
    )
