"""Nothing runs on without end: time and memory of steps, of work in hand, of papers."""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from made_server import blank_job
from ribband.app.demo import copy_example
from ribband.app.entering.jobs import new_job
from ribband.app.plan import limits, runner, work_aside
from ribband.app.plan.inputs import read_inputs
from ribband.app.plan.runner import MemoryShelf
from ribband.cli import cli
from ribband.errors import NotConverged
from ribband.store.forms import body_of, hash_of
from ribband.web import aside as web_aside
from ribband.web import work as web_work
from ribband.web.aside import Aside
from ribband.web.live import Live
from ribband.web.work import Work

LINUX = sys.platform.startswith("linux")


@pytest.fixture(scope="module")
def forms(tmp_path_factory: pytest.TempPathFactory) -> Any:
    return read_inputs(copy_example("marl_heron_girths", tmp_path_factory.mktemp("forms")))


def hashes(forms: Any) -> dict[str, str]:
    return {name: hash_of(body_of(form)) for name, form in forms.items()}


def test_a_step_that_takes_too_long_is_left_and_what_was_made_stays(
    forms: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock, now = time.monotonic, [0.0]
    whole = runner.make

    def slow(name: str, bench: Any, tell: Any) -> Any:
        if name == "lining":
            now[0] = limits.STEP_SECONDS + 100.0  # and twice the 30 s of a search
            tell(0.5, "half of it")
        return whole(name, bench, tell)

    monkeypatch.setattr(limits.time, "monotonic", lambda: clock() + now[0])
    monkeypatch.setattr(runner, "make", slow)
    shelf = MemoryShelf()
    done = runner.run(forms, hashes(forms), shelf, "lining")
    assert "did not settle: it took longer than 15 minutes and was left" in done.stopped
    assert len(shelf.results) == len(done.bench.made) > 0
    assert "lining" not in done.bench.made
    now[0] = 0.0
    monkeypatch.setattr(runner, "make", whole)
    assert not runner.run(forms, hashes(forms), shelf, "lining").stopped


def goes_round(seconds: float) -> None:
    """Be at something for long, and tell nothing."""
    until = time.perf_counter() + seconds
    while time.perf_counter() < until:
        sum(range(100))


def test_a_step_that_tells_nothing_is_left_too(forms: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = runner.make

    def slow(name: str, bench: Any, tell: Any) -> Any:
        if name == "lining":
            goes_round(30.0)
        return whole(name, bench, tell)

    runner.run(forms, hashes(forms), MemoryShelf(), "hull")  # so that all is loaded
    monkeypatch.setattr(limits, "STEP_SECONDS", 1.0)
    monkeypatch.setattr(runner, "make", slow)
    shelf = MemoryShelf()
    done = runner.run(forms, hashes(forms), shelf, "lining")
    assert "lining out did not settle: it took longer than" in done.stopped
    assert set(done.bench.made) == {"survey", "hull"}
    assert len(shelf.results) == 2


def test_who_does_not_hear_is_told_again_and_who_is_done_is_left_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(limits, "STEP_SECONDS", 0.05)
    monkeypatch.setattr(limits, "AGAIN_SECONDS", 0.05)
    heard = []

    @limits.held()
    def tries() -> None:
        for _ in range(3):  # a search that takes it for the end of one of its tries
            try:
                goes_round(5.0)
            except NotConverged:
                heard.append(1)
        goes_round(5.0)

    with pytest.raises(NotConverged, match="and was left"):
        tries()
    assert len(heard) == 3
    for _ in range(30):
        with limits.held(searched=0.5):
            pass
    goes_round(0.2)


@pytest.mark.parametrize(("said", "minutes"), [("2", 2), ("0", 15), ("601", 15), ("long", 15)])
def test_how_long_a_step_may_take_is_said(
    monkeypatch: pytest.MonkeyPatch, said: str, minutes: int
) -> None:
    monkeypatch.setenv("RIBBAND_STEP_MINUTES", said)
    assert limits.step_seconds() == 60.0 * minutes
    assert f"longer than {minutes} minutes" in str(limits.TooLong())


def run_alone(code: str, **env: str) -> subprocess.CompletedProcess[str]:
    words = [sys.executable, "-c", code]
    return subprocess.run(words, env=os.environ | env, capture_output=True, text=True, check=False)


def test_a_command_within_a_call_that_cannot_be_left_is_ended() -> None:
    code = (
        "import time; from ribband.app.plan import limits\n"
        "limits.STEP_SECONDS = limits.LAST_SECONDS = limits.AGAIN_SECONDS = 0.1\n"
        "limits.hold_memory()\nwith limits.held(): time.sleep(600)\n"
    )
    began = time.monotonic()
    done = run_alone(code)
    assert done.returncode == 1
    assert "It did not settle: it took longer than" in done.stderr
    assert "what was kept stays" in done.stderr
    assert time.monotonic() - began < 120.0


@pytest.mark.skipif(not LINUX, reason="a limit of the process")
def test_the_command_line_is_held_to_its_memory() -> None:
    code = (
        "import sys; from ribband import cli; from ribband.app.plan import status\n"
        "status.status_answer = lambda job: bytearray(900_000_000)\n"
        "sys.argv = ['ribband', 'status', 'heron']; cli.main()\n"
    )
    done = run_alone(code, RIBBAND_MEMORY_MB="600")
    assert done.returncode == 1
    assert "not enough memory" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_step_that_wants_too_much_memory_is_left(
    forms: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(name: str, bench: Any, tell: Any) -> Any:
        raise MemoryError

    monkeypatch.setattr(runner, "make", fails)
    done = runner.run(forms, hashes(forms), MemoryShelf(), "hull")
    assert "was left: there is not enough memory" in done.stopped
    assert not done.bench.made


@pytest.mark.skipif(not LINUX, reason="a limit of the process")
def test_a_process_of_work_is_held_to_its_memory() -> None:
    code = "from ribband.app.plan.limits import hold_memory; hold_memory()\n"
    code += "try: bytearray(900_000_000)\nexcept MemoryError: print('held')"
    env = os.environ | {"RIBBAND_MEMORY_MB": "600"}
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=env,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert done.stdout == "held\n"


def test_how_much_memory_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("RIBBAND_MEMORY_MB", raising=False)
    assert limits.LEAST_BYTES <= limits.most_bytes() <= limits.MOST_BYTES
    for said, wanted in (("2000", 2_000_000_000), ("1", limits.LEAST_BYTES)):
        monkeypatch.setenv("RIBBAND_MEMORY_MB", said)
        assert limits.most_bytes() == wanted
    for said in ("much", "-5", "٣", "1e9"):
        monkeypatch.setenv("RIBBAND_MEMORY_MB", said)
        assert limits.most_bytes() <= limits.MOST_BYTES


class Pipe:
    def __init__(self) -> None:
        self.sent: list[dict[str, Any]] = []

    def send(self, said: dict[str, Any]) -> None:
        self.sent.append(said)

    def close(self) -> None:
        pass


def test_work_aside_says_in_words_that_memory_was_wanting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(work_aside, "_rounds", fails)
    monkeypatch.setattr(work_aside, "hold_memory", lambda: None)
    pipe = Pipe()
    work_aside.plan_aside(pipe, tmp_path, "hull", 1.0)  # type: ignore[arg-type]
    (said,) = pipe.sent
    assert "not enough memory" in said["says"]
    assert said["kind"] == "trouble"


def worked(job: Path, meanwhile: Callable[[Work], None]) -> str:
    """Start work, do something to it, and give what is said in the end."""

    async def go() -> str:
        work = Work(job, Live(), by_itself=False)
        work.start()
        for _ in range(1200):
            await asyncio.sleep(0.05)
            meanwhile(work)
            if work.state.state != "running":
                break
        says = work.state.says
        await work.close()
        return says

    return asyncio.run(go())


@pytest.mark.skipif(not LINUX, reason="signals")
def test_work_that_the_system_ended_is_told_of(tmp_path: Path) -> None:
    def kill(work: Work) -> None:
        process = work._process
        if process is not None and process.pid is not None and process.is_alive():
            os.kill(process.pid, signal.SIGKILL)

    assert "for want of memory" in worked(blank_job(tmp_path), kill)


def test_work_that_goes_on_too_long_is_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(web_work, "WORK_SECONDS", -3.9)  # besides the 4 s of its search
    says = worked(blank_job(tmp_path), lambda work: None)
    assert "took longer than" in says
    assert "what was kept stays" in says


def test_what_a_hand_waits_for_has_an_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(web_aside, "ASIDE_SECONDS", 0.2)

    async def go() -> None:
        aside = Aside()
        try:
            await aside.run(time.sleep, 30)
        finally:
            aside.close()

    with pytest.raises(NotConverged, match="it took longer than"):
        asyncio.run(go())


@pytest.mark.skipif(not LINUX, reason="signals")
def test_what_a_hand_waits_for_and_the_system_ends_is_told_of() -> None:
    async def go() -> None:
        aside = Aside()
        try:
            await aside.run(signal.raise_signal, signal.SIGKILL)
        finally:
            aside.close()

    with pytest.raises(NotConverged, match="for want of memory"):
        asyncio.run(go())


def test_the_command_line_says_it_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = new_job(tmp_path / "heron", copy_example("marl_heron_girths", tmp_path / "forms")).job

    def fails(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr("ribband.app.plan.status.status_answer", fails)
    done = CliRunner().invoke(cli, ["status", str(job)], prog_name="ribband")
    assert done.exit_code == 1
    assert "not enough memory" in done.output
    assert "Traceback" not in done.output
