"""A plan closed up window by window: hands are left idle for as few slots as can be found.

*Sweep*: from the first slot on, what the plan begins in a window of time is put in place again in
several shaken orders, with whole tasks put off by some slots; the order that uses most of the
busiest resource within the window is kept, and the sweep goes on behind it. Where many tasks of
few sizes must fill few hands, this finds what shaking a whole plan does not.

Not checked here: the plan made.
"""

from __future__ import annotations

import heapq
import time
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from ribband.shop.work.project import Ints, Project
from ribband.shop.work.serial import end_of
from ribband.shop.work.slots import Slots

__all__ = ["swept"]

TRIES = 16  # orders tried in each window
PUT_OFF = 9  # slots by which a whole task is put off at most
WINDOWS = (45, 60)  # windows in a whole plan


def swept(  # noqa: PLR0917 - a search: the work, where from, how far, how long, by what chance
    project: Project,
    starts: Ints,
    goal: int,
    seconds: float,
    seed: int,
    told: Callable[[int], None] | None = None,
) -> Ints:
    """Sweep a plan for so many seconds, or until its end is the goal; gives the best."""
    rng = np.random.default_rng(seed)
    until = time.perf_counter() + seconds
    sweep = _Sweep(project)
    best = starts
    while end_of(project, best) > goal and time.perf_counter() < until:
        windows = int(rng.choice(WINDOWS))
        tried = sweep.once(best, max(1, end_of(project, best) // windows), rng, until)
        if tried is not None and end_of(project, tried) <= end_of(project, best):
            if told and end_of(project, tried) < end_of(project, best):
                told(end_of(project, tried))
            best = tried
    return best


class _Sweep:
    """What stays the same from sweep to sweep: links both ways, and the busiest resource."""

    def __init__(self, project: Project) -> None:
        self.project, self.tasks = project, project.tasks
        self.before: list[list[tuple[int, int]]] = [[] for _ in project.tasks]
        self.after: list[list[int]] = [[] for _ in project.tasks]
        for link in project.links:
            self.before[link.after].append((link.before, link.lag))
            self.after[link.before].append(link.after)
        self.busy = [
            [(use.begin, use.end, use.amount) for use in task.uses if use.resource == busiest]
            for busiest in [_busiest(project)]
            for task in project.tasks
        ]

    def once(self, starts: Ints, width: int, rng: np.random.Generator, until: float) -> Ints | None:
        """Sweep once; None where time ran out or the work no longer fits."""
        slots = Slots(self.project)
        plan = starts.copy()
        fixed: dict[int, int] = {}
        left = set(range(len(plan)))
        first = 0
        while left:
            if time.perf_counter() > until:
                return None
            last = first + width
            group = self._group(left, plan, last + width)
            tried = self._best(slots, group, fixed, plan, (first, last), rng)
            if tried is None:
                return None
            for n in self._done(tried, last):
                fixed[n] = slots.take(self.tasks[n], tried[n])
                left.discard(n)
            for n, at in tried.items():
                plan[n] = at
            first = last
        return plan

    def _group(self, left: set[int], plan: Ints, last: int) -> set[int]:
        """Give what begins before a slot, with all of it that is linked before."""
        group = {n for n in left if plan[n] < last}
        ask = list(group)
        while ask:
            for other, _ in self.before[ask.pop()]:
                if other in left and other not in group:
                    group.add(other)
                    ask.append(other)
        return group

    def _best(  # noqa: PLR0917 - what stands, what is to be put, where
        self,
        slots: Slots,
        group: set[int],
        fixed: Mapping[int, int],
        plan: Ints,
        window: tuple[int, int],
        rng: np.random.Generator,
    ) -> dict[int, int] | None:
        best, most = None, -1.0
        own = sorted(group)
        for k in range(TRIES):
            reach = 0.0 if k == 0 else float(rng.choice([0.05, 0.2, 0.6])) * (window[1] - window[0])
            noise = rng.normal(0.0, 1.0, len(own)) * reach
            off = rng.integers(0, PUT_OFF, len(own)) * (rng.random(len(own)) < 0.5) * (k % 2)
            urgency = {n: float(plan[n]) + noise[i] for i, n in enumerate(own)}
            delay = {n: int(off[i]) for i, n in enumerate(own) if self.tasks[n].whole}
            tried = self._put(slots.copy(), group, fixed, urgency, delay)
            used = -1.0 if tried is None else self._used(tried, window)
            if used > most:
                best, most = tried, used
        return best

    def _put(
        self,
        slots: Slots,
        group: set[int],
        fixed: Mapping[int, int],
        urgency: Mapping[int, float],
        delay: Mapping[int, int],
    ) -> dict[int, int] | None:
        """Put a group in place behind what is fixed, the most urgent first."""
        placed: dict[int, int] = {}
        waits = {n: sum(other in group for other, _ in self.before[n]) for n in group}
        ready = [(urgency[n], n) for n, wait in waits.items() if not wait]
        heapq.heapify(ready)
        while ready:
            n = heapq.heappop(ready)[1]
            at = self._place(slots, n, fixed, placed, delay.get(n, 0))
            if at is None:
                return None
            placed[n] = at
            for other in self.after[n]:
                if other in group:
                    waits[other] -= 1
                    if not waits[other]:
                        heapq.heappush(ready, (urgency[other], other))
        return placed

    def _place(
        self, slots: Slots, n: int, fixed: Mapping[int, int], placed: Mapping[int, int], off: int
    ) -> int | None:
        task = self.tasks[n]
        at: int | None = task.release
        for other, lag in self.before[n]:
            begun = placed[other] if other in placed else fixed[other]
            at = max(at or 0, begun + lag)
        at = slots.first_fit(task, at or 0)
        if at is not None and off:
            at = slots.first_fit(task, at + off)
        return None if at is None else slots.take(task, at)

    def _used(self, placed: Mapping[int, int], window: tuple[int, int]) -> float:
        """Give how much of the busiest resource is used within a window."""
        first, last = window
        return float(
            sum(
                amount * max(0, min(last, at + b) - max(first, at + a))
                for n, at in placed.items()
                for a, b, amount in self.busy[n]
            )
        )

    def _done(self, tried: Mapping[int, int], last: int) -> list[int]:
        """Give what begins before a slot, with all of it that is linked before."""
        done = {n for n, at in tried.items() if at < last}
        ask = list(done)
        while ask:
            for other, _ in self.before[ask.pop()]:
                if other in tried and other not in done:
                    done.add(other)
                    ask.append(other)
        return sorted(done, key=lambda n: tried[n])


def _busiest(project: Project) -> int:
    """Give the resource with the most work for what there is of it."""
    work = np.zeros(project.capacity.shape[0])
    for task in project.tasks:
        for use in task.uses:
            work[use.resource] += use.amount * (use.end - use.begin)
    loads: Sequence[float] = work / np.maximum(project.capacity.mean(axis=1), 1e-9)
    return int(np.argmax(loads)) if len(loads) else -1
