"""Access, tried further: sessions, https, other sites, roles, and what is written down."""

from __future__ import annotations

import logging
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import uvicorn
from starlette.websockets import WebSocketDisconnect

from made_client import TestClient, hello
from made_server import blank_job
from ribband.web import access, lines, live, serving
from ribband.web.access import COOKIE, TOKEN_SECONDS, TRIES, Share
from ribband.web.server import create_app

HERE = "http://127.0.0.1"
LIVE = "ws://127.0.0.1/live"


def change(word: str, **more: Any) -> dict[str, Any]:
    edit = {"form": "stock", "was": None, "now": ["18ft", "20"], "at": 0}
    return {"id": word, "why": "", "upon": 0, "edits": [edit]} | more


@pytest.fixture
def share() -> Share:
    return Share()


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return blank_job(tmp_path)


@pytest.fixture
def shared(job: Path, share: Share) -> Iterator[TestClient]:
    app = create_app(job, share, hosts={"slip.local"}, by_itself=False)
    with TestClient(app, base_url=HERE, follow_redirects=False) as here:
        yield here


def come_in(here: TestClient, code: str, name: str = "Bo", **headers: str) -> Any:
    return here.post("/enter", data={"code": code, "name": name}, headers=headers)


@pytest.mark.parametrize("way", ["http", "https"])
def test_the_cookie_is_for_https_alone_where_it_came_by_https(
    shared: TestClient, share: Share, way: str
) -> None:
    answer = come_in(shared, share.codes["work"], origin=f"{way}://127.0.0.1")
    cookie = answer.headers["set-cookie"]
    assert answer.status_code == 303
    assert ("Secure" in cookie) == (way == "https")
    assert answer.headers["cache-control"] == "no-store"
    assert f"Max-Age={int(TOKEN_SECONDS)}" in cookie


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
@pytest.mark.parametrize("path", ["/api/job", "/api/forms/girths", "/api/history"])
def test_no_other_site_may_have_the_api_asked(job: Path, site: str, path: str) -> None:
    with TestClient(create_app(job, by_itself=False), base_url=HERE) as here:
        answer = here.get(path, headers={"sec-fetch-site": site})
        assert answer.status_code == 403
        assert here.get("/", headers={"sec-fetch-site": site}).status_code == 200, "a link may lead"


@pytest.mark.parametrize(
    ("headers", "code"),
    [
        ({"origin": "http://evil.example"}, 4403), ({"origin": "null"}, 4403),
        ({"origin": "http://127.0.0.1:81"}, 4403), ({"host": "evil.example"}, 4421),
        ({"sec-fetch-site": "cross-site"}, 4403), ({"authorization": "Bearer no"}, 4401),
    ],
)  # fmt: skip
def test_a_socket_is_refused_like_a_request(
    shared: TestClient, share: Share, headers: dict[str, str], code: int
) -> None:
    if code != 4401:
        come_in(shared, share.codes["work"])
    with pytest.raises(WebSocketDisconnect) as closed:
        hello(shared, **headers)
    assert closed.value.code == code


def _until_closed(socket: Any) -> None:
    while True:
        assert "may know" not in socket.receive_text()


def test_a_socket_ends_with_its_token(shared: TestClient, share: Share) -> None:
    come_in(shared, share.codes["work"])
    token = shared.cookies[COOKIE]
    with shared.websocket_connect(LIVE) as socket:
        assert socket.receive_json()["kind"] == "hello"
        share.leave(token)
        shared.app.state.yard.live.say("patch", note="for those who may know")
        with pytest.raises(WebSocketDisconnect) as closed:
            _until_closed(socket)
        assert closed.value.code == 4401
        while shared.app.state.yard.live.hands:
            time.sleep(0.01)


def test_a_token_is_good_for_its_time_and_no_longer(
    shared: TestClient, share: Share, monkeypatch: pytest.MonkeyPatch
) -> None:
    come_in(shared, share.codes["look"])
    assert shared.get("/api/job").status_code == 200
    then = time.monotonic() + TOKEN_SECONDS + 1
    monkeypatch.setattr(access.time, "monotonic", lambda: then)
    assert shared.get("/api/job").status_code == 401
    assert share.enter(share.codes["look"], "Cy", "10.0.0.1")
    assert len(share.tokens) == 1, "what has run out is forgotten"


