"""Lines: how many connections there may be, and how long one may take to say what it wants.

*Line*: a connection, before anything is known of who is at its other end. Too many of them from one
address, or in all, are refused in words and at once, so that those inside go on; one on which
nothing whole is asked for within some seconds is closed. An address of this machine itself (a
browser here, or a proxy before the server) may have as many as there may be in all.

Not checked here: who asks; see `ribband.web.access`. How many live sockets a caller may have is in
`ribband.web.live`.
"""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress
from ipaddress import ip_address
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

__all__ = ["ASK_SECONDS", "MOST_LINES", "MOST_OF_ADDRESS", "Line", "more_files"]

MOST_LINES = 480
MOST_OF_ADDRESS = 150
ASK_SECONDS = 20.0  # to say what is wanted: the head of a request
FILES = 4096  # that a server may have open: lines, job files, what it reads


class Line(H11Protocol):
    """One connection of a server."""

    late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a connection up, or refuse it."""
        super().connection_made(transport)
        if says := self._too_many():
            transport.write(_refusal(says))
            transport.close()
        else:
            self._wait()

    def _too_many(self) -> str:
        if len(self.connections) > MOST_LINES:
            return f"This server has {MOST_LINES} connections, and takes no more; try again later."
        own = self.client[0] if self.client else ""
        if not _here(own):
            there = (getattr(other, "client", None) for other in self.connections)
            same = sum(client is not None and client[0] == own for client in there)
            if same > MOST_OF_ADDRESS:
                return f"{MOST_OF_ADDRESS} connections come from your address; close some first."
        return ""

    def data_received(self, data: bytes) -> None:
        """Hear a part; once the whole head of a request is there it is waited for no longer."""
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            self._wait()
        else:
            self._heard()

    def connection_lost(self, exc: Exception | None) -> None:
        """Be done with it."""
        self._heard()
        super().connection_lost(exc)

    def _wait(self) -> None:
        if self.late is None:
            self.late = self.loop.call_later(ASK_SECONDS, self._close)

    def _heard(self) -> None:
        if self.late is not None:
            self.late.cancel()
            self.late = None

    def _close(self) -> None:
        if self.conn.their_state is h11.IDLE:
            self.transport.close()


def _here(address: str) -> bool:
    with suppress(ValueError):
        return ip_address(address).is_loopback
    return not address


def _refusal(says: str) -> bytes:
    body = json.dumps({"says": says, "problems": []}).encode()
    head = (
        "HTTP/1.1 503 Service Unavailable\r\ncontent-type: application/json\r\n"
        f"content-length: {len(body)}\r\nretry-after: 5\r\nconnection: close\r\n\r\n"
    )
    return head.encode() + body


def more_files() -> None:
    """Let this process have more files open than the system lets it by default, where it can."""
    with suppress(ImportError, ValueError, OSError):
        import resource  # noqa: PLC0415 - not on every system

        now, most = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted: Any = FILES if most == resource.RLIM_INFINITY else min(FILES, most)
        if now != resource.RLIM_INFINITY and now < wanted:
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, most))
