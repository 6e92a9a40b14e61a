"""Work that is ended while its process is still being begun."""

from __future__ import annotations

import asyncio
import multiprocessing
import time
from pathlib import Path
from typing import Any

import pytest

from made_server import blank_job
from ribband.web import work as room
from ribband.web.live import Live
from ribband.web.work import Work


def works_long(*_given: Any) -> None:
    time.sleep(60.0)


def test_work_ended_as_it_begins_leaves_no_process_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "plan_aside", works_long)

    async def ended_at_once() -> int:
        work = Work(blank_job(tmp_path), Live())
        for _ in range(3):
            work.start("survey")
            await asyncio.sleep(0)  # its process is being begun in a thread now
            work.cancel()
        for _ in range(100):
            await asyncio.sleep(0.05)
            if not multiprocessing.active_children():
                break
        return len(multiprocessing.active_children())

    left = asyncio.run(ended_at_once())
    for process in multiprocessing.active_children():
        process.kill()
    assert left == 0
