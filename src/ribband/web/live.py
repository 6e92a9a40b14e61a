"""Live: one socket to every open browser, over which the server tells what changed.

The server only tells; nothing is changed over the socket, so that a change has one way in and is
acknowledged by its own answer. Messages are small; large data is fetched.

    hello    revision, boot (new at every start of the server), people
    patch    a change that is on the disk: see `ribband.app.entering.changes.Patch`
    work     how far the work in hand is
    people   who is here, and on which page
    beat     every few seconds, so that a dead connection is noticed

A browser that does not keep up is cut off; it comes again and fetches afresh. There may be
`MOST_HANDS` in all and `MOST_OF_ONE` of one caller (a token, so one browser with its tabs); one
more is told so and closed.
"""

from __future__ import annotations

import asyncio
import json
import secrets
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from fastapi import WebSocket, WebSocketDisconnect

__all__ = ["Live"]

BEAT_SECONDS = 4.0
MOST_WAITING = 200  # messages
CLOSE_SECONDS = 2.0
MOST_HEARD = 2_000  # characters of a message from a browser
MOST_HANDS = 250
MOST_OF_ONE = 20
TOO_MANY = 4429  # the code of closing, after the status a request would be given


@dataclass(eq=False)
class Hand:
    """One open browser."""

    socket: WebSocket
    name: str
    signs: bool = True  # may say its own name; not where a code was given with one
    whose: str = ""  # which caller's it is; "" where callers are not told apart
    page: str = ""
    waiting: asyncio.Queue[str] = field(default_factory=lambda: asyncio.Queue(MOST_WAITING))
    behind: asyncio.Event = field(default_factory=asyncio.Event)  # it does not keep up


@dataclass
class Live:
    """Every open browser; `say` may be called from any thread."""

    boot: str = field(default_factory=lambda: secrets.token_hex(8))
    hands: set[Hand] = field(default_factory=set)
    loop: asyncio.AbstractEventLoop | None = None

    def say(self, kind: str, **body: Any) -> None:
        """Tell every browser; a `kind` of its own is heard by ``job.on(kind, ...)`` there."""
        if self.loop is None or self.loop.is_closed():
            return
        text = json.dumps({"kind": kind, **body}, ensure_ascii=False)
        with suppress(RuntimeError):  # the server is ending
            self.loop.call_soon_threadsafe(self._spread, text)

    def _spread(self, text: str) -> None:
        for hand in list(self.hands):
            try:
                hand.waiting.put_nowait(text)
            except asyncio.QueueFull:
                self.hands.discard(hand)
                hand.behind.set()

    def people(self) -> list[dict[str, str]]:
        """List who is here and on which page."""
        return [{"name": hand.name, "page": hand.page} for hand in self.hands]

    async def serve(
        self, socket: WebSocket, name: str, hello: dict[str, Any], *, signs: bool, whose: str = ""
    ) -> None:
        """Keep one browser told until it goes away; `signs` lets it say its own name."""
        await socket.accept()
        if says := self._too_many(whose):
            await socket.close(TOO_MANY, says)
            return
        hand = Hand(socket, name, signs, whose)
        self.hands.add(hand)
        first = {"kind": "hello", "boot": self.boot, "people": self.people(), **hello}
        hand.waiting.put_nowait(json.dumps(first, ensure_ascii=False))
        work = [self._tell(hand), self._hear(hand), hand.behind.wait()]
        tasks = [asyncio.ensure_future(one) for one in work]
        try:
            await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        finally:
            self.hands.discard(hand)
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            self.say("people", people=self.people())
            with suppress(Exception):  # one that reads no more takes no good-bye either
                await asyncio.wait_for(socket.close(), CLOSE_SECONDS)

    def _too_many(self, whose: str) -> str:
        if len(self.hands) >= MOST_HANDS:
            return f"{MOST_HANDS} browsers are here, as many as may be; try again later."
        if whose and sum(hand.whose == whose for hand in self.hands) >= MOST_OF_ONE:
            return f"{MOST_OF_ONE} of your tabs are open here, as many as may be; close one."
        return ""

    async def _tell(self, hand: Hand) -> None:
        while hand in self.hands:
            try:
                text = hand.waiting.get_nowait()
            except asyncio.QueueEmpty:
                text = await _next_or_beat(hand)
            await hand.socket.send_text(text)

    async def _hear(self, hand: Hand) -> None:
        """Hear on which page a browser is; anything else is passed over."""
        with suppress(WebSocketDisconnect):
            while True:
                text = await hand.socket.receive_text()
                if len(text) <= MOST_HEARD:
                    self._heard(hand, text)

    def _heard(self, hand: Hand, text: str) -> None:
        try:
            said = json.loads(text)
        except ValueError:
            return
        if isinstance(said, dict) and isinstance(said.get("page"), str):
            hand.page = said["page"][:40]
            if hand.signs and isinstance(said.get("name"), str) and said["name"].strip():
                hand.name = said["name"].strip()[:60]
            self.say("people", people=self.people())


async def _next_or_beat(hand: Hand) -> str:
    """Wait for the next message; a beat where there is none for a while."""
    try:
        return await asyncio.wait_for(hand.waiting.get(), BEAT_SECONDS)
    except TimeoutError:
        return '{"kind":"beat"}'
