"""A plan made task by task, and made better by making it again from both ends.

*Serial*: tasks are taken in an order that keeps the links, and each is put at the first slots
where all it uses is free. *Pushed*: the plan is made again backwards from its end, every task as
late as it goes, and then forwards again, which closes gaps. *Shaken*: orders are changed a little
at a time, and whole tasks put off by some slots so that hands need not stand ready for two planks
out of the box at once; what ends no later is kept.

Not checked here: the plan made; `work/check.py` does that, apart.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from ribband.shop.work.project import Ints, Project, heads, mirrored, order_of, tails
from ribband.shop.work.slots import Slots

__all__ = ["end_of", "first_plan", "pushed", "serial", "shaken"]

MOST_DELAY = 24  # slots by which a whole task is put off
FRUITLESS = 60  # tries without gain before the search is left


def end_of(project: Project, starts: Ints) -> int:
    """Give the slot at which everything is done."""
    return int(max(s + t.duration for s, t in zip(starts, project.tasks, strict=True)))


def serial(
    project: Project, urgency: Sequence[float], delay: Sequence[int] | None = None
) -> Ints | None:
    """Put every task at the first place it fits, the most urgent first; None: past the horizon.

    `delay`: slots by which each task is put off from its first place, and to the next that fits.

    >>> from ribband.shop.work.project import Task, Use
    >>> tasks = tuple(Task(f"hang {n}", 4, (Use(0, 3, 0, 4),)) for n in range(3))
    >>> serial(Project(tasks, (), np.full((1, 99), 6)), [0, 1, 2])
    array([0, 0, 4])
    """
    slots = Slots(project)
    starts = [task.release for task in project.tasks]
    out: list[list[tuple[int, int]]] = [[] for _ in project.tasks]
    for link in project.links:
        out[link.before].append((link.after, link.lag))
    for n in order_of(project, urgency):
        at = slots.first_fit(project.tasks[n], max(0, starts[n]))
        if at is not None and delay is not None and delay[n]:
            at = slots.first_fit(project.tasks[n], at + delay[n])
        if at is None:
            return None
        starts[n] = slots.take(project.tasks[n], at)
        for after, lag in out[n]:
            starts[after] = max(starts[after], at + lag)
    return np.array(starts, dtype=np.int64)


def pushed(project: Project, starts: Ints) -> Ints:
    """Make a plan again backwards and forwards while its end comes forward."""
    while True:
        again = _pushed_once(project, starts)
        if again is None or end_of(project, again) >= end_of(project, starts):
            return starts
        starts = again


def _pushed_once(project: Project, starts: Ints, delay: Sequence[int] | None = None) -> Ints | None:
    end = end_of(project, starts)
    long = np.array([task.duration for task in project.tasks])
    late = serial(mirrored(project, end), [float(x) for x in end - starts - long])
    if late is None:
        return None
    return serial(project, [float(x) for x in end - late - long], delay)


def first_plan(project: Project, urgencies: Sequence[Sequence[float]] = ()) -> Ints | None:
    """Give the best of the plans made by plain rules: the least slack first, and those given."""
    slack = [float(-x) for x in tails(project)], [float(x) for x in heads(project)]
    plans = [plan for rule in (*urgencies, *slack) if (plan := serial(project, rule)) is not None]
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
    whole = np.array([task.whole for task in project.tasks])
    best = here = starts
    delay, fruitless = np.zeros(len(here), dtype=np.int64), 0
    while end_of(project, best) > bound and time.perf_counter() < until and fruitless < FRUITLESS:
        fruitless += 1
        put_off = _put_off(delay, whole, rng)
        tried = _tried(project, here, put_off, rng)
        if tried is None:
            continue
        if end_of(project, tried) <= end_of(project, here):
            here, delay = tried, put_off
        if end_of(project, here) < end_of(project, best):
            best, fruitless = here, 0
            if told:
                told(end_of(project, best))
    return best


def _put_off(delay: Ints, whole: NDArray[np.bool_], rng: np.random.Generator) -> Ints:
    """Change the delays of some of the whole tasks."""
    some = whole & (rng.random(len(delay)) < rng.choice([0.02, 0.1, 0.3]))
    fresh = rng.integers(0, MOST_DELAY, len(delay)) * (rng.random(len(delay)) < 0.7)
    return np.where(some, fresh, delay)


def _tried(project: Project, here: Ints, delay: Ints, rng: np.random.Generator) -> Ints | None:
    """Make the plan again in a shaken order, then backwards and forwards."""
    reach = rng.choice([0.001, 0.003, 0.01, 0.03]) * end_of(project, here)
    urgency = here + rng.normal(0.0, max(1.0, reach), len(here))
    off = [int(d) for d in delay]
    tried = serial(project, [float(x) for x in urgency], off)
    if tried is None or rng.random() < 0.5:
        return tried
    again = _pushed_once(project, tried, off)
    return tried if again is None else again
