"""The server: one job to browsers, as pages, a documented API and a socket.

`create_app` joins what the other modules hold; nothing is decided here. Heavy libraries are never
loaded in this process: solvers run in `work` and `aside`, and pages read what is kept.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Iterable
from pathlib import Path

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware

from ribband import __version__
from ribband.app.entering.jobs import history, job_path
from ribband.app.screens.overview import overview
from ribband.errors import RibbandError
from ribband.web import api, shell, troubles
from ribband.web.access import Access, Share
from ribband.web.live import Live
from ribband.web.names import from_the_yard
from ribband.web.work import Work
from ribband.web.yard import Yard

__all__ = ["create_app"]

ABOUT = """Everything the pages do, for programs. Lengths are text in the job's unit and, in fields
that end in `_mm`, millimetres. Every change has an id its sender makes up: the same id twice does
nothing twice."""


def create_app(
    job: Path, share: Share | None = None, *, hosts: Iterable[str] = (), by_itself: bool = True
) -> FastAPI:
    """Make the server for one job file.

    `share` opens it by codes; `hosts` are further names it is known by; `by_itself` brings the
    plan up to date after every change.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    job = job_path(job).resolve()
    past = history(job)
    live = Live()
    yard = Yard(
        job, share, live, Work(job, live, by_itself=by_itself),
        revision=past[-1].number if past else 0, known_as=from_the_yard(hosts),
    )  # fmt: skip
    app = FastAPI(
        title="Ribband", version=__version__, description=ABOUT, lifespan=_life,
        docs_url=None, redoc_url=None,
    )  # fmt: skip
    app.state.yard = yard
    troubles.hang(app)
    for router in api.routers():
        app.include_router(router, responses=troubles.SAID)
    shell.hang(app)
    app.add_middleware(GZipMiddleware, minimum_size=1500, compresslevel=4)
    known = {"127.0.0.1", "localhost", "::1", *hosts}
    app.add_middleware(Access, hosts=known, share=share)
    return app


@contextlib.asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    yard: Yard = app.state.yard
    yard.live.loop = asyncio.get_running_loop()
    tasks = [asyncio.create_task(yard.watch()), asyncio.create_task(asyncio.to_thread(_warm, yard))]
    try:
        yield
    finally:
        for task in tasks:
            task.cancel()
        await yard.work.close()
        yard.file.close()
        yard.aside.close()
        yard.press.close()


def _warm(yard: Yard) -> None:
    """Read what is kept once, so that the first page does not wait for it."""
    with contextlib.suppress(RibbandError):
        overview(yard.job)
