"""Who may come in and what they may do: addresses, origins, codes, roles, sizes, headers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.websockets import WebSocketDisconnect

from made_client import TestClient, hello
from made_server import blank_job, served
from ribband.web.access import COOKIE, TRIES, Share
from ribband.web.names import names_of_this_machine
from ribband.web.server import create_app

CHANGE = {
    "id": "one", "why": "", "upon": 0,
    "edits": [{"form": "rules", "was": None, "now": ["lining.greatest_width", "190"], "at": 0}],
}  # fmt: skip
HERE = "http://127.0.0.1"
NO_BROWSER: dict[str, str] = {}


def client(app: Any, **more: Any) -> TestClient:
    return TestClient(app, base_url=HERE, **more)


@pytest.fixture
def alone(tmp_path: Path) -> Iterator[TestClient]:
    with client(create_app(blank_job(tmp_path), by_itself=False)) as here:
        yield here


@pytest.fixture
def share() -> Share:
    return Share()


@pytest.fixture
def shared(tmp_path: Path, share: Share) -> Iterator[TestClient]:
    app = create_app(blank_job(tmp_path), share, hosts={"slip.local"}, by_itself=False)
    with client(app, follow_redirects=False) as here:
        yield here


def come_in(here: TestClient, code: str, name: str = "Bo") -> Any:
    return here.post("/enter", data={"code": code, "name": name})


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1", 200), ("localhost:7311", 200), ("[::1]:7311", 200), ("LOCALHOST", 200),
        ("evil.example", 421), ("127.0.0.1.evil.example", 421), ("", 421), ("slip.local", 421),
        ("127.0.0.1@evil.example", 421),
    ],
)  # fmt: skip
def test_only_the_names_of_this_machine(alone: TestClient, host: str, status: int) -> None:
    assert alone.get("/api/job", headers={"host": host}).status_code == status


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        (NO_BROWSER, 200),
        ({"origin": HERE}, 200),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": "http://127.0.0.1:9999"}, 403),
        ({"origin": "http://127.0.0.1.evil.example"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"sec-fetch-site": "same-origin"}, 200),
    ],
)
def test_changes_only_from_here(alone: TestClient, headers: Any, status: int) -> None:
    assert alone.post("/api/changes", json=CHANGE, headers=headers).status_code == status


def test_the_socket_only_from_here(alone: TestClient) -> None:
    assert hello(alone, origin=HERE)["kind"] == "hello"
    for headers in ({"origin": "http://evil.example"}, {"host": "evil.example"}):
        with pytest.raises(WebSocketDisconnect):
            hello(alone, **headers)


def test_every_answer_carries_the_strict_headers(alone: TestClient) -> None:
    for path in ("/", "/api/job", "/static/house.css", "/nothing", "/openapi.json"):
        headers = alone.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"


def test_an_address_that_is_nowhere_is_a_page_to_a_browser_and_words_to_a_program(
    alone: TestClient,
) -> None:
    looked = alone.get("/nowhere", headers={"accept": "text/html,*/*"})
    assert looked.status_code == 404
    assert "<h1>No such page</h1>" in looked.text
    for path, accept in (("/nowhere", "*/*"), ("/api/nowhere", "text/html")):
        answer = alone.get(path, headers={"accept": accept})
        assert (answer.status_code, answer.json()["says"]) == (404, "Not Found")


@pytest.mark.parametrize("declared", [True, False])
def test_a_body_too_large_is_refused(alone: TestClient, declared: bool) -> None:
    body = b'{"id": "' + b"x" * 2_100_000 + b'"}'

    def pieces() -> Iterator[bytes]:
        for start in range(0, len(body), 65_536):
            yield body[start : start + 65_536]

    sent = body if declared else pieces()
    answer = alone.post("/api/changes", content=sent, headers={"content-type": "application/json"})
    assert answer.status_code == 413
    assert "At most" in answer.json()["says"] or "at most" in answer.json()["says"]


def test_shared_asks_for_a_code_everywhere(shared: TestClient) -> None:
    assert shared.get("/api/job").status_code == 401
    assert shared.post("/api/changes", json=CHANGE).status_code == 401
    page = shared.get("/butts", headers={"accept": "text/html"})
    assert (page.status_code, page.headers["location"]) == (303, "/enter?to=/butts")
    assert shared.get("/openapi.json").status_code == 401
    assert shared.get("/enter").status_code == 200
    assert shared.get("/static/../pages.py").status_code in {401, 404}
    with pytest.raises(WebSocketDisconnect) as closed:
        hello(shared)
    assert closed.value.code == 4401


@pytest.mark.parametrize(
    ("to", "there"),
    [("/planks/P3-1", "/planks/P3-1"), ("//else.where/x", "/"), ("/\\else.where", "/"),
     ("http://else.where", "/"), ("/a\r\nset-cookie: b=c", "/"), ("", "/")],
)  # fmt: skip
def test_the_code_leads_on_to_the_page_that_was_asked_for_and_to_no_other_host(
    shared: TestClient, share: Share, to: str, there: str
) -> None:
    asked = shared.get("/enter", params={"to": to}).text
    assert f'name="to" value="{there}"' in asked
    answer = shared.post("/enter", data={"code": share.codes["work"], "name": "Bo", "to": to})
    assert (answer.status_code, answer.headers["location"]) == (303, there)


def test_a_code_buys_a_cookie_no_script_can_read(shared: TestClient, share: Share) -> None:
    answer = come_in(shared, share.codes["work"].upper().replace("-", " "))
    cookie = answer.headers["set-cookie"]
    assert answer.status_code == 303
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert share.codes["work"] not in cookie
    job = shared.get("/api/job").json()
    assert (job["who"], job["role"]) == ("Bo", "work")
    assert shared.post("/leave", headers={"origin": HERE}).status_code == 303
    shared.cookies.set(COOKIE, cookie.partition("=")[2].partition(";")[0])
    assert shared.get("/api/job").status_code == 401, "a token left behind is worth nothing"


@pytest.mark.parametrize(
    ("role", "looks", "changes", "goes_back"),
    [("look", 200, 403, 403), ("work", 200, 200, 403), ("lead", 200, 200, 422)],
)
def test_what_each_role_may(
    shared: TestClient, share: Share, role: Any, looks: int, changes: int, goes_back: int
) -> None:
    come_in(shared, share.codes[role])
    assert shared.get("/api/job").status_code == looks
    assert shared.post("/api/changes", json=CHANGE).status_code == changes
    assert shared.post("/api/undo", json={"id": "u", "upon": 99}).status_code in {403, 409}
    back = shared.post("/api/history/back", json={"id": "b", "number": 99})
    assert back.status_code == goes_back
    assert shared.post("/api/work", json={"seconds": 0}).status_code in {403, 422}
    assert hello(shared)["kind"] == "hello"


def test_a_name_bought_with_a_code_is_the_name_in_the_history(
    shared: TestClient, share: Share
) -> None:
    come_in(shared, share.codes["work"], "Bo")
    answer = shared.post("/api/changes", json=CHANGE, headers={"x-ribband-who": "Ada"})
    assert answer.json()["who"] == "Bo"


def test_wrong_codes_are_counted(shared: TestClient, share: Share) -> None:
    for _ in range(TRIES):
        assert come_in(shared, "wrong").status_code == 401
    assert come_in(shared, share.codes["lead"]).status_code == 429
    assert shared.get("/api/job").status_code == 401


def test_a_program_may_send_its_token(shared: TestClient, share: Share) -> None:
    token = share.enter(share.codes["look"], "a notebook", "10.0.0.9")
    shared.cookies.clear()
    answer = shared.get("/api/job", headers={"authorization": f"Bearer {token}"})
    assert answer.json()["role"] == "look"
    assert shared.get("/api/job", headers={"authorization": "Bearer no"}).status_code == 401


def test_the_browser_opened_here_comes_in_once(shared: TestClient, share: Share) -> None:
    once = share.once
    assert shared.get(f"/enter?once={once}").status_code == 303
    assert shared.get("/api/job").json()["role"] == "lead"
    shared.cookies.clear()
    assert shared.get(f"/enter?once={once}").status_code == 200
    assert shared.get("/enter?once=").status_code == 200
    assert shared.get("/api/job").status_code == 401


def test_codes_are_not_alike_and_cannot_be_guessed() -> None:
    codes = [code for _ in range(200) for code in Share().codes.values()]
    assert len(set(codes)) == 600
    assert all(len(code) == 11 for code in codes)


def test_this_machine_knows_its_names() -> None:
    assert names_of_this_machine()


def test_alone_it_listens_on_this_machine_only(tmp_path: Path) -> None:

    with served(blank_job(tmp_path)) as here:
        listening = {
            line.split()[1].partition(":")[0]
            for line in Path("/proc/net/tcp").read_text().splitlines()[1:]
            if line.split()[1].endswith(f":{here.port:04X}") and line.split()[3] == "0A"
        }
    assert listening == {"0100007F"}
