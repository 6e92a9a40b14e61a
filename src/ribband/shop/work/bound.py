"""The soonest any plan could end: what is proved before a single plan is made.

*Longest chain*: the work that must follow itself, as if nothing were ever short. *Hours*: all
that must be done on one resource among tasks that cannot begin before h and have at least q to
follow them needs so many slots of its capacity after h; then q remains. The best pair of h and q
of each resource is a bound, and holds for plans in which work is put down and taken up again.

*Days*: tasks with a span that may not run on over the night. A place that each needs for L slots at
least, with m of its span before and behind that, serves no more of them in a day than go into the
day less m. So many days are wanted, the last begins no sooner than its day, and what must follow
follows.

Uses of more than half a resource that is never greater than C cannot lie side by side; counted
as the whole of it (and just half as half, less as nothing) they give another bound of the kind.
"""

from __future__ import annotations

import numpy as np

from ribband.shop.work.project import Ints, Project, Span, Task, Use, heads, tails

__all__ = ["soonest_end"]

MARKS = 40  # heads and tails tried on each resource


def soonest_end(project: Project) -> int:
    """Give the proved least end, in slots.

    >>> from ribband.shop.work.project import Task, Use
    >>> tasks = tuple(Task(f"hang {n}", 4, (Use(0, 3, 0, 4),)) for n in range(4))
    >>> soonest_end(Project(tasks, (), np.full((1, 99), 6)))
    8
    """
    if not project.tasks:
        return 0
    head, tail = heads(project), tails(project)
    chain = int((head + tail).max())
    every = range(_count(project))
    by_hours = (_of_resource(project, r, head, tail) for r in every)
    by_days = (_of_days(project, r, head, tail) for r in every)
    return max([chain, *by_hours, *by_days])


def _count(project: Project) -> int:
    return int(project.capacity.shape[0])


def _of_resource(project: Project, resource: int, head: Ints, tail: Ints) -> int:
    rows = [
        (head[n] + use.begin, tail[n] - use.end, use.end - use.begin, use.amount)
        for n, task in enumerate(project.tasks)
        for use in task.uses
        if use.resource == resource
    ]
    if not rows:
        return 0
    after, then, long, amount = (
        np.array(column, dtype=np.int64) for column in zip(*rows, strict=True)
    )
    capacity = project.capacity[resource]
    most = int(capacity.max())
    plain = _by_hours(after, then, long * amount, capacity)
    doubled = np.where(2 * amount > most, 2, np.where(2 * amount == most, 1, 0))
    return max(plain, _by_hours(after, then, long * doubled, np.full_like(capacity, 2)))


def _of_days(project: Project, resource: int, head: Ints, tail: Ints) -> int:
    """Give the bound by counting whole tasks a day; 0 where days are not alike."""
    day = _day(project)
    rows = [
        (head[n] + span[0], tail[n] - use.begin, use.end - use.begin,
         use.begin - span[0], span[1] - use.end)
        for n, task in enumerate(project.tasks)
        for use in task.uses
        if use.resource == resource and use.end > use.begin
        for span in _spans_about(task, use)
    ]  # fmt: skip
    if not rows or not day:
        return 0
    columns = (np.array(column, dtype=np.int64) for column in zip(*rows, strict=True))
    head_of, then, long, before, behind = columns
    places = int(project.capacity[resource].max())
    best = 0
    for least in _marks(long):
        own = long >= least
        a_day = max(1, int((day - before[own].min() - behind[own].min()) // least)) * places
        days = -(-int(own.sum()) // a_day)
        last_day = int(head_of[own].min()) // day + days - 1
        in_turn = -(-(int(own.sum()) - (days - 1) * a_day) // places) - 1
        begun = last_day * day + int(before[own].min()) + in_turn * int(least)
        best = max(best, begun + int(then[own].min()))
    return best


def _spans_about(task: Task, use: Use) -> list[Span]:
    """Give the longest span of a task that a use lies in, if it lies in one."""
    about = [s for s in (task.span, task.hot) if s[0] <= use.begin and use.end <= s[1]]
    return sorted(about, key=lambda span: span[0] - span[1])[:1]


def _day(project: Project) -> int:
    """Give the slots of a day where all are alike, else 0."""
    gaps = np.diff([0, *project.breaks])
    return int(gaps[0]) if len(gaps) and (gaps == gaps[0]).all() else 0


def _by_hours(after: Ints, then: Ints, hours: Ints, capacity: Ints) -> int:
    """Give the best bound over pairs of the soonest begin and the least that follows."""
    had = np.concatenate([[0], np.cumsum(capacity)])
    best = 0
    for h in _marks(after):
        late = after >= h
        for q in _marks(then[late]):
            need = int(hours[late & (then >= q)].sum())
            if need:
                best = max(best, int(np.searchsorted(had, had[min(h, len(capacity))] + need) + q))
    return best


def _marks(values: Ints) -> Ints:
    """Give the values to try: all where few, else spread over their range with the least."""
    own = np.unique(values)
    if len(own) <= MARKS:
        return own
    return np.unique(own[np.linspace(0, len(own) - 1, MARKS).astype(int)])
