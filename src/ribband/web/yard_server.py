"""The yard's own page: its jobs with their state, each a link to where it is served.

Serves a folder of job files. The page is behind the same `Access` as the jobs, with the same
codes. A job's own address may change with its port; ``/job/NAME`` here always leads to it.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, cast
from urllib.parse import quote

import uvicorn
from fastapi import Depends, FastAPI, Form, Request
from fastapi.requests import HTTPConnection
from pydantic import BaseModel
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import RedirectResponse, Response

from ribband import __version__
from ribband.app.screens.yard import jobs_of, new_in, yard_view
from ribband.errors import InputError, JobFileError, RibbandError
from ribband.web import shell, troubles
from ribband.web.access import Access, Share
from ribband.web.berths import Berths
from ribband.web.names import names_of_this_machine
from ribband.web.serving import Served, config, listening, open_when, told
from ribband.web.yard import TheCaller

__all__ = ["create_yard_app", "serve_yard"]


class YardJobOut(BaseModel):
    """A job of the yard at a glance; `address` leads to it."""

    name: str
    vessel: str
    yard: str
    revision: int
    at: str
    who: str
    state: str
    stale: int
    faults: int
    cautions: int
    next: str
    trouble: str
    address: str


@dataclass
class Front:
    """What the yard's page has in hand."""

    folder: Path
    share: Share | None
    berths: Berths


def _front(connection: HTTPConnection) -> Front:
    return cast("Front", connection.app.state.yard)


TheFront = Annotated[Front, Depends(_front)]


def create_yard_app(
    folder: Path, share: Share | None = None, *, hosts: set[str] | None = None,
    berths: Berths | None = None,
) -> FastAPI:  # fmt: skip
    """Make the server of a yard's page.

    Raises
    ------
    JobFileError : the folder cannot be read
    """
    folder = folder.resolve()
    jobs_of(folder)
    names = hosts or set()
    app = FastAPI(
        title="Ribband, a yard", version=__version__, lifespan=_life, docs_url=None, redoc_url=None
    )
    app.state.yard = Front(folder, share, berths or Berths(folder, share, names))
    troubles.hang(app)
    _hang(app)
    app.add_middleware(GZipMiddleware, minimum_size=1500, compresslevel=4)
    app.add_middleware(Access, hosts={"127.0.0.1", "localhost", "::1", *names}, share=share)
    return app


def _hang(app: FastAPI) -> None:
    app.add_api_route("/", page, methods=["GET"], include_in_schema=False)
    app.add_api_route("/new", begin, methods=["POST"], include_in_schema=False)
    app.add_api_route("/job/{name}", to_job, methods=["GET"], include_in_schema=False)
    app.add_api_route(
        "/api/yard", jobs, methods=["GET"], response_model=list[YardJobOut], tags=["yard"],
        responses=troubles.SAID,
    )  # fmt: skip
    shell.hang_doors(app)


@contextlib.asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    front: Front = app.state.yard
    opening = asyncio.create_task(front.berths.open_all())
    try:
        yield
    finally:
        opening.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await opening
        await front.berths.close()


def page(request: Request, front: TheFront, caller: TheCaller) -> Response:
    """Show the jobs."""
    return _page(request, front, caller)


def _page(
    request: Request, front: Front, caller: Any, says: tuple[int, str] = (200, ""), name: str = ""
) -> Response:
    """Show the jobs; `says` is a status and what went wrong."""
    view = {
        "jobs": yard_view(front.folder), "folder": front.folder.name, "says": says[1], "name": name,
        "caller": caller, "shared": front.share is not None, "version": __version__,
    }  # fmt: skip
    answer = shell.templates.TemplateResponse(request, "yard.html", view, status_code=says[0])
    answer.headers["cache-control"] = "no-store"
    return answer


def jobs(request: Request, front: TheFront) -> list[YardJobOut]:
    """List the jobs of the yard."""
    return [
        YardJobOut(
            **{key: getattr(own, key) for key in YardJobOut.model_fields if key != "address"},
            address="" if own.trouble else f"/job/{quote(own.name, safe='')}",
        )
        for own in yard_view(front.folder)
    ]


async def to_job(request: Request, front: TheFront, caller: TheCaller, name: str) -> Response:
    """Lead to where a job is served."""
    try:
        port = await front.berths.port_of(name)
    except RibbandError as wrong:
        says = (503, str(wrong).replace(f"{front.folder}{os.sep}", ""))
        return await asyncio.to_thread(_page, request, front, caller, says)
    if port is None:
        says = (404, "There is no such job in this folder.")
        return await asyncio.to_thread(_page, request, front, caller, says)
    host = request.url.hostname or "127.0.0.1"
    host = f"[{host}]" if ":" in host else host
    return RedirectResponse(f"{request.url.scheme}://{host}:{port}/", 303)


def begin(
    request: Request, front: TheFront, caller: TheCaller,
    name: Annotated[str, Form(max_length=200)] = "",
) -> Response:  # fmt: skip
    """Begin a job with nothing entered yet; it is then in the list.

    It does not lead to the job at once: browsers let no form lead to another port.
    """
    try:
        new_in(front.folder, name, caller.name)
    except InputError as wrong:
        says = (422, f"Wanted for a name: {wrong.problems[0].wanted}.")
        return _page(request, front, caller, says, name)
    except JobFileError as wrong:
        return _page(request, front, caller, (409, str(wrong)), name)
    return RedirectResponse("/", 303)


def serve_yard(
    folder: Path, *, port: int | None = None, shared: bool = False, opened: bool = True,
    by_itself: bool = True, tell: Callable[[Served], None],
) -> None:  # fmt: skip
    """Serve every job of a folder until it is ended with Ctrl+C.

    Raises
    ------
    JobFileError : the folder cannot be read
    InputError : the port is taken
    """
    share = Share() if shared else None
    names = names_of_this_machine() if shared else set()
    host = "0.0.0.0" if shared else "127.0.0.1"  # noqa: S104 - asked for
    berths = Berths(folder.resolve(), share, names, host, by_itself=by_itself)
    app = create_yard_app(folder, share, hosts=names, berths=berths)
    with closing(listening(host, port)) as own:
        served = told(own.getsockname()[1], share, names)
        berths.port = own.getsockname()[1]
        server = uvicorn.Server(config(app))
        tell(replace(served, jobs=tuple(jobs_of(folder))))
        if opened:
            threading.Thread(target=open_when, args=(server, served.opens), daemon=True).start()
        server.run(sockets=[own])
