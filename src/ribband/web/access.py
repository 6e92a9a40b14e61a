"""Access: who may come in, from where, and what they may do.

Alone, the server listens on this machine only and asks for no code; whoever can open a browser
here could open the job file too. Shared (`--share`), everyone gives one of three codes: *look*
reads, *work* changes things and starts work, *lead* also goes back in history and takes out
others' work. A code buys a cookie that holds a random token and nothing else.

All of it is plain ASGI middleware, so that it stands before http and the socket alike:

* Host: only the names this server is known by, so that no other site's name can be pointed here.
* Origin: whatever changes something, the socket, and everything under /api must come from this
  server's own pages, or from a program that is no browser (no Origin and no Sec-Fetch-Site).
* Sessions: a socket ends when its token does; expired tokens are forgotten, and there are few.
* Size: a body larger than the limit of its address is refused while it comes in, and one that
  stops coming is left.
* Codes: a wrong code costs time, and too many from one address are refused for a while.
* Headers: content only from here, no framing, no guessing of types.

Not done here: encryption. Over an open network anyone can read along; see docs/security.md.
"""

from __future__ import annotations

import asyncio
import hmac
import json
import secrets
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import Any, Literal
from urllib.parse import quote, urlsplit

__all__ = ["MAY", "Access", "Caller", "Role", "Share", "new_code"]

Role = Literal["look", "work", "lead"]
RANK: dict[str, int] = {"look": 0, "work": 1, "lead": 2}
MAY: dict[str, Role] = {"GET": "look", "HEAD": "look", "OPTIONS": "look"}
LEAD_ONLY = ("/api/history/back", "/api/share")
OPEN = ("/enter", "/static/", "/fonts/", "/healthy")
COOKIE = "ribband"
TOKEN_SECONDS = 12 * 3600.0
MOST_TOKENS = 1_000
MOST_BODY = 2_000_000
MOST_UPLOAD = 30_000_000
UPLOADS = ("/api/take", "/api/uploads")
SILENT_SECONDS = 30.0  # between two parts of a body
TRIES, TRIES_SECONDS = 8, 300.0
LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"  # none that is taken for another when read aloud

CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "font-src 'self'; connect-src 'self'; worker-src 'self'; manifest-src 'self'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", CSP.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
)

