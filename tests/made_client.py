"""The server in this process, without a socket: for what needs no browser."""

from __future__ import annotations

import time
import warnings
from typing import Any

with warnings.catch_warnings():  # it asks for a successor of httpx that is not needed here
    warnings.simplefilter("ignore")
    from fastapi.testclient import TestClient

__all__ = ["TestClient", "hello"]

LIVE = "ws://127.0.0.1/live"


def hello(here: TestClient, **headers: str) -> dict[str, Any]:
    """Open the socket, take its first message and leave in good order."""
    with here.websocket_connect(LIVE, headers=headers) as socket:
        said: dict[str, Any] = socket.receive_json()
        socket.close()
        hands = here.app.state.yard.live.hands
        while hands:
            time.sleep(0.01)
        time.sleep(0.05)
    return said
