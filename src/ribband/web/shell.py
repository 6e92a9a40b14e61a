"""The shell: pages from their templates, static files, fonts, the way in, and the API's own page.

Fonts come from the installed font packages; nothing is fetched from outside. Files are sent with
their hash, so a browser asks again only whether they changed.
"""

from __future__ import annotations

import re
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, FastAPI, Form, HTTPException, Request, WebSocket
from fastapi.staticfiles import StaticFiles
from fastapi.templating import Jinja2Templates
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import FileResponse, RedirectResponse, Response

from ribband import __version__
from ribband.app.screens.job import job_view
from ribband.app.screens.written import grids_of
from ribband.errors import JobFileError
from ribband.sources import MARKS, sources
from ribband.web.access import COOKIE, TOKEN_SECONDS, Caller, Share
from ribband.web.api.job import job_out
from ribband.web.fonts import font_path, packed
from ribband.web.pages import PAGES, STATIC, TEMPLATES, Page, scripts_of
from ribband.web.yard import TheCaller, TheYard, Yard

__all__ = ["hang", "hang_doors", "templates"]

env = Environment(
    loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined,
    trim_blocks=True, lstrip_blocks=True,
)  # fmt: skip
env.globals["by_mark"] = {mark: [own for own in sources() if own.mark == mark] for mark in MARKS}
templates = Jinja2Templates(env=env)
router = APIRouter(include_in_schema=False)


class _Static(StaticFiles):
    """Static files that a browser asks after every time, and gets only when they changed."""

    def file_response(self, *args: Any, **named: Any) -> Response:
        response = super().file_response(*args, **named)
        response.headers["cache-control"] = "no-cache"
        return response


def hang(app: FastAPI) -> None:
    """Hang the pages on the server."""
    for page in PAGES:
        for path in (page.path, f"{page.path}/{{thing}}")[: 2 if page.things else 1]:
            app.add_api_route(path, _shows(page), include_in_schema=False, name=page.name)
    app.include_router(router)
    app.mount("/static", _Static(directory=STATIC), name="static")


def hang_doors(app: FastAPI) -> None:
    """Hang only what any server of ours has: the way in and out, the faces and static files."""
    app.add_api_route("/enter", way_in, methods=["GET"], include_in_schema=False)
    app.add_api_route("/enter", enter, methods=["POST"], include_in_schema=False)
    app.add_api_route("/leave", leave, methods=["POST"], include_in_schema=False)
    app.add_api_route("/fonts/{name}", font, methods=["GET"], include_in_schema=False)
    app.add_api_route("/favicon.ico", icon, methods=["GET"], include_in_schema=False)
    app.add_api_route("/healthy", healthy, methods=["GET"], include_in_schema=False)
    app.mount("/static", _Static(directory=STATIC), name="static")


def _shows(page: Page) -> Any:
    def show(request: Request, yard: TheYard, caller: TheCaller) -> Response:
        return _rendered(request, page.template, yard, page=page, caller=caller)

    return show


def _rendered(request: Request, template: str, yard: Yard, page: Page, caller: Caller) -> Response:
    view = {
        "job": (job := _job_or_none(yard)), "pages": PAGES, "shared": yard.share is not None,
        "version": __version__, "front": _front(request, yard.front), "page": page,
        "caller": caller, "scripts": scripts_of(page.name), "grids": grids_of(page.name),
        "first": None if job is None else job_out(job, yard, caller),
    }  # fmt: skip
    response = templates.TemplateResponse(request, template, view)
    response.headers["cache-control"] = "no-store"
    return response


def _front(request: Request, port: int) -> str:
    """Give the address of the yard's own page, or nothing where this job is served alone."""
    host = request.url.hostname or ""
    host = f"[{host}]" if ":" in host else host
    return f"{request.url.scheme}://{host}:{port}/" if port else ""


def _job_or_none(yard: Yard) -> Any:
    try:
        return job_view(yard.job)
    except JobFileError:
        return None  # the page says so when its script asks