Scope = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks, and as what."""

    name: str
    role: Role

    def may(self, role: Role) -> bool:
        """Tell whether they may do what `role` may.

        >>> Caller("Ada", "work").may("look"), Caller("Ada", "work").may("lead")
        (True, False)
        """
        return RANK[self.role] >= RANK[role]


def new_code() -> str:
    """Make a code that is read aloud once and cannot be guessed: 49 bits.

    >>> len(new_code())
    11
    """
    letters = "".join(secrets.choice(LETTERS) for _ in range(10))
    return f"{letters[:5]}-{letters[5:]}"


@dataclass
class Share:
    """The codes in force, who came in by them, and who tried."""

    codes: dict[Role, str] = field(
        default_factory=lambda: {"look": new_code(), "work": new_code(), "lead": new_code()}
    )
    once: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    tokens: dict[str, tuple[Caller, float]] = field(default_factory=dict)
    tried: dict[str, list[float]] = field(default_factory=dict)

    def enter(self, code: str, name: str, address: str) -> str | None:
        """Give a token for a code, None for a wrong one.

        Raises
        ------
        PermissionError : too many wrong codes from there
        """
        self._may_try(address)
        role = self._role_of(code)
        if role is None:
            self.tried.setdefault(address, []).append(time.monotonic())
            return None
        return self._token(Caller(" ".join(name.split())[:60] or role, role))

    def enter_once(self, word: str, name: str) -> str | None:
        """Let the browser that was opened on this machine in, once, as lead."""
        if not self.once or not hmac.compare_digest(word.encode(), self.once.encode()):
            return None
        self.once = ""
        return self._token(Caller(name, "lead"))

    def caller(self, token: str) -> Caller | None:
        """Say who holds a token; None if nobody does any more."""
        found = self.tokens.get(token)
        if found is None or found[1] < time.monotonic():
            self.tokens.pop(token, None)
            return None
        return found[0]

    def leave(self, token: str) -> None:
        """Forget a token."""
        self.tokens.pop(token, None)

    def _token(self, caller: Caller) -> str:
        token = secrets.token_urlsafe(32)
        now = time.monotonic()
        for old in [own for own, (_, until) in self.tokens.items() if until < now]:
            del self.tokens[old]
        while len(self.tokens) >= MOST_TOKENS:
            del self.tokens[next(iter(self.tokens))]  # the oldest
        self.tokens[token] = (caller, now + TOKEN_SECONDS)
        return token

    def _role_of(self, code: str) -> Role | None:
        given = code.strip().lower().replace(" ", "").replace("-", "").encode()
        found: Role | None = None
        for role, own in self.codes.items():  # every one is compared, so that time tells nothing
            if hmac.compare_digest(given, own.replace("-", "").encode()):
                found = role
        return found

    def _may_try(self, address: str) -> None:
        now = time.monotonic()
        for known in list(self.tried):
            self.tried[known] = [t for t in self.tried[known] if now - t < TRIES_SECONDS]
            if not self.tried[known]:
                del self.tried[known]
        everyone = sum(map(len, self.tried.values()))
        if len(self.tried.get(address, ())) >= TRIES or everyone >= TRIES * 10:
            raise PermissionError("Too many wrong codes; wait five minutes.")


class Access:
    """The middleware; `hosts` are the names and addresses the server is known by."""

    def __init__(self, app: Any, hosts: Iterable[str], share: Share | None = None) -> None:
        self.app = app
        self.hosts = {host.lower() for host in hosts}
        self.share = share

    async def __call__(self, scope: Scope, receive: Any, send: Any) -> None:
        """Let in, or refuse in words."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        asked = _Asked(scope)
        refused = self._refused(asked)
        if refused is not None:
            await _refuse(scope, receive, send, *refused)
            return
        limit = MOST_UPLOAD if asked.path.startswith(UPLOADS) else MOST_BODY
        await self._passed(scope, receive, send, limit)

    def _refused(self, asked: _Asked) -> tuple[int, str] | None:
        if asked.hostname not in self.hosts:
            return 421, "This server is not known by that name."
        if (asked.changes or asked.socket or asked.of_api) and not asked.from_here:
            return 403, "That came from another site's page."
        caller = self._caller(asked)
        if caller is None:
            if asked.path.startswith(OPEN):
                return None
            return 401, "Give the access code first."
        asked.scope["ribband.caller"] = caller
        asked.scope["ribband.whose"] = asked.token if self.share else ""
        if asked.path.startswith(OPEN) or caller.may(asked.needs):
            return None
        return 403, f"That needs the code for {asked.needs}."

    def _caller(self, asked: _Asked) -> Caller | None:
        if self.share is None:
            return Caller("", "lead")
        return self.share.caller(asked.token)

    async def _passed(self, scope: Scope, receive: Any, send: Any, limit: int) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, self._while_known(_Asked(scope), send))
            return
        if _declared(scope) > limit:
            await _refuse(scope, receive, send, 413, _at_most(limit))
            return
        counted = _Counted(receive, limit)

        async def marked(message: dict[str, Any]) -> None:
            if counted.left < 0:  # whatever it made of half a body is not sent
                if message["type"] == "http.response.start":
                    await _refuse(scope, receive, send, 413, _at_most(limit))
                return
            if message["type"] == "http.response.start":
                there = {name for name, _ in message.get("headers", ())}
                more = [pair for pair in HEADERS if pair[0] not in there]
                message = {**message, "headers": [*message.get("headers", ()), *more]}
            await send(message)

        await self.app(scope, counted, marked)

    def _while_known(self, asked: _Asked, send: Any) -> Any:
        """Send over a socket only as long as its token is good; then close it."""

        async def sent(message: dict[str, Any]) -> None:
            if message["type"] == "websocket.send" and self._caller(asked) is None:
                says = "Give the access code again."
                await send({"type": "websocket.close", "code": 4401, "reason": says})
                raise OSError(says)  # the socket is gone, as far as the pages are concerned
            await send(message)

        return sent


