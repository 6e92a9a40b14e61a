"""Load: many browsers at one job for minutes, every change accounted for at the end.

Each *hand* is a browser as far as the server can tell: a socket that hears of every revision, a
copy of the forms kept in step by what is heard, a look at the whole job every so often, and changes
sent one at a time, each measured from the moment it was due. Some cells are its own, some it
shares with all others; where two want one cell it asks for the newest and puts its own there, or
leaves theirs, by turns.

At the end every change that was acknowledged is looked up in the file by its mark, all of them
are put together again in the order of their revisions and compared with what the file holds, and
so is every hand's own copy. The server is a process of its own; the hands are in this one.

    found = under(job, Load(hands=20, rate=50.0, seconds=600.0))
"""

from __future__ import annotations

import asyncio
import json
import random
import sqlite3
import time
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import numpy as np
from websockets.asyncio.client import connect

from made_server import Here, served
from ribband.store import JobFile

__all__ = ["FORM", "Found", "Load", "Slow", "lost_of", "put_on", "under"]

SHARED = 0.1  # of the changes are to a cell that everybody changes
SETTLE_SECONDS = 15.0  # for what is still on its way at the end
LOOK_SECONDS = 1.5
FORM = "frames"
Rows = list[tuple[str, ...]]
Edits = list[dict[str, Any]]
Told = tuple[str, int, Edits, Edits]  # mark, revision, edits as they fell out and as asked for


@dataclass(frozen=True, slots=True)
class Load:
    """How many hands, changes a second between them, and for how long."""

    hands: int = 20
    rate: float = 50.0
    seconds: float = 600.0
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Found:
    """What came of it.

    acknowledged : changes answered as done; lost : of those, what the file does not hold
    unlike : hands whose copy of the form is not the file's at the end
    told_ms : from due to acknowledged; heard_ms : from due to heard by each other hand
    memory_mb : of the server's process at the start, in the middle and at the end
    """

    acknowledged: int
    clashes: int
    refused: int
    lost: int
    unlike: int
    gaps: int
    told_ms: tuple[float, ...]
    heard_ms: tuple[float, ...]
    memory_mb: tuple[float, float, float]
    file_mb: tuple[float, float]

    def told(self, percent: float) -> float:
        """Give the ms within which so many of a hundred changes were acknowledged."""
        return float(np.percentile(self.told_ms, percent))

    def heard(self, percent: float) -> float:
        """Give the ms within which so many of a hundred were heard by another hand."""
        return float(np.percentile(self.heard_ms, percent))


def under(job: Path, load: Load, *more: Slow) -> Found:
    """Serve `job` and load it; `more` are readers that are slow."""
    with served(job, "--by-itself") as here:
        return asyncio.run(_loaded(here, load, more))


# ---- one hand


def put_on(rows: Rows, edits: Edits) -> None:
    """Put the edits of a patch on a copy of its form, in place.

    >>> rows = [("a", "1"), ("b", "2")]
    >>> put_on(rows, [{"was": ["b", "2"], "now": ["b", "3"], "at": 1}])
    >>> rows[1]
    ('b', '3')
    """
    for edit in edits:
        at, was, now = edit["at"], edit["was"], edit["now"]
        if was is None:
            rows.insert(at, tuple(now))
        elif rows[at] != tuple(was):
            raise ValueError(f"row {at} of this copy is not as the patch saw it")
        elif now is None:
            del rows[at]
        else:
            rows[at] = tuple(now)


