"""A plan made task by task, and made better by making it again from both ends.

*Serial*: tasks are taken in an order that keeps the links, and each is put at the first slots
where all it uses is free. *Pushed*: the plan is made again backwards from its end, every task as
late as it goes, and then forwards again, which closes gaps. Orders are then shaken a little at a
time and kept where the end is no later.

Not checked here: the plan made; `work_check.py` does that, apart.
"""

from __future__ import annotations

import time
from bisect import bisect_right
from collections.abc import Callable, Sequence

import numpy as np

from ribband.shop.work_project import Ints, Project, Task, heads, mirrored, order_of, tails

__all__ = ["end_of", "first_plan", "pushed", "serial", "shaken"]

FRUITLESS = 60  # tries without gain before the search is left


def end_of(project: Project, starts: Ints) -> int:
    """Give the slot at which everything is done."""
    return int(max(s + t.duration for s, t in zip(starts, project.tasks, strict=True)))


def serial(project: Project, urgency: Sequence[float]) -> Ints | None:
    """Put every task at the first place it fits, the most urgent first; None: past the horizon.

    >>> from ribband.shop.work_project import Use
    >>> tasks = tuple(Task(f"hang {n}", 4, (Use(0, 3, 0, 4),)) for n in range(3))
    >>> serial(Project(tasks, (), np.full((1, 99), 6)), [0, 1, 2])
    array([0, 0, 4])
    """
    free = project.capacity.copy()
    starts = np.array([task.release for task in project.tasks], dtype=np.int64)
    out: list[list[tuple[int, int]]] = [[] for _ in project.tasks]
    for link in project.links:
        out[link.before].append((link.after, link.lag))
    for n in order_of(project, urgency):
        task = project.tasks[n]
        at = _first_fit(free, task, max(0, int(starts[n])), project.breaks)
        if at is None:
            return None
        starts[n] = at
        for use in task.uses:
            free[use.resource, at + use.begin : at + use.end] -= use.amount
        for after, lag in out[n]:
            starts[after] = max(starts[after], at + lag)
    return starts


def _first_fit(free: Ints, task: Task, at: int, breaks: Sequence[int]) -> int | None:
    """Find the first slot from `at` where all a task uses is free."""
    horizon = free.shape[1]
    while at + task.duration <= horizon:
        moved = _past_break(task, at, breaks) if task.whole else at
        if moved == at:
            moved = _past_clash(free, task, at)
        if moved == at:
            return at
        at = moved
    return None


def _past_break(task: Task, at: int, breaks: Sequence[int]) -> int:
    place = bisect_right(breaks, at)
    crossed = place < len(breaks) and at + task.duration > breaks[place]
    return breaks[place] if crossed else at


def _past_clash(free: Ints, task: Task, at: int) -> int:
    for use in task.uses:
        short = free[use.resource, at + use.begin : at + use.end] < use.amount
        if short.any():
            return at + len(short) - int(short[::-1].argmax())
    return at


def pushed(project: Project, starts: Ints) -> Ints:
    """Make a plan again backwards and forwards while its end comes forward."""
    while True:
        again = _pushed_once(project, starts)
        if again is None or end_of(project, again) >= end_of(project, starts):
            return starts
        starts = again


def _pushed_once(project: Project, starts: Ints) -> Ints | None:
    end = end_of(project, starts)
    long = np.array([task.duration for task in project.tasks])
    late = serial(mirrored(project, end), [float(x) for x in end - starts - long])
    if late is None:
        return None
    return serial(project, [float(x) for x in end - late - long])


def first_plan(project: Project, urgencies: Sequence[Sequence[float]] = ()) -> Ints | None:
    """Give the best of the plans made by plain rules: the least slack first, and those given."""
    slack = heads(project), tails(project)
    rules = [*urgencies, [float(x) for x in -slack[1]], [float(x) for x in slack[0]]]
    plans = [plan for rule in rules if (plan := serial(project, rule)) is not None]
    if not plans:
        return None
    return min((pushed(project, plan) for plan in plans), key=lambda p: end_of(project, p))


def shaken(  # noqa: PLR0917 - a search: the work, where from, how far, how long, by what chance
    project: Project,
    starts: Ints,
    bound: int,
    seconds: float,
    seed: int,
    told: Callable[[int], None] | None = None,
) -> Ints:
    """Shake the order of a plan for so many seconds, or until its end is the bound."""
    rng = np.random.default_rng(seed)
    until = time.perf_counter() + seconds
    best, here, fruitless = starts, starts, 0
    while end_of(project, best) > bound and time.perf_counter() < until and fruitless < FRUITLESS:
        fruitless += 1
        reach = rng.choice([0.003, 0.01, 0.03, 0.1]) * end_of(project, best)
        urgency = here + rng.normal(0.0, max(1.0, reach), len(here))
        tried = serial(project, [float(x) for x in urgency])
        if tried is None:
            continue
        tried = pushed(project, tried)
        if end_of(project, tried) <= end_of(project, here):
            here = tried
        if end_of(project, here) < end_of(project, best):
            best, fruitless = here, 0
            if told:
                told(end_of(project, best))
    return best
