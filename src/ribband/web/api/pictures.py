"""Pictures of planks: taken in from the page that took them, and shown."""

from __future__ import annotations

import asyncio
from typing import Annotated, Any

from fastapi import APIRouter, Form, Path, UploadFile
from pydantic import BaseModel, Field
from starlette.responses import Response

from ribband.app.entering.pictures import picture_bytes, take_picture
from ribband.web.troubles import Trouble, trouble
from ribband.web.yard import TheCaller, TheYard

router = APIRouter(prefix="/api", tags=["record"])

TYPES = {"jpeg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
BINARY = {"schema": {"type": "string", "format": "binary"}}
SHOWN: dict[int | str, dict[str, Any]] = {
    200: {"content": {kind: BINARY for kind in TYPES.values()}},  # noqa: C420 - one each
    404: {"model": Trouble, "description": "There is no such picture in this job."},
}
HEADERS = {
    "cache-control": "private, max-age=31536000, immutable",
    "content-security-policy": "default-src 'none'; sandbox",  # by itself it runs nothing
    "content-disposition": "inline",
}
Key = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]
Word = Annotated[str, Field(max_length=120)]


class PictureIn(BaseModel):
    """A picture of a plank; the same `id` twice does nothing twice."""

    file: UploadFile
    plank: Annotated[str, Field(min_length=1, max_length=20)]
    id: Annotated[str, Field(max_length=100, pattern=r"^[\w.:-]*$")] = ""
    name: Word = ""
    at: Word = ""
    by: Word = ""
    note: Annotated[str, Field(max_length=300)] = ""


class PictureOut(BaseModel):
    """What came of it: the revision made, null where it was there already; what was left out."""

    revision: int | None
    says: list[str]


@router.post("/uploads/picture")
async def take(
    yard: TheYard,
    caller: TheCaller,
    asked: Annotated[PictureIn, Form(media_type="multipart/form-data")],
) -> PictureOut:
    """Keep a picture of a plank in the job: JPEG, PNG or WebP, at most 12 MB."""
    body = await asked.file.read()
    named = asked.name or asked.file.filename or ""
    said = {"plank": asked.plank, "file": named, "at": asked.at, "by": asked.by}
    await asyncio.to_thread(yard.told)  # nothing is kept in a file that is another
    taken = await yard.aside.run(
        take_picture, yard.job, said | {"notes": asked.note}, body, caller.name, asked.id
    )
    await asyncio.to_thread(yard.told)
    made = taken.revision.number if taken.revision else None
    return PictureOut(revision=made, says=list(taken.drops))


@router.get("/pictures/{key}", response_class=Response, responses=SHOWN)
def picture(yard: TheYard, key: Key) -> Response:
    """Give a picture kept in the job."""
    found = picture_bytes(yard.job, key)
    if found is None:
        return trouble(404, "There is no such picture in this job.")
    kind, body = found
    return Response(body, media_type=TYPES[kind], headers=HEADERS)