def test_there_are_never_many_tokens(share: Share, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(access, "MOST_TOKENS", 5)
    tokens = [share.enter(share.codes["look"], "Cy", "10.0.0.1") for _ in range(9)]
    assert [t for t in tokens if share.caller(t or "")] == tokens[-5:]


def test_wrong_codes_from_many_places_close_the_door_too(
    share: Share, monkeypatch: pytest.MonkeyPatch
) -> None:
    for n in range(TRIES * 10):
        assert share.enter("wrong", "", f"10.0.{n // 7}.{n}") is None
    with pytest.raises(PermissionError):
        share.enter(share.codes["lead"], "", "10.9.9.9")
    assert len(share.tried) <= TRIES * 10
    then = time.monotonic() + access.TRIES_SECONDS + 1
    monkeypatch.setattr(access.time, "monotonic", lambda: then)
    assert share.enter(share.codes["lead"], "", "10.9.9.9"), "and it opens again"


@pytest.mark.parametrize("code", ["", " ", "-", "x" * 60, "None", "lead", "\N{SNOWMAN}" * 10])
def test_what_is_no_code_opens_nothing(shared: TestClient, code: str) -> None:
    assert come_in(shared, code).status_code in {401, 422}
    assert shared.get("/api/job").status_code == 401


@pytest.mark.parametrize("role", ["look", "work"])
def test_a_role_is_not_raised_by_asking(shared: TestClient, share: Share, role: Any) -> None:
    come_in(shared, share.codes[role], "lead")
    headers = {"x-ribband-role": "lead", "x-ribband-who": "lead"}
    job = shared.get("/api/job?role=lead", headers=headers).json()
    assert job["role"] == role
    back = shared.post("/api/history/back", json={"id": "b", "number": 1}, headers=headers)
    assert back.status_code == 403


def test_every_address_of_the_api_wants_a_code(shared: TestClient) -> None:
    told = shared.app.openapi()["paths"]
    assert len(told) > 30
    for path, ways in told.items():
        for way in ways:
            answer = shared.request(way, path.replace("{", "").replace("}", ""))
            assert answer.status_code == 401, (way, path)


def test_an_upload_too_large_is_refused_while_it_comes(shared: TestClient, share: Share) -> None:
    come_in(shared, share.codes["work"])

    def pieces() -> Iterator[bytes]:
        yield b'--x\r\ncontent-disposition: form-data; name="files"; filename="girths.csv"\r\n\r\n'
        for _ in range(40):
            yield b"1,900\n" * 150_000

    headers = {"content-type": "multipart/form-data; boundary=x"}
    answer = shared.post("/api/take", content=pieces(), headers=headers)
    assert answer.status_code == 413
    assert "30 MB" in answer.json()["says"]


def test_no_code_and_no_token_is_written_down(
    shared: TestClient, share: Share, job: Path, caplog: pytest.LogCaptureFixture,
    capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    caplog.set_level(logging.DEBUG)
    caplog.set_level(logging.WARNING, "httpx")  # the client of this test, not the server
    once = share.once
    come_in(shared, "a wrong code")
    come_in(shared, share.codes["lead"])
    token = shared.cookies[COOKIE]
    assert shared.post("/api/changes", json=change("one", why="the stock")).status_code == 200
    shared.get(f"/enter?once={once}x")
    monkeypatch.setattr(
        "ribband.web.api.job.job_view", lambda path: (_ for _ in ()).throw(RuntimeError("broken"))
    )
    with pytest.raises(RuntimeError):
        shared.get("/api/job", headers={"authorization": f"Bearer {token}"})
    assert shared.post("/api/changes", content=b"{", headers={"x-a": token}).status_code == 422
    assert "broken" in caplog.text, "troubles are written down"
    out = capfd.readouterr()
    written = caplog.text + out.out + out.err + job.read_bytes().decode("latin-1")
    for secret in (*share.codes.values(), token, once):
        assert secret not in written
        assert secret.replace("-", "") not in written


# ---- many at once; a whole crowd comes in `python tests/made_crowd.py FOLDER`


def test_tabs_of_one_caller_and_browsers_in_all_are_limited_and_told_so(
    shared: TestClient, share: Share, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "MOST_OF_ONE", 2)
    monkeypatch.setattr(live, "MOST_HANDS", 3)
    tokens = [share.enter(share.codes["look"], "Cy", "10.0.0.1") for _ in range(2)]
    said = []
    with ExitStack() as opened:
        for token in [tokens[0], tokens[0], tokens[0], tokens[1], tokens[1]]:
            way = {"authorization": f"Bearer {token}"}
            socket = opened.enter_context(shared.websocket_connect(LIVE, headers=way))
            try:
                said.append(socket.receive_json()["kind"])
            except WebSocketDisconnect as closed:
                said.append(f"{closed.code} {closed.reason}")
        while len(shared.app.state.yard.live.hands) < 3:
            time.sleep(0.01)
        for hand in list(shared.app.state.yard.live.hands):
            hand.behind.set()
        while shared.app.state.yard.live.hands:
            time.sleep(0.01)
    tabs = "4429 2 of your tabs are open here, as many as may be; close one."
    full = "4429 3 browsers are here, as many as may be; try again later."
    assert said == ["hello", "hello", tabs, "hello", full]


@pytest.fixture
def listens(job: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """Serve in this process, on a port, with few lines and little patience."""
    monkeypatch.setattr(lines, "MOST_LINES", 4)
    monkeypatch.setattr(lines, "ASK_SECONDS", 0.4)
    monkeypatch.setattr(access, "SILENT_SECONDS", 0.3)
    server = uvicorn.Server(serving.config(create_app(job, by_itself=False)))
    own = serving.listening("127.0.0.1", 0)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [own]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield own.getsockname()[1]
    server.should_exit = True
    thread.join(10)
    own.close()


def test_a_port_in_use_is_said_in_plain_words() -> None:
    """It is no fault of a form, and what to do is said."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        says = f"Port {port} is in use by another program: choose another with --port"
        with pytest.raises(serving.PortTaken, match=says):
            serving.listening("127.0.0.1", port)


def heard(line: socket.socket) -> bytes:
    """Hear a line to its end."""
    return b"".join(iter(lambda: line.recv(4096), b""))


ASKS = b"GET /healthy HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"
SENDS = b"POST /api/changes HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 900\r\n\r\n{"


def test_connections_that_say_nothing_are_few_and_are_closed(listens: int) -> None:
    with ExitStack() as opened:
        idle = [
            opened.enter_context(socket.create_connection(("127.0.0.1", listens), 10))
            for _ in range(4)
        ]
        idle[1].sendall(b"GET /healthy HTTP/1.1\r\nHost: 127")  # and no more of it
        idle[2].sendall(SENDS)
        with socket.create_connection(("127.0.0.1", listens), 10) as more:
            assert b"takes no more; try again later" in heard(more)
        assert heard(idle[0]) == heard(idle[1]) == heard(idle[3]) == b""
        heard(idle[2])
        with socket.create_connection(("127.0.0.1", listens), 10) as again:
            again.sendall(ASKS)
            assert b'"says":"here"' in heard(again)


def test_an_address_may_have_only_so_many_connections(monkeypatch: pytest.MonkeyPatch) -> None:
    line = lines.Line.__new__(lines.Line)
    others = [SimpleNamespace(client=("10.0.0.7", n)) for n in range(lines.MOST_OF_ADDRESS)]
    line.connections = [*others, line]  # type: ignore[assignment]
    for address, refused in (("10.0.0.7", True), ("10.0.0.8", False), ("127.0.0.1", False)):
        line.client = (address, 1)
        assert bool(line._too_many()) == refused
