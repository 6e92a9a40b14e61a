"""Work as a scheduler sees it: tasks, what they use and when, and what must come before what.

*Slot*: the grain of time; everything is counted in whole slots from the first working moment.
*Use*: so much of a resource over a part of a task; a task may use one thing first and another
after, which is how a plank goes from the box to the hull with no wait between. *Link*: one task
starts no sooner than another's start and a *lag*; a lag of the first one's duration is "after it
is done". *Break*: a slot at which the yard closes for the night; *pause*: for dinner. A task has a
*span* that no break may cut, and a *hot* one that no pause may cut either, where it fits between
two; a task with one of them is *whole*.

Not checked here: that links have no ring; `order_of` raises where they do.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ribband.errors import NotConverged

__all__ = [
    "Ints",
    "Link",
    "Project",
    "Span",
    "Task",
    "Use",
    "heads",
    "mirrored",
    "order_of",
    "tails",
]

Ints = NDArray[np.int64]
Span = tuple[int, int]  # slots of a task, from its start


@dataclass(frozen=True, slots=True)
class Use:
    """`amount` of a resource from slot `begin` to `end` of the task."""

    resource: int
    amount: int
    begin: int
    end: int


@dataclass(frozen=True, slots=True)
class Task:
    """A task of `duration` slots; `span` runs over no break, `hot` over no break and no pause."""

    name: str
    duration: int
    uses: tuple[Use, ...] = ()
    span: Span = (0, 0)
    hot: Span = (0, 0)
    release: int = 0  # no sooner than this slot

    @property
    def whole(self) -> bool:
        """Tell whether any of it may not be broken off."""
        return self.span != (0, 0) or self.hot != (0, 0)


@dataclass(frozen=True, slots=True)
class Link:
    """Task `after` starts no sooner than the start of `before` and `lag` slots."""

    before: int
    after: int
    lag: int


@dataclass(frozen=True, slots=True, eq=False)
class Project:
    """The whole: `capacity` (R, H) of each resource in each slot up to the horizon H.

    breaks, pauses : slots at which a day ends, and at which it stops for a while
    """

    tasks: tuple[Task, ...]
    links: tuple[Link, ...]
    capacity: Ints
    breaks: tuple[int, ...] = ()
    pauses: tuple[int, ...] = ()

    @property
    def horizon(self) -> int:
        """Give the last slot there is."""
        return int(self.capacity.shape[1])

    def edges(self, duration: int) -> tuple[int, ...]:
        """Give the slots a hot span may not run over: a pause only if it fits in without one.

        >>> project = Project((), (), np.ones((0, 96)), (96,), (54,))
        >>> project.edges(40), project.edges(60)
        ((54, 96), (96,))
        """
        if not self.pauses:
            return self.breaks
        both = tuple(sorted((*self.breaks, *self.pauses)))
        longest = max(b - a for a, b in pairwise((0, *both)))
        return both if duration <= longest else self.breaks


def order_of(project: Project, urgency: Sequence[float]) -> list[int]:
    """Give the tasks so that each comes after those it is linked to, the most urgent first.

    Raises
    ------
    NotConverged : the links run in a ring

    >>> tasks = (Task("fasten", 2), Task("hang", 3))
    >>> order_of(Project(tasks, (Link(1, 0, 3),), np.ones((0, 9), int)), [0.0, 0.0])
    [1, 0]
    """
    waits = [0] * len(project.tasks)
    then: list[list[int]] = [[] for _ in project.tasks]
    for link in project.links:
        waits[link.after] += 1
        then[link.before].append(link.after)
    ready = [(urgency[i], i) for i, wait in enumerate(waits) if not wait]
    heapq.heapify(ready)
    order = []
    while ready:
        _, task = heapq.heappop(ready)
        order.append(task)
        for other in then[task]:
            waits[other] -= 1
            if not waits[other]:
                heapq.heappush(ready, (urgency[other], other))
    if len(order) < len(project.tasks):
        raise NotConverged("the work's links run in a ring: some task would have to follow itself")
    return order


def heads(project: Project) -> Ints:
    """Give the soonest start of every task (n,) if nothing were ever short.

    >>> tasks = (Task("hang", 3), Task("fasten", 2))
    >>> heads(Project(tasks, (Link(0, 1, 3),), np.ones((0, 9), int)))
    array([0, 3])
    """
    soonest = np.array([task.release for task in project.tasks], dtype=np.int64)
    out = _links_out(project)
    for task in order_of(project, [0.0] * len(project.tasks)):
        for link in out[task]:
            soonest[link.after] = max(soonest[link.after], soonest[task] + link.lag)
    return soonest


def tails(project: Project) -> Ints:
    """Give for every task (n,) the least time from its start to the end of everything."""
    left = np.array([task.duration for task in project.tasks], dtype=np.int64)
    out = _links_out(project)
    for task in reversed(order_of(project, [0.0] * len(project.tasks))):
        for link in out[task]:
            left[task] = max(left[task], link.lag + left[link.after])
    return left


def mirrored(project: Project, end: int) -> Project:
    """Give the same work told backwards from slot `end`: what was last comes first.

    A start s in the one is `end` - s - duration in the other.
    """
    tasks = tuple(
        Task(
            t.name,
            t.duration,
            tuple(_turned(u, t.duration) for u in t.uses),
            _span_turned(t.span, t.duration),
            _span_turned(t.hot, t.duration),
        )
        for t in project.tasks
    )
    long = [task.duration for task in tasks]
    links = tuple(
        Link(k.after, k.before, k.lag + long[k.after] - long[k.before]) for k in project.links
    )
    turned = (tuple(sorted(end - b for b in of if 0 < b < end))
              for of in (project.breaks, project.pauses))  # fmt: skip
    return Project(tasks, links, project.capacity[:, :end][:, ::-1].copy(), *turned)


def _turned(use: Use, duration: int) -> Use:
    return Use(use.resource, use.amount, duration - use.end, duration - use.begin)


def _span_turned(span: Span, duration: int) -> Span:
    return (duration - span[1], duration - span[0]) if span != (0, 0) else span


def _links_out(project: Project) -> list[list[Link]]:
    out: list[list[Link]] = [[] for _ in project.tasks]
    for link in project.links:
        out[link.before].append(link)
    return out
