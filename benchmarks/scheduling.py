"""The plan of work: our search against general-purpose ways to do the same, in one run.

*A plain programme*: the whole work as intervals, links and cumulative limits, handed to CP-SAT with
both cores and a seed, with no plan to begin from and no bound of ours. *A priority rule*: steps in
one pass, that which could begin soonest first. Same work, same seconds by the wall. The figure is
the end over ours; job shops have a published optimum, the yard's work a bound.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np

from benchmarks.table import NOTHING, Row, compared, made

__all__ = ["rows"]

SEEDS = (0, 1, 2)
SHOPS = ("la16", "ft10")
SHOP_SECONDS, YARD_SECONDS = 2.0, 3.0
YARDS = ((8, 5), (17, 5))  # strakes, planks of a strake: 80 and 170 planks, both sides
DAYS = 120


def rows() -> Iterator[Row]:
    """Compare on job shops, then on a yard's work."""
    known = made("test_scheduling_published")
    for name in SHOPS:
        optimum = known.SHOPS[name]["optimum"]
        jobs = [known.shop(name)] * len(SEEDS)
        yield from beside(f"job shop {name}", jobs, (), SHOP_SECONDS, f"optimum {optimum}")
    for strakes, planks in YARDS:
        built = [yard(strakes, planks, hands) for hands in (5, 6, 7)]
        projects = [one.project for one in built]
        what = f"{2 * strakes * planks} planks, {len(projects[0].tasks)} steps"
        yield from beside(what, projects, built[0].urgency, YARD_SECONDS, "5, 6 and 7 hands")


def yard(strakes: int, planks: int, hands: int) -> Any:
    """Build a yard's work: every plank hollowed, one in four steamed, a box of two places."""
    from ribband.shop import WorkRules  # noqa: PLC0415
    from ribband.shop.work.build import build  # noqa: PLC0415

    work = made("made_work").work_of(strakes, planks, hands=hands)
    measures = tuple(replace(m, hollow=True) for m in work.measures)
    gear = dict(work.gear) | {"steam box": 2}
    return build(replace(work, measures=measures, gear=gear), WorkRules(), DAYS)


def beside(what: str, jobs: Any, urgency: Any, seconds: float, note: str) -> Iterator[Row]:
    """Run ours and the others, a case a seed; a row for each of the others."""
    from ribband.shop.work.solver import solve  # noqa: PLC0415

    cases = list(zip(jobs, SEEDS, strict=True))
    solved = [solve(job, urgency, seconds=seconds, seed=seed) for job, seed in cases]
    ours = [float(one.end) for one in solved]
    gaps = [100 * one.gap for one in solved]
    told = f"{note}; ours at most {max(gaps):.1f} % past the bound it proved"
    ways: dict[str, Callable[[Any, int, float], float]] = {
        "a plain programme": plain,
        "a priority rule": by_rule,
    }
    for way, run in ways.items():
        theirs = [run(job, seed, seconds) for job, seed in cases]
        yield compared(f"{what}, {way}, {seconds:g} s", ours, theirs, "slots", note=told)


def by_rule(project: Any, seed: int, seconds: float) -> float:
    """Give the end of the plan of one pass, the soonest first."""
    from ribband.shop.work.project import heads  # noqa: PLC0415
    from ribband.shop.work.serial import end_of, serial  # noqa: PLC0415

    starts = serial(project, [float(x) for x in heads(project)])
    return NOTHING if starts is None else float(end_of(project, starts))


def plain(project: Any, seed: int, seconds: float) -> float:
    """Give the end of the plan a plain programme comes to, or infinity."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - heavy

    model = cp_model.CpModel()
    begin = [begun(cp_model, model, project, task) for task in project.tasks]
    last = model.new_int_var(0, project.horizon, "last")
    for task, own in zip(project.tasks, begin, strict=True):
        model.add(own + task.duration <= last)
    for link in project.links:
        model.add(begin[link.after] >= begin[link.before] + link.lag)
    for resource, capacity in enumerate(project.capacity):
        held(model, project, resource, capacity, begin)
    model.minimize(last)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = seed
    found = solver.solve(model) in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    return float(solver.value(last)) if found else NOTHING


def begun(cp_model: Any, model: Any, project: Any, task: Any) -> Any:
    """Give the variable of a task's start; a whole one lies between two breaks."""
    edges = [0, *project.breaks, project.horizon] if task.whole else [0, project.horizon]
    spans = [
        [max(a, task.release), b - task.duration]
        for a, b in pairwise(edges)
        if max(a, task.release) <= b - task.duration
    ]
    return model.new_int_var_from_domain(cp_model.Domain.from_intervals(spans), "")


def held(model: Any, project: Any, resource: int, capacity: Any, begin: list[Any]) -> None:
    """Keep a resource within what there is; where there is less, a fixed one takes the rest."""
    most = int(capacity.max(initial=0))
    bars, amounts = [], []
    for task, own in zip(project.tasks, begin, strict=True):
        for use in task.uses:
            if use.resource == resource and use.end > use.begin:
                long = use.end - use.begin
                bars.append(model.new_fixed_size_interval_var(own + use.begin, long, ""))
                amounts.append(use.amount)
    edges = [0, *(np.flatnonzero(np.diff(capacity)) + 1).tolist(), len(capacity)]
    for a, b in pairwise(edges):
        if most > capacity[a]:
            bars.append(model.new_fixed_size_interval_var(a, b - a, ""))
            amounts.append(most - int(capacity[a]))
    if bars:
        model.add_cumulative(bars, amounts, most)