@dataclass
class Hand:
    """One browser: its copy of the form, what it asked for and what it heard."""

    number: int
    http: httpx.AsyncClient
    load: Load
    due: dict[str, float]  # of every hand's changes, by mark: the moment it was due
    header: list[str] = field(default_factory=list)
    rows: Rows = field(default_factory=list)
    revision: int = 0
    told: list[Told] = field(default_factory=list)
    told_ms: list[float] = field(default_factory=list)
    heard_ms: list[float] = field(default_factory=list)
    clashes: int = 0
    refused: int = 0
    gaps: int = 0
    looks: int = 0
    fetching: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def fetch(self) -> None:
        """Fetch the form whole."""
        async with self.fetching:
            form = (await self.http.get(f"/api/forms/{FORM}")).json()
            if form["revision"] >= self.revision:
                self.header = form["header"]
                self.rows = [tuple(row) for row in form["rows"]]
                self.revision = form["revision"]

    async def listen(self, address: str, ready: asyncio.Event) -> None:
        """Hear of every revision, and keep the copy in step."""
        async with connect(address, compression=None, max_queue=None, close_timeout=1) as socket:
            async for text in socket:
                said = json.loads(text)
                if said["kind"] == "hello":
                    await self.fetch()
                    ready.set()
                elif said["kind"] == "patch":
                    await self.heard(said)

    async def heard(self, patch: dict[str, Any]) -> None:
        """Take a patch in from the socket, where revisions come in their order."""
        due = self.due.get(patch["id"])
        if due is not None and not patch["id"].startswith(f"h{self.number}-"):
            self.heard_ms.append(1000 * (time.perf_counter() - due))
        if patch["revision"] <= self.revision:
            return
        if patch["upon"] > self.revision or not patch["edits"]:
            self.gaps += 1
            await self.fetch()
            return
        put_on(self.rows, [e for e in patch["edits"] if e["form"] == FORM])
        self.revision = patch["revision"]

    async def look(self) -> None:
        """Look at the job again as every page does while others change it."""
        seen = self.revision
        while True:
            await asyncio.sleep(LOOK_SECONDS)
            if self.revision > seen:
                seen = self.revision
                with suppress(httpx.TransportError):
                    answer = await self.http.get("/api/job")
                    self.looks += answer.status_code == 200

    async def work(self, start: float) -> None:
        """Change cells at this hand's part of the rate until the time is up."""
        chance = random.Random(1000 * self.load.seed + self.number)
        every = self.load.hands / self.load.rate
        at = start + chance.random() * every
        n = 0
        while at < start + self.load.seconds:
            await asyncio.sleep(max(0.0, at - time.perf_counter()))
            await self.change(f"h{self.number}-{n}", at, chance)
            n += 1
            at += every

    async def change(self, mark: str, at: float, chance: random.Random) -> None:
        """Change one cell: mostly its own, at times one that others change too."""
        row = 0 if chance.random() < SHARED else self.number + 1
        column = self.header.index(chance.choice(("sided", "moulded", "notes")))
        again = 0
        while True:
            own = f"{mark}.{again}"
            self.due[own] = at
            was = self.rows[row]
            cell = own if self.header[column] == "notes" else f"{40 + 20 * chance.random():.3f}"
            now = [*was[:column], cell, *was[column + 1 :]]
            edits = [{"form": FORM, "was": was, "now": now, "at": row}]
            answer = await self.send({"id": own, "why": "", "edits": edits, "upon": self.revision})
            if answer.status_code != 409:
                break
            self.clashes += 1
            again += 1
            await self.caught_up(answer.json()["revision"])
            if chance.random() < 0.5:
                return  # theirs stands
        if answer.status_code != 200:
            self.refused += 1
            return
        self.told_ms.append(1000 * (time.perf_counter() - at))
        patch = answer.json()
        self.told.append((patch["id"], patch["revision"], patch["edits"], edits))
        await self.caught_up(patch["revision"])

    async def send(self, body: dict[str, Any]) -> httpx.Response:
        """Send a change until it is answered, with the same id."""
        for wait in (0.4, 0.8, 1.5, 3.0, 5.0):
            with suppress(httpx.TransportError):
                answer = await self.http.post("/api/changes", json=body)
                if answer.status_code < 500:
                    return answer
            await asyncio.sleep(wait)
        raise RuntimeError("the server does not answer any more")

    async def caught_up(self, revision: int) -> None:
        """Wait until the socket has told of a revision; fetch where it does not."""
        until = time.perf_counter() + 2.0
        while self.revision < revision and time.perf_counter() < until:
            await asyncio.sleep(0.005)
        if self.revision < revision:
            self.gaps += 1
            await self.fetch()


@dataclass(frozen=True, slots=True)
class Slow:
    """A browser that opens a socket, reads `heard` messages and then no more."""

    heard: int = 1


# ---- all of them


async def _loaded(here: Here, load: Load, slow: tuple[Slow, ...]) -> Found:
    limits = httpx.Limits(max_connections=load.hands + 4, max_keepalive_connections=load.hands + 4)
    address = here.url("/live").replace("http", "ws", 1)
    async with httpx.AsyncClient(base_url=here.address, timeout=30.0, limits=limits) as http:
        due: dict[str, float] = {}
        hands = [Hand(n, http, load, due) for n in range(load.hands)]
        ready = [asyncio.Event() for _ in hands]
        ears = [
            asyncio.create_task(hand.listen(address, there))
            for hand, there in zip(hands, ready, strict=True)
        ]
        ears += [asyncio.create_task(hand.look()) for hand in hands]
        ears += [asyncio.create_task(_half_heard(address, one)) for one in slow]
        await asyncio.wait_for(asyncio.gather(*(there.wait() for there in ready)), 60.0)
        before, began = here.job.stat().st_size / 1e6, await _newest(http)
        memory = await _worked(hands, here.process.pid, load)
        await _quiet(http, hands)
        for ear in ears:
            ear.cancel()
        await asyncio.gather(*ears, return_exceptions=True)
    size = before, here.job.stat().st_size / 1e6
    return _looked_over(here.job, began, hands, memory, size)