def _at_most(limit: int) -> str:
    return f"That is too large; at most {limit // 1_000_000} MB."


@dataclass
class _Asked:
    """What is asked, as far as access is concerned."""

    scope: Scope

    def header(self, name: bytes) -> str:
        return next((v.decode("latin-1") for k, v in self.scope["headers"] if k == name), "")

    @property
    def path(self) -> str:
        return str(self.scope["path"])

    @property
    def socket(self) -> bool:
        return bool(self.scope["type"] == "websocket")

    @property
    def changes(self) -> bool:
        return not self.socket and self.scope["method"] not in MAY

    @property
    def of_api(self) -> bool:
        return self.path.startswith("/api/")

    @property
    def hostname(self) -> str:
        try:
            return (urlsplit(f"//{self.header(b'host')}").hostname or "").lower()
        except ValueError:
            return ""

    @property
    def from_here(self) -> bool:
        origin = self.header(b"origin")
        if not origin:
            return self.header(b"sec-fetch-site") in {"", "same-origin", "none"}
        return origin.lower() in {f"{way}://{self.header(b'host').lower()}" for way in
                                  ("http", "https")}  # fmt: skip

    @property
    def token(self) -> str:
        bearer = self.header(b"authorization")
        if bearer.lower().startswith("bearer "):
            return bearer[7:].strip()
        try:
            jar = SimpleCookie(self.header(b"cookie"))
        except CookieError:
            return ""
        return jar[COOKIE].value if COOKIE in jar else ""

    @property
    def needs(self) -> Role:
        if self.socket or self.path == "/leave":
            return "look"
        if self.changes and self.path.startswith(LEAD_ONLY):
            return "lead"
        return MAY.get(self.scope["method"], "work")


class _Counted:
    """Receives a body and stops where it grows too large; `left` is then below nothing.

    A body of which nothing comes for `SILENT_SECONDS` is one that was broken off.
    """

    def __init__(self, receive: Any, limit: int) -> None:
        self.receive, self.left, self.more = receive, limit, True

    async def __call__(self) -> Any:
        try:
            async with asyncio.timeout(SILENT_SECONDS if self.more else None):
                message = await self.receive()
        except TimeoutError:
            return {"type": "http.disconnect"}
        if message["type"] == "http.request":
            self.more = bool(message.get("more_body"))
            self.left -= len(message.get("body", b""))
            if self.left < 0:
                return {"type": "http.disconnect"}
        return message


def _declared(scope: Scope) -> int:
    text = next((v for k, v in scope["headers"] if k == b"content-length"), b"0")
    return int(text) if text.isdigit() else 0


async def _refuse(scope: Scope, receive: Any, send: Any, status: int, says: str) -> None:
    """Refuse in words: JSON to a program, a way in to a browser, a closed socket to a socket."""
    if scope["type"] == "websocket":
        await receive()
        if status == 401:  # taken up only to say so: a browser is not told why one was refused
            await send({"type": "websocket.accept"})
        await send({"type": "websocket.close", "code": 4000 + status % 1000, "reason": says})
        return
    asked = _Asked(scope)
    headers = [(b"content-type", b"application/json"), *HEADERS]
    wants_page = "text/html" in asked.header(b"accept") and not asked.path.startswith("/api/")
    if status == 401 and wants_page:
        to = f"/enter?to={quote(asked.path)}" if asked.path != "/" else "/enter"
        status, headers = 303, [(b"location", to.encode("ascii")), *HEADERS]
    if status == 413:
        headers.append((b"connection", b"close"))
    body = b"" if status == 303 else json.dumps({"says": says, "problems": []}).encode()
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
