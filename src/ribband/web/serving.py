"""Serving a job: a free port, the address and codes in words, and a good end.

Alone it listens on 127.0.0.1; shared, on every address of this machine, with codes.
"""

from __future__ import annotations

import errno
import socket
import threading
import webbrowser
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from ribband.errors import RibbandError
from ribband.web.access import Share
from ribband.web.lines import Line, more_files
from ribband.web.names import from_the_yard, names_of_this_machine
from ribband.web.server import create_app

__all__ = ["PortTaken", "Served", "config", "listening", "open_when", "serve", "told"]

FIRST_PORT = 7311
TRIED_PORTS = 20


@dataclass(frozen=True, slots=True)
class Served:
    """Where a job is served: the address to open here, those for others, and the codes."""

    address: str
    opens: str
    others: tuple[str, ...]
    codes: dict[str, str]
    jobs: tuple[str, ...] = ()  # of a yard, by name


def serve(
    job: Path,
    *,
    port: int | None = None,
    shared: bool = False,
    opened: bool = True,
    by_itself: bool = True,
    tell: Callable[[Served], None],
) -> None:
    """Serve a job until it is ended with Ctrl+C.

    `port` 0 is any free one, None the first free from 7311; `tell` is called once it listens.

    Raises
    ------
    JobFileError : the job cannot be opened
    PortTaken : the port is taken
    """
    share = Share() if shared else None
    names = names_of_this_machine() if shared else set()
    with closing(listening("0.0.0.0" if shared else "127.0.0.1", port)) as own:  # noqa: S104 - asked for
        app = create_app(job, share, hosts=names, by_itself=by_itself)
        server = uvicorn.Server(config(app))
        served = told(own.getsockname()[1], share, names)
        tell(served)
        if opened:
            threading.Thread(target=open_when, args=(server, served.opens), daemon=True).start()
        server.run(sockets=[own])


def config(app: object) -> uvicorn.Config:
    """Set the server up; what goes wrong in a request is told by `troubles`, not twice."""
    more_files()
    return uvicorn.Config(
        app,  # type: ignore[arg-type]
        http=Line, ws="websockets-sansio", log_level="critical", access_log=False,
        server_header=False, date_header=True, proxy_headers=False,
        timeout_graceful_shutdown=2, ws_max_size=65_536, limit_concurrency=500,
        ws_per_message_deflate=False,  # messages are small, and each browser's would be packed anew
    )  # fmt: skip


def listening(host: str, port: int | None) -> socket.socket:
    """Listen on a port; 0 is any, None the first free from 7311.

    Raises
    ------
    PortTaken : the port is taken
    """
    why = errno.EADDRINUSE
    wanted = range(FIRST_PORT, FIRST_PORT + TRIED_PORTS) if port is None else (port,)
    for one in (*wanted, *((0,) if port is None else ())):
        # with its protocol named, or no connection is told not to wait for the other side's word
        # between the head of an answer and its body, which may be 40 ms away
        own = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        own.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            own.bind((host, one))
        except OSError as wrong:
            own.close()
            why = wrong.errno or why
            if why not in {errno.EADDRINUSE, errno.EACCES}:
                raise
            continue
        own.listen(128)
        own.set_inheritable(False)
        return own
    raise PortTaken(port or 0, why)


class PortTaken(RibbandError):  # noqa: N818 - it names what happened
    """A port that cannot be listened on: no fault of any form.

    >>> print(PortTaken(7462, errno.EADDRINUSE))
    Port 7462 is in use by another program: choose another with --port, or leave --port out.
    """

    def __init__(self, port: int, why: int) -> None:
        """Say which port, and `why` by the number of the system's error."""
        says = _NOT_YOURS if why == errno.EACCES else _IN_USE
        super().__init__(f"Port {port} {says}: choose another with --port, or leave --port out.")


_NOT_YOURS = "is kept for the system"
_IN_USE = "is in use by another program"


def told(port: int, share: Share | None, names: set[str]) -> Served:
    """Say where a port is reached from here and from the yard, and by which codes."""
    address = f"http://127.0.0.1:{port}/"
    if share is None:
        return Served(address, address, (), {})
    others = tuple(f"http://{name}:{port}/" for name in from_the_yard(names))
    codes = {str(role): code for role, code in share.codes.items()}
    return Served(address, f"{address}enter?once={share.once}", others, codes)


def open_when(server: uvicorn.Server, address: str) -> None:
    """Open the browser once the server answers."""
    waiting = threading.Event()
    for _ in range(200):
        if server.started:
            webbrowser.open(address)
            return
        waiting.wait(0.05)
