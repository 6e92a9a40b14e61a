"""Solving a project: a plan, and the proof of how far it is from the soonest there could be.

First a bound (`work/bound.py`), then a plan made task by task (`work/serial.py`). Where the two
do not meet, a plan of many tasks is swept window by window (`work/sweep.py`); one of few is
shaken and then handed to OR-Tools' CP-SAT, whose bound is taken where it is the better. A plan
whose end is its bound is proved the soonest. The search stops by the clock, so the same seed
gives the same plan only where it is proved.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from ribband.errors import NotConverged
from ribband.shop.work.bound import soonest_end
from ribband.shop.work.project import Ints, Project
from ribband.shop.work.serial import end_of, first_plan, shaken
from ribband.shop.work.sweep import swept

__all__ = ["Solved", "solve"]

SHAKE_PART = 0.15  # of the seconds, where CP-SAT has the rest
PROVABLE = 400  # tasks beyond which CP-SAT gains nothing in such times


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """A plan: `starts` (n,) and `end` in slots; no plan could end before `bound`."""

    starts: Ints
    end: int
    bound: int
    seconds: float

    @property
    def proved(self) -> bool:
        """Tell whether it is the soonest there can be."""
        return self.end <= self.bound

    @property
    def gap(self) -> float:
        """Give how far the end lies past the bound, as a part of it."""
        return (self.end - self.bound) / self.bound if self.bound else 0.0


def solve(
    project: Project,
    urgencies: Sequence[Sequence[float]] = (),
    *,
    seconds: float = 10.0,
    seed: int = 0,
    near: float = 0.0,
    progress: Callable[[float, str], None] | None = None,
) -> Solved:
    """Give a plan that ends soon, with its bound.

    Parameters
    ----------
    urgencies : orders to begin from, least first; rules of the trade are worth more than ours
    seconds : how long to search, where the bound is not met before
    near : stop as soon as the end is no further past the bound than this part of it

    Raises
    ------
    NotConverged : no plan fits before the horizon, or the links run in a ring

    >>> from ribband.shop.work.project import Task, Use
    >>> tasks = tuple(Task(f"hang {n}", 4, (Use(0, 3, 0, 4),)) for n in range(4))
    >>> solve(Project(tasks, (), np.full((1, 99), 6))).proved
    True
    """
    began = time.perf_counter()
    tell = progress or (lambda _part, _words: None)
    if not project.tasks:
        return Solved(np.zeros(0, dtype=np.int64), 0, 0, 0.0)
    bound = soonest_end(project)
    starts = first_plan(project, urgencies)
    if starts is None:
        raise NotConverged(f"the work does not fit before slot {project.horizon}")
    goal = int(bound * (1 + near))
    left = seconds - (time.perf_counter() - began)
    tell(0.1, "making the plan closer")
    provable = len(project.tasks) <= PROVABLE
    if provable:
        starts = shaken(project, starts, goal, SHAKE_PART * left, seed)
    else:
        starts = swept(project, starts, goal, left, seed)
    left = seconds - (time.perf_counter() - began)
    if provable and end_of(project, starts) > goal and left > 0.05:
        tell(SHAKE_PART, "proving the plan")
        starts, bound = _proving(project, starts, bound, left, seed, near)
    tell(1.0, "planned")
    return Solved(starts, end_of(project, starts), bound, time.perf_counter() - began)


def _proving(  # noqa: PLR0917 - a search: the work, where from, how long, by what chance
    project: Project, starts: Ints, bound: int, seconds: float, seed: int, near: float
) -> tuple[Ints, int]:
    """Let CP-SAT go on from a plan; gives the better plan and bound."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - heavy

    model, begin, _ = _model(cp_model, project, starts, bound)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = seed
    solver.parameters.relative_gap_limit = near / (1 + near)  # it is a part of the end there
    status = solver.solve(model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return starts, bound
    proved = max(bound, int(np.ceil(solver.best_objective_bound - 1e-6)))
    found = np.array([solver.value(b) for b in begin], dtype=np.int64)
    return (found if end_of(project, found) < end_of(project, starts) else starts), proved


def _model(cp_model: Any, project: Project, starts: Ints, bound: int) -> tuple[Any, list[Any], Any]:
    model = cp_model.CpModel()
    end = end_of(project, starts)
    begin = [_start(cp_model, model, project, n, end) for n in range(len(project.tasks))]
    last = model.new_int_var(bound, end, "last")
    for task, own in zip(project.tasks, begin, strict=True):
        model.add(own + task.duration <= last)
    for link in project.links:
        model.add(begin[link.after] >= begin[link.before] + link.lag)
    for resource in range(project.capacity.shape[0]):
        _hold(model, project, resource, begin, end)
    for own, value in zip(begin, starts, strict=True):
        model.add_hint(own, int(value))
    model.minimize(last)
    return model, begin, last


def _start(cp_model: Any, model: Any, project: Project, n: int, end: int) -> Any:
    """Give the start of a task; a whole one may only start where its spans are cut by no edge."""
    task = project.tasks[n]
    room = cp_model.Domain(task.release, end - task.duration)
    for span, edges in (
        (task.span, project.breaks),
        (task.hot, project.edges(task.hot[1] - task.hot[0])),
    ):
        if span != (0, 0):
            between = pairwise([0, *(b for b in edges if b < end), end])
            own = [[a - span[0], b - span[1]] for a, b in between if b - a >= span[1] - span[0]]
            room = room.intersection_with(cp_model.Domain.from_intervals(own))
    return model.new_int_var_from_domain(room, f"s{n}")


def _hold(model: Any, project: Project, resource: int, begin: Sequence[Any], end: int) -> None:
    """Keep a resource within its capacity; where it is less, a fixed block takes the rest."""
    capacity = project.capacity[resource, :end]
    most = int(capacity.max(initial=0))
    bars, amounts = [], []
    for n, task in enumerate(project.tasks):
        for use in task.uses:
            if use.resource == resource and use.end > use.begin:
                bars.append(model.new_fixed_size_interval_var(
                    begin[n] + use.begin, use.end - use.begin, f"u{resource}_{n}"
                ))  # fmt: skip
                amounts.append(use.amount)
    for a, b, held in _blocks(most - capacity):
        bars.append(model.new_fixed_size_interval_var(a, b - a, f"b{resource}_{a}"))
        amounts.append(held)
    if most == 1 and set(amounts) <= {1}:
        model.add_no_overlap(bars)
    elif bars:
        model.add_cumulative(bars, amounts, most)


def _blocks(held: Ints) -> list[tuple[int, int, int]]:
    """Give stretches (from, to, amount) where something of a resource is not there."""
    edges = [0, *(np.flatnonzero(np.diff(held)) + 1), len(held)]
    spans = [(int(a), int(b)) for a, b in pairwise(edges) if b > a]
    return [(a, b, int(held[a])) for a, b in spans if held[a]]
