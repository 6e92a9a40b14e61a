"""A plan made task by task, and made better by making it again from both ends.

*Serial*: tasks are taken in an order that keeps the links, and each is put at the first slots
where all it uses is free. *In step*: time is gone through slot by slot, and what can begin is
begun. *Pushed*: the plan is made again backwards from its end, every task as
late as it goes, and then forwards again, which closes gaps. Orders are then shaken a little at a
time and kept where the end is no later.

Not checked here: the plan made; `work_check.py` does that, apart.
"""

from __future__ import annotations

import heapq
import time
from bisect import insort
from collections.abc import Callable, Sequence

import numpy as np

from ribband.shop.work_project import Ints, Project, heads, mirrored, order_of, tails
from ribband.shop.work_slots import Slots

__all__ = ["end_of", "first_plan", "in_step", "pushed", "serial", "shaken"]

FRUITLESS = 60  # tries without gain before the search is left


def end_of(project: Project, starts: Ints) -> int:
    """Give the slot at which everything is done."""
    return int(max(s + t.duration for s, t in zip(starts, project.tasks, strict=True)))


def serial(project: Project, urgency: Sequence[float]) -> Ints | None:
    """Put every task at the first place it fits, the most urgent first; None: past the horizon.

    >>> from ribband.shop.work_project import Task, Use
    >>> tasks = tuple(Task(f"hang {n}", 4, (Use(0, 3, 0, 4),)) for n in range(3))
    >>> serial(Project(tasks, (), np.full((1, 99), 6)), [0, 1, 2])
    array([0, 0, 4])
    """
    slots = Slots(project.capacity, project.breaks)
    starts = [task.release for task in project.tasks]
    out: list[list[tuple[int, int]]] = [[] for _ in project.tasks]
    for link in project.links:
        out[link.before].append((link.after, link.lag))
    for n in order_of(project, urgency):
        at = slots.first_fit(project.tasks[n], max(0, starts[n]))
        if at is None:
            return None
        starts[n] = slots.take(project.tasks[n], at)
        for after, lag in out[n]:
            starts[after] = max(starts[after], at + lag)
    return np.array(starts, dtype=np.int64)


def in_step(project: Project, urgency: Sequence[float]) -> Ints | None:
    """Go through time and begin whatever can begin, the most urgent first; None as `serial`.

    Nobody stands idle while there is anything they could take up.

    >>> from ribband.shop.work_project import Task, Use
    >>> tasks = tuple(Task(f"hang {n}", 4, (Use(0, 3, 0, 4),)) for n in range(3))
    >>> in_step(Project(tasks, (), np.full((1, 99), 6)), [0, 1, 2])
    array([0, 0, 4])
    """
    slots = Slots(project.capacity, project.breaks)
    shop = _Shop(project, urgency)
    now = 0
    while shop.left and now < project.horizon:
        if not shop.begun(slots, now):
            now = shop.next_after(now)
    return None if shop.left else np.array(shop.starts, dtype=np.int64)


class _Shop:
    """The state of `in_step`: what waits for others, what is ready, when something changes."""

    def __init__(self, project: Project, urgency: Sequence[float]) -> None:
        self.tasks, self.urgency = project.tasks, urgency
        self.starts = [task.release for task in project.tasks]
        self.waits = [0] * len(project.tasks)
        self.out: list[list[tuple[int, int]]] = [[] for _ in project.tasks]
        for link in project.links:
            self.waits[link.after] += 1
            self.out[link.before].append((link.after, link.lag))
        self.left = len(project.tasks)
        self.ready: list[tuple[float, int]] = []
        self.changes = sorted({0, *project.breaks})
        self.soon: list[tuple[int, int]] = []
        for n, wait in enumerate(self.waits):
            if not wait:
                heapq.heappush(self.soon, (self.starts[n], n))

    def begun(self, slots: Slots, now: int) -> bool:
        """Begin what can begin now; tells whether anything did."""
        while self.soon and self.soon[0][0] <= now:
            n = heapq.heappop(self.soon)[1]
            insort(self.ready, (self.urgency[n], n))
        kept, any_begun = [], False
        for key, n in self.ready:
            if slots.fits_at(self.tasks[n], now):
                self._begin(slots, n, now)
                any_begun = True
            else:
                kept.append((key, n))
        self.ready = kept
        return any_begun

    def _begin(self, slots: Slots, n: int, now: int) -> None:
        self.starts[n] = slots.take(self.tasks[n], now)
        self.left -= 1
        for use in self.tasks[n].uses:
            heapq.heappush(self.changes, now + use.end)
        for after, lag in self.out[n]:
            self.starts[after] = max(self.starts[after], now + lag)
            self.waits[after] -= 1
            if not self.waits[after]:
                heapq.heappush(self.soon, (self.starts[after], after))

    def next_after(self, now: int) -> int:
        """Give the next slot at which anything may change."""
        while self.changes and self.changes[0] <= now:
            heapq.heappop(self.changes)
        nexts = [*self.changes[:1], *(slot for slot, _ in self.soon[:1])]
        return max(now + 1, min(nexts, default=now + 1))


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
    tail = [float(-x) for x in tails(project)]
    rules = [*urgencies, tail, [float(x) for x in heads(project)]]
    makers = [(serial, rule) for rule in rules] + [(in_step, rule) for rule in rules]
    plans = [plan for make, rule in makers if (plan := make(project, rule)) is not None]
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
