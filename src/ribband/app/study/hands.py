"""Who plans the alternatives: this machine's cores, or a cluster of workers by its address.

Both give outcomes as they come, in whatever order. A worker that is lost in the middle loses only
what it was at: that is given to another, up to `TRIES` times, after which the alternative is said
to be lost and the rest goes on. Both may be left at any moment (Ctrl+C); what is in hand is then
dropped, what was given is the caller's.

The cluster speaks Dask's protocol: any scheduler of it, with workers that have the same Ribband.
Who can reach a scheduler can run programs on its workers: see docs/study.md.
"""

from __future__ import annotations

import multiprocessing
import signal
import time
from collections import Counter
from collections.abc import Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from importlib.util import find_spec
from typing import Any, NamedTuple

from ribband.app.plan.limits import end_with_parent
from ribband.app.study.work import OtherProgram, Outcome, Task, plan_one
from ribband.errors import InputError, Problem

__all__ = ["TRIES", "Lost", "on_cluster", "on_cores"]

TRIES = 3  # times an alternative is begun before it is said to be lost
ANSWER_SECONDS = 15.0  # for a cluster to answer
LOOK_SECONDS = 0.1
UNDER_WAY = {"pending", "lost"}  # lost with its worker: the scheduler gives it to another
ALONE_SECONDS = 60.0  # without any worker, before the study is left


class Lost(NamedTuple):
    """A task that no worker brought to an end, and why."""

    task: Task
    says: str


Came = Outcome | Lost


def on_cores(tasks: Sequence[Task], cores: int) -> Generator[Came, None, None]:
    """Plan on so many cores of this machine, each in a process of its own."""
    begun: Counter[str] = Counter()
    left = list(tasks)
    while left:
        done: set[str] = set()
        hurt: list[str] = []
        for came in _one_pool(left, cores, hurt):
            done.add(came.key)
            yield came
        left = [task for task in left if task.key not in done]
        begun.update(hurt)
        for task in [task for task in left if begun[task.key] >= TRIES]:
            left.remove(task)
            yield Lost(task, f"its process was ended {TRIES} times while it was at it")


def _one_pool(tasks: Sequence[Task], cores: int, hurt: list[str]) -> Iterator[Outcome]:
    """Plan until all is done or a process is lost; `hurt` names what was in hand then.

    No more is handed in than can be begun, so that a lost process hurts only what was begun.
    """
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(min(cores, len(tasks)), context, initializer=_begin)
    waiting = list(reversed(tasks))
    at: dict[Future[Outcome], Task] = {}
    try:
        while waiting or at:
            while waiting and len(at) < cores:
                task = waiting.pop()
                at[pool.submit(plan_one, task)] = task
            yield from _ended(at)
    except BrokenProcessPool:
        hurt += [task.key for task in at.values()]
    finally:
        _close(pool)


def _ended(at: dict[Future[Outcome], Task]) -> Iterator[Outcome]:
    """Take out what has ended; what was well done is given before a lost process is told of."""
    ended, _ = wait(at, return_when=FIRST_COMPLETED)
    broken: BrokenProcessPool | None = None
    for future in ended:
        error = future.exception()
        if isinstance(error, BrokenProcessPool):
            broken = error
            continue
        del at[future]
        yield future.result()
    if broken is not None:
        raise broken


def _close(pool: ProcessPoolExecutor) -> None:
    for process in list((pool._processes or {}).values()):  # no public way before 3.14
        process.terminate()
    pool.shutdown(wait=True, cancel_futures=True)


def _begin() -> None:
    """Leave Ctrl+C to the one who asks, and end when that one ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent()


def on_cluster(tasks: Sequence[Task], address: str) -> Generator[Came, None, None]:
    """Plan on the workers of a cluster.

    Raises
    ------
    InputError : the cluster's package is not installed, or nothing answers at the address
    OtherProgram : its workers run another version
    ConnectionError : the cluster is gone, or has been without workers for a minute
    """
    client = _reached(address)
    try:
        yield from _gathered(client, tasks)
    finally:
        client.close(timeout=5)


def _reached(address: str) -> Any:
    if find_spec("distributed") is None:
        wanted = "the package distributed, which comes with Ribband's extra called cluster"
        raise InputError([Problem("study", 0, "cluster", "not installed here", wanted)])
    from distributed import Client

    made: Any = Client
    try:
        return made(address, timeout=ANSWER_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError, ImportError) as wrong:
        wanted = "the address of a scheduler that answers"
        problem = Problem("study", 0, "cluster", address, wanted, "tcp://127.0.0.1:8786")
        raise InputError([problem]) from wrong


def _gathered(client: Any, tasks: Sequence[Task]) -> Iterator[Came]:
    """Send every task out and take what comes; nothing is left there when this is left."""
    left = {_sent(client, task): task for task in tasks}
    again: Counter[str] = Counter()
    seen = time.monotonic()
    try:
        while left:
            ended = [future for future in left if future.status not in UNDER_WAY]
            for future in ended:
                task = left.pop(future)
                if future.status == "cancelled" and again[task.key] < TRIES:
                    again[task.key] += 1
                    left[_sent(client, task, again[task.key])] = task
                    continue
                came = _came(future, task)
                if came is None:
                    left[future] = task
                else:
                    yield came
            if ended or _workers(client):
                seen = time.monotonic()
            elif time.monotonic() - seen > ALONE_SECONDS or client.status == "closed":
                raise ConnectionError("the cluster is gone, or has no workers any more")
            time.sleep(0.0 if ended else LOOK_SECONDS)
    finally:
        if client.status == "running":
            client.cancel(list(left), force=True)


def _sent(client: Any, task: Task, again: int = 0) -> Any:
    return client.submit(plan_one, task, key=f"ribband-{task.key}-{again}", pure=False)


def _came(future: Any, task: Task) -> Came | None:
    """Take what a future has ended with: None if it is under way again.

    What has ended lies on its worker until it is taken; lost with that worker it is worked anew,
    whatever the future said a moment before. So it is asked for by its result alone.
    """
    try:
        outcome: Outcome = future.result(timeout=ANSWER_SECONDS)
    except CancelledError as gone:
        raise ConnectionError("the cluster is gone, or others took the study off it") from gone
    except OtherProgram:
        raise
    except (ImportError, AttributeError) as error:
        raise OtherProgram(f"a worker has no Ribband of this version: {error}") from error
    except Exception as error:  # whatever the planning of it raised, over there
        if isinstance(error, TimeoutError) and future.status != "error":
            return None
        return Lost(task, f"{type(error).__name__}: {error}")
    return outcome


def _workers(client: Any) -> bool:
    """Tell whether a worker is there, by the client's last word from the scheduler."""
    return client.status == "running" and bool(client.scheduler_info().get("workers"))