@router.get("/fonts/{name}")
def font(request: Request, name: str) -> Response:
    """Give one of our faces."""
    path = font_path(name)
    if path is None:
        raise HTTPException(404, "There is no such face.")
    kind = "font/woff" if path.suffix == ".woff" else "font/ttf"
    keep = {"cache-control": "public, max-age=31536000, immutable", "vary": "accept-encoding"}
    if "gzip" not in request.headers.get("accept-encoding", ""):
        return FileResponse(path, media_type=kind, headers=keep)
    return Response(packed(path), media_type=kind, headers=keep | {"content-encoding": "gzip"})


@router.get("/favicon.ico")
def icon() -> Response:
    """Give the mark for the browser's tab."""
    return FileResponse(STATIC / "mark.svg", media_type="image/svg+xml")


@router.get("/healthy")
def healthy() -> dict[str, str]:
    """Say that the server is there."""
    return {"says": "here"}


@router.get("/api")
def api_page(request: Request, yard: TheYard, caller: TheCaller) -> Response:
    """Show the API, made from its own description."""
    page = Page("api", "API", "everything the pages do, for programs")
    return _rendered(request, "api.html", yard, page=page, caller=caller)


@router.get("/sources")
def sources_page(request: Request, yard: TheYard, caller: TheCaller) -> Response:
    """Show the bibliography, with how far each work was read."""
    page = Page("sources", "Sources", "where every rule and figure comes from")
    return _rendered(request, "sources.html", yard, page=page, caller=caller)


@router.get("/enter")
def way_in(request: Request, yard: TheYard, once: str = "", to: str = "/") -> Response:
    """Ask for the code, or let in the browser that was opened on this machine."""
    if yard.share is None:
        return RedirectResponse("/", 303)
    if once and (token := yard.share.enter_once(once, "")):
        return _let_in(token, request)
    return _asks(request, "", to=to)


@router.post("/enter")
def enter(
    request: Request,
    yard: TheYard,
    code: Annotated[str, Form(max_length=60)],
    name: Annotated[str, Form(max_length=60)] = "",
    to: Annotated[str, Form(max_length=200)] = "/",
) -> Response:
    """Let in by a code, to the page that was asked for."""
    if yard.share is None:
        return RedirectResponse("/", 303)
    try:
        token = _token(yard.share, code, name, request)
    except PermissionError as wrong:
        return _asks(request, str(wrong), 429, to=to, name=name)
    if token is None:
        return _asks(request, "That is not one of the codes.", 401, to=to, name=name)
    return _let_in(token, request, to)


@router.post("/leave")
def leave(request: Request, yard: TheYard) -> Response:
    """Forget the token of this browser."""
    if yard.share is not None:
        yard.share.leave(request.cookies.get(COOKIE, ""))
    response = RedirectResponse("/enter", 303)
    response.delete_cookie(COOKIE)
    return response


@router.websocket("/live")
async def live(socket: WebSocket, yard: TheYard, caller: TheCaller) -> None:
    """Tell one browser of every change."""
    hello = {
        "revision": yard.revision, "work": asdict(yard.work.state), "job": yard.key,
        "file": yard.file_says,
    }  # fmt: skip
    whose = socket.scope.get("ribband.whose", "")
    await yard.live.serve(socket, caller.name, hello, signs=yard.share is None, whose=whose)


def _token(share: Share, code: str, name: str, request: Request) -> str | None:
    address = request.client.host if request.client else ""
    return share.enter(code, name, address)


PAGE = re.compile(r"/(?:[\w.-]+(?:/[\w.-]+)*)?", re.ASCII)


def _let_in(token: str, request: Request, to: str = "/") -> Response:
    response = RedirectResponse(to if PAGE.fullmatch(to) else "/", 303)  # never to another host
    by_https = request.headers.get("origin", "").lower().startswith("https://")
    response.set_cookie(
        COOKIE, token, max_age=int(TOKEN_SECONDS), httponly=True, samesite="strict", path="/",
        secure=by_https,
    )  # fmt: skip
    response.headers["cache-control"] = "no-store"
    return response


def _asks(
    request: Request, says: str, status: int = 200, *, to: str = "/", name: str = ""
) -> Response:
    view = {
        "says": says, "version": __version__, "name": name,
        "to": to if PAGE.fullmatch(to) else "/",
    }  # fmt: skip
    return templates.TemplateResponse(request, "enter.html", view, status_code=status)
