"""The overview's data, drawings on request, and what can be taken away."""

from __future__ import annotations

import asyncio
import hashlib
from functools import partial
from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from ribband.app.papers.downloads import DrawingAsked, drawing_bytes, made
from ribband.app.screens.overview import Overview, drawing_key, overview
from ribband.app.showing.answers import plain
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api", tags=["overview and papers"])

KINDS = {"svg": "image/svg+xml", "pdf": "application/pdf", "dxf": "image/vnd.dxf"}
TYPES = {".pdf": "application/pdf", ".zip": "application/zip", ".glb": "model/gltf-binary"}
ANY = "application/octet-stream"
ALONE = (
    "default-src 'none'; style-src 'unsafe-inline'; font-src data:; sandbox"  # a drawing by itself
)
NO_FRAME = "frame-ancestors 'none'"  # a browser's own reader needs its scripts
Kind = Literal["svg", "pdf", "dxf"]
Name = Annotated[str, Path(max_length=40, pattern=r"^[a-z_-]+$")]


class PaperIn(BaseModel):
    """The paper of a drawing: A4, A3, letter, 900x600; the scale, fit or 1:20; which sheet."""

    paper: Annotated[str, Field(max_length=20)] = "A3"
    scale: Annotated[str, Field(max_length=20)] = "fit"
    sheet: Annotated[int, Field(ge=1, le=1000)] = 1


def _bytes(*kinds: str) -> dict[int | str, dict[str, Any]]:
    schema = {"schema": {"type": "string", "format": "binary"}}
    return {200: {"content": dict.fromkeys(kinds, schema)}}


@router.get("/overview", response_model=Overview)
def show(yard: TheYard) -> Any:
    """Give the state of the job: figures, findings, last changes, what can be taken away."""
    return JSONResponse(plain(overview(yard.job)))


@router.get("/drawings/{what}.{kind}", response_class=Response, responses=_bytes(*KINDS.values()))
async def drawing(
    request: Request, yard: TheYard, what: Name, kind: Kind, paper: Annotated[PaperIn, Query()]
) -> Response:
    """Draw a drawing from what is kept: every sheet as PDF, or one sheet as SVG or DXF."""
    asked = DrawingAsked(what, kind, paper.paper, paper.scale, paper.sheet)
    key = f"{await asyncio.to_thread(drawing_key, yard.job)} {asked}"
    tag = f'"{hashlib.sha256(key.encode()).hexdigest()[:20]}"'
    headers = {
        "etag": tag, "cache-control": "no-cache",
        "content-security-policy": ALONE if kind == "svg" else NO_FRAME,
        "content-disposition": f"inline; filename={what}.{kind}",
    }  # fmt: skip
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    make = partial(yard.press.run, drawing_bytes, yard.job, asked)
    body = await yard.once(tag, make)
    return Response(body, media_type=KINDS[kind], headers=headers)


@router.get("/downloads/{name}", response_class=Response, responses=_bytes(ANY, *TYPES.values()))
async def download(yard: TheYard, name: Name) -> Response:
    """Make something to take away from what is kept; refused where it would be stale."""
    file, body = await yard.press.run(made, yard.job, name)
    kind = next((kind for ending, kind in TYPES.items() if file.endswith(ending)), ANY)
    plain_name = file.encode("ascii", "replace").decode().replace("?", "_").replace('"', "")
    disposition = f"attachment; filename=\"{plain_name}\"; filename*=UTF-8''{quote(file)}"
    headers = {"content-disposition": disposition, "cache-control": "no-store"}
    return Response(body, media_type=kind, headers=headers)
