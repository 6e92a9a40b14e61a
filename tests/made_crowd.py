r"""A crowd at one shared job: what is let in, what is refused in words, and whether it stands.

    python tests/made_crowd.py FOLDER

serves a job with codes in FOLDER and comes to it as a crowd: 200 tabs of one browser, 200 callers
with a socket each, 400 connections on which nothing is asked for, 200 wrong codes. All that while
somebody inside changes the job, and the server's memory is looked at. Not run by the tests: it
takes a minute.
"""

from __future__ import annotations

import asyncio
import json
import sys
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path
from typing import Any

import httpx
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidStatus

from made_load import resident
from made_server import Here, blank_job, served

CROWD = 200
IDLE = 400


def came_in(here: Here, code: str) -> str:
    with here.client(follow_redirects=False) as client:
        answer = client.post("/enter", data={"code": code, "name": "Bo"})
        return str(answer.cookies["ribband"])


async def sockets(here: Here, tokens: list[str]) -> tuple[list[ClientConnection], Counter[str]]:
    """Open a socket for each token; count what each was told."""
    told: Counter[str] = Counter()
    opened: list[ClientConnection] = []

    async def one(token: str) -> None:
        try:
            socket = await connect(
                here.address.replace("http", "ws") + "live",
                additional_headers={"cookie": f"ribband={token}"}, open_timeout=30,
            )  # fmt: skip
            kind = json.loads(await socket.recv())["kind"]
        except ConnectionClosed as closed:
            told[f"{closed.code} {closed.reason}"] += 1
        except (InvalidStatus, OSError, TimeoutError) as wrong:
            told[type(wrong).__name__] += 1
        else:
            told[kind] += 1
            opened.append(socket)

    await asyncio.gather(*(one(token) for token in tokens))
    return opened, told


async def idle(here: Here, many: int) -> tuple[list[Any], Counter[str]]:
    """Open connections and say nothing; count those that were told something at once."""
    told: Counter[str] = Counter()
    lines = []
    for _ in range(many):
        with suppress(OSError):
            reader, writer = await asyncio.open_connection("127.0.0.1", here.port)
            lines.append((reader, writer))
    await asyncio.sleep(1.0)
    for reader, _ in lines:
        try:
            said = await asyncio.wait_for(reader.read(400), 0.01)
            told[said.decode().rpartition("\r\n")[2] or "closed"] += 1
        except TimeoutError:
            told["waits"] += 1
        except OSError as wrong:
            told[type(wrong).__name__] += 1
    return lines, told


class Inside:
    """Somebody inside, who changes the job all the time."""

    def __init__(self, here: Here, token: str) -> None:
        self.here, self.token = here, token
        self.took: list[float] = []
        self.refused: Counter[int | str] = Counter()

    async def works(self) -> None:
        cookies = {"ribband": self.token}
        async with httpx.AsyncClient(base_url=self.here.address, cookies=cookies) as client:
            for n in range(10_000):
                edit = {"form": "stock", "was": None, "now": [f"{n}ft", "1"], "at": 0}
                body = {"id": f"n{n}", "why": "", "upon": 0, "edits": [edit]}
                began = time.perf_counter()
                try:
                    answer = await client.post("/api/changes", json=body, timeout=30)
                    if answer.status_code == 200:
                        self.took.append(time.perf_counter() - began)
                    else:
                        self.refused[answer.status_code] += 1
                except httpx.HTTPError as wrong:
                    self.refused[type(wrong).__name__] += 1
                await asyncio.sleep(0.1)

    def said(self) -> str:
        took, self.took = sorted(self.took), []
        slow = 1000 * took[int(0.95 * len(took))] if took else 0.0
        refused, self.refused = dict(self.refused), Counter()
        return f"{len(took)} changes inside, 95 of 100 within {slow:.0f} ms, refused {refused}"


async def crowd(here: Here) -> None:
    inside = Inside(here, came_in(here, here.codes["lead"]))
    work = asyncio.create_task(inside.works())
    await asyncio.sleep(3.0)

    def say(what: str, told: Counter[str]) -> None:
        memory = resident(here.process.pid)
        print(f"{what}: {dict(told)}; {inside.said()}; server {memory:.0f} MB", flush=True)

    say("nobody else", Counter())
    token = came_in(here, here.codes["look"])
    opened, told = await sockets(here, [token] * CROWD)
    say(f"{CROWD} tabs of one browser", told)
    for socket in opened:
        await socket.close()
    tokens = [came_in(here, here.codes["look"]) for _ in range(CROWD)]
    opened, told = await sockets(here, tokens)
    await asyncio.sleep(5.0)
    say(f"{CROWD} callers, a socket each", told)
    more, told = await sockets(here, tokens)
    say("and each once more", told)
    lines, told = await idle(here, IDLE)
    await asyncio.sleep(3.0)
    say(f"{IDLE} connections that say nothing besides", told)
    await asyncio.sleep(22.0)
    gone = Counter(["closed" if await ended(reader) else "still there" for reader, _ in lines])
    say("25 s later", gone)
    for socket in [*opened, *more]:
        await socket.close()
    for _, writer in lines:
        writer.close()
    codes = Counter(str(status(here)) for _ in range(CROWD))
    await asyncio.sleep(3.0)
    say(f"{CROWD} wrong codes", codes)
    work.cancel()


async def ended(reader: asyncio.StreamReader) -> bool:
    try:
        return not await asyncio.wait_for(reader.read(1), 0.01)
    except TimeoutError:
        return False
    except OSError:
        return True


def status(here: Here) -> int:
    with here.client(follow_redirects=False) as client:
        return client.post("/enter", data={"code": "no", "name": "Cy"}).status_code


def main() -> None:
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with served(blank_job(folder), "--share") as here:
        asyncio.run(crowd(here))
        with here.client() as client:
            print("and at the end it says:", client.get("/healthy").json())


if __name__ == "__main__":
    main()
