"""Berths: where each job of a yard is served, one port a job.

Every job has a server of its own in this one process, all on one loop, behind the same codes: a
cookie is of a machine and not of a port, so whoever came in by one door is in at all of them. A
job's port is found from its name, so that it is the same after a restart where it is free.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import uvicorn

from ribband.app.screens.yard import job_in, jobs_of
from ribband.errors import InputError, Problem, RibbandError
from ribband.web.access import Share
from ribband.web.server import create_app
from ribband.web.serving import PortTaken, config, listening

__all__ = ["MOST_OPEN", "SPREAD", "Berths"]

MOST_OPEN = 60  # jobs served at once
SPREAD = 200  # ports after the yard's own that its jobs lie on
WAIT_SECONDS = 10.0


class _Server(uvicorn.Server):
    """A server that leaves signals to the yard's own."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


@dataclass
class Berth:
    """A job that is served."""

    port: int
    server: _Server
    task: asyncio.Task[None]


@dataclass
class Berths:
    """The jobs of a folder that are served, by name."""

    folder: Path
    share: Share | None = None
    hosts: set[str] = field(default_factory=set)
    host: str = "127.0.0.1"
    port: int = 0  # of the yard's own page; 0: jobs take any
    by_itself: bool = True
    open: dict[str, Berth] = field(default_factory=dict)
    turn: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def port_of(self, name: str) -> int | None:
        """Give the port a job is served on, serving it first; None where there is no such job.

        Raises
        ------
        JobFileError : the job cannot be opened
        InputError : as many are open as may be, or there is no port
        """
        async with self.turn:
            path = job_in(self.folder, name)
            if path is None:
                await self._leave(name)
                return None
            berth = self.open.get(name)
            if berth is None or berth.task.done():
                berth = self.open[name] = await self._served(name, path)
            return berth.port

    async def open_all(self) -> None:
        """Serve every job there is, so that browsers left open find theirs again."""
        for name in list(jobs_of(self.folder))[:MOST_OPEN]:
            with contextlib.suppress(RibbandError):
                await self.port_of(name)

    async def close(self) -> None:
        """End all of them in good order."""
        for berth in self.open.values():
            berth.server.should_exit = True
        tasks = [berth.task for berth in self.open.values()]
        await asyncio.gather(*tasks, return_exceptions=True)
        self.open.clear()

    async def _leave(self, name: str) -> None:
        berth = self.open.pop(name, None)
        if berth is not None:
            berth.server.should_exit = True
            await asyncio.gather(berth.task, return_exceptions=True)

    async def _served(self, name: str, path: Path) -> Berth:
        if len(self.open) >= MOST_OPEN and name not in self.open:
            wanted = f"at most {MOST_OPEN} at once; serve fewer from a folder"
            raise InputError([Problem("yard", 0, "", f"{len(self.open)} jobs open", wanted)])
        app = await asyncio.to_thread(
            create_app, path, self.share, hosts=self.hosts, by_itself=self.by_itself
        )
        app.state.yard.front = self.port
        own = self._listening(name)
        server = _Server(config(app))
        task = asyncio.create_task(self._run(server, own))
        await self._answers(server, task)
        return Berth(own.getsockname()[1], server, task)

    async def _run(self, server: _Server, own: socket.socket) -> None:
        with contextlib.closing(own):
            await server.serve(sockets=[own])

    async def _answers(self, server: _Server, task: asyncio.Task[None]) -> None:
        ends = asyncio.get_running_loop().time() + WAIT_SECONDS
        while not server.started and not task.done():
            await asyncio.sleep(0.01)
            if asyncio.get_running_loop().time() > ends:
                break

    def _listening(self, name: str) -> socket.socket:
        """Take the port the name comes to, or the next that is free."""
        if not self.port:
            return listening(self.host, 0)
        first = zlib.crc32(name.encode()) % SPREAD
        for n in range(SPREAD):
            with contextlib.suppress(PortTaken):
                return listening(self.host, self.port + 1 + (first + n) % SPREAD)
        return listening(self.host, 0)