async def _newest(http: httpx.AsyncClient) -> int:
    return int((await http.get("/api/job")).json()["revision"])


async def _worked(hands: list[Hand], process: int, load: Load) -> tuple[float, float, float]:
    """Let all of them work; give the server's memory at the start, the middle and the end."""
    begin = time.perf_counter() + min(2.0, 0.2 * load.seconds)
    work = [asyncio.create_task(hand.work(begin)) for hand in hands]
    seen = []
    for part in (0.1, 0.5, 1.0):  # the start is taken once everybody is at work
        await asyncio.sleep(max(0.0, begin + part * load.seconds - time.perf_counter()))
        seen.append(resident(process))
    await asyncio.gather(*work)
    return seen[0], seen[1], seen[2]


async def _quiet(http: httpx.AsyncClient, hands: list[Hand]) -> None:
    """Wait until every hand has heard of the newest revision."""
    newest = await _newest(http)
    until = time.perf_counter() + SETTLE_SECONDS
    while any(h.revision < newest for h in hands) and time.perf_counter() < until:
        await asyncio.sleep(0.05)


async def _half_heard(address: str, slow: Slow) -> None:
    """Open a socket and stop reading: what is sent fills its buffers."""
    async with connect(address, compression=None, max_queue=1, close_timeout=0) as socket:
        for _ in range(slow.heard):
            await socket.recv()
        await asyncio.sleep(3600.0)


def resident(process: int) -> float:
    """Give the memory in MB that a process has in use."""
    status = Path(f"/proc/{process}/status").read_text()
    line = next((ln for ln in status.splitlines() if ln.startswith("VmRSS")), "VmRSS: 0 kB")
    return int(line.split()[1]) / 1024


# ---- what came of it


def _looked_over(
    job: Path,
    began: int,
    hands: list[Hand],
    memory: tuple[float, float, float],
    size: tuple[float, float],
) -> Found:
    with JobFile.open(job) as file:
        form, first = file.forms()[FORM], file.forms(began)[FORM]
    told = sorted((one for hand in hands for one in hand.told), key=lambda one: one[1])
    return Found(
        acknowledged=len(told),
        clashes=sum(hand.clashes for hand in hands),
        refused=sum(hand.refused for hand in hands),
        lost=lost_of(job, told, list(first.rows), form.rows),
        unlike=sum(tuple(hand.rows) != form.rows for hand in hands),
        gaps=sum(hand.gaps for hand in hands),
        told_ms=tuple(ms for hand in hands for ms in hand.told_ms),
        heard_ms=tuple(ms for hand in hands for ms in hand.heard_ms),
        memory_mb=memory,
        file_mb=size,
    )


def lost_of(job: Path, told: list[Told], rows: Rows, final: tuple[tuple[str, ...], ...]) -> int:
    """Count the acknowledged changes that are not in the file as they were acknowledged.

    A value typed where it stood already makes no revision of its own: then the revision it was
    answered with must say what was asked for.
    """
    with closing(sqlite3.connect(f"{job.resolve().as_uri()}?mode=ro", uri=True)) as db:
        marks = dict(db.execute("SELECT mark, revision FROM change").fetchall())
        lost = {mark for mark, revision, made, _ in told if made and marks.get(mark) != revision}
        for mark, revision, made, asked in told:
            if mark not in lost and not _holds(db, revision, made or asked):
                lost.add(mark)
    for _, _, edits, _ in told:
        put_on(rows, edits)  # in the order of revisions every one fits upon the last
    return len(lost) + (tuple(rows) != final)


def _holds(db: sqlite3.Connection, revision: int, edits: Edits) -> bool:
    """Tell whether the form of that very revision reads as the change was acknowledged."""
    found = db.execute(
        """SELECT body FROM revision_form JOIN form ON hash = form
        WHERE revision = ? AND name = ?""",
        (revision, FORM),
    ).fetchone()
    rows = json.loads(found[0])["rows"] if found else []
    return all(edit["at"] < len(rows) and rows[edit["at"]] == edit["now"] for edit in edits)
