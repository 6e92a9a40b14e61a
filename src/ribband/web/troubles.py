"""What goes wrong, as the API says it: a status, words, and the cells to be mended.

Every error has the one shape `Trouble`; a clash has its own. No traceback reaches a browser. An
address that is nowhere, typed into a browser, is answered with a page.
"""

from __future__ import annotations

import logging
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from ribband.app.showing.answers import plain
from ribband.errors import Ambiguous, InputError, JobFileError, NotConverged, Problem
from ribband.web.shell import templates

__all__ = ["SAID", "Trouble", "hang", "trouble"]

log = logging.getLogger("ribband.web")


class Trouble(BaseModel):
    """What went wrong, in words."""

    says: str
    problems: list[Problem] = Field(default_factory=list)


SAID: dict[int | str, dict[str, Any]] = {
    400: {"model": Trouble, "description": "What was sent cannot be read at all."},
    401: {"model": Trouble, "description": "The access code is wanted first."},
    403: {"model": Trouble, "description": "Not from here, or not with this code."},
    413: {"model": Trouble, "description": "Too large."},
    421: {"model": Trouble, "description": "The server is not known by that name."},
    422: {"model": Trouble, "description": "What was sent cannot be used; says which cells."},
    503: {"model": Trouble, "description": "The job file cannot be read or written just now."},
}


def trouble(status: int, says: str, problems: Any = ()) -> JSONResponse:
    """Answer with a trouble."""
    return JSONResponse({"says": says, "problems": plain(tuple(problems))}, status)


def hang(app: FastAPI) -> None:
    """Turn every error into a trouble."""
    app.add_exception_handler(InputError, _input)
    app.add_exception_handler(JobFileError, _job_file)
    app.add_exception_handler(NotConverged, _said)
    app.add_exception_handler(Ambiguous, _said)
    app.add_exception_handler(RequestValidationError, _request)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, _ours)


async def _input(_: Request, error: Exception) -> JSONResponse:
    problems = error.problems if isinstance(error, InputError) else ()
    return trouble(422, "That cannot be used; nothing was changed.", problems)


async def _job_file(_: Request, error: Exception) -> JSONResponse:
    return trouble(503, str(error))


async def _said(_: Request, error: Exception) -> JSONResponse:
    return trouble(422, str(error))


async def _request(_: Request, error: Exception) -> JSONResponse:
    errors = error.errors() if isinstance(error, RequestValidationError) else []
    problems = [
        {"file": "request", "row": 0, "column": ".".join(map(str, one["loc"])),
         "found": repr(one.get("input"))[:60], "wanted": one["msg"], "example": ""}
        for one in errors
    ]  # fmt: skip
    return trouble(422, "That is not what is wanted here.", problems)


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 - it is hung on that class
    if error.status_code == HTTPStatus.NOT_FOUND and _looked_at(request):
        return templates.TemplateResponse(request, "nowhere.html", status_code=error.status_code)
    answer = trouble(error.status_code, str(error.detail))
    answer.headers.update(error.headers or {})
    return answer


def _looked_at(request: Request) -> bool:
    """Tell whether a hand typed this address into a browser."""
    wants = request.headers.get("accept", "")
    return "text/html" in wants and not request.url.path.startswith("/api/")


async def _ours(request: Request, error: Exception) -> JSONResponse:
    log.exception("in %s %s", request.method, request.url.path, exc_info=error)
    return trouble(500, "Something went wrong in Ribband itself; nothing in the job was lost.")
