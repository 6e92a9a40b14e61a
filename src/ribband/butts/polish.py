"""Proving and bettering the goals after the count, one after another.

Each goal is taken in its order, those before it held at what they have reached and the number of
butts at what it is:

1. a quick bound: of the crowding by matching, of lengths by laying every strake alone for every
   number of butts (`ribband.butts.alone`);
2. a few neighbouring strakes at a time are laid anew, exactly, the others standing;
3. groups of neighbours are solved apart, and add up to a bound: for unevenness, and on a vessel
   too large to be tried whole for pairs;
4. on any other the whole is tried, from the layout at hand.

A bound holds for every layout with as many butts that is no worse in the goals before. All runs
are limited by OR-Tools' own measure of work, as in `ribband.butts.proof`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribband.butts.aims import Aims, Term, now, total
from ribband.butts.bounds import (
    NEAR,
    TIGHT,
    UNEVEN,
    WASTE,
    Task,
    as_scored,
    quick,
)
from ribband.butts.proof import (
    Model,
    model_of,
    no_fewer,
    read_off,
    solve,
    within_stock,
)
from ribband.butts.search import Search
from ribband.butts.tables import Tables

__all__ = ["polish"]

Ints = NDArray[np.int64]
FREE = 5  # strakes laid anew at a time
TIMES = 1  # how often each such part is laid, at most
GROUP = 6  # strakes in a group that is solved apart
PART = 0.001  # OR-Tools' deterministic seconds for one of these, for every second allowed
WHOLE = (0.01, 0.005, 0.003, 0.002, 0.003)  # the same for the whole vessel, for each goal
LARGEST = 2000  # places for butts on a vessel that is tried whole


def polish(
    task: Task, search: Search, progress: Callable[[float], None] | None = None
) -> tuple[float, ...]:
    """Better the layout of `search` goal by goal; give the bounds, in the score's order."""
    bounds = []
    for goal in range(UNEVEN + 1):
        bound = quick(task, goal)
        for step in (_by_parts, _by_groups, _whole):
            best = search.best
            if best is None or best.score[1 + goal] <= bound or task.over:
                break
            bound = max(bound, step(task, search, goal))
        bounds.append(bound)
        if progress:
            progress((goal + 1) / (UNEVEN + 1))
    return tuple(bounds)


def _by_parts(task: Task, search: Search, goal: int) -> float:
    """Lay a few strakes at a time anew until none of them gets better; proves nothing."""
    strakes = len(task.t.open)
    starts = list(range(0, max(strakes - FREE, 0) + 1, 2))
    quiet, at = 0, 0
    while quiet < len(starts) and not task.over and search.best:
        first = starts[at % len(starts)]
        was = search.best.score
        anew = _anew(task, search.best.laid, goal, range(first, min(first + FREE, strakes)))
        if anew is not None:
            search.offer(anew)
        quiet, at = (0 if search.best.score < was else quiet + 1), at + 1
        if at > TIMES * len(starts):
            break
    return 0.0


def _anew(task: Task, laid: Ints, goal: int, free: range) -> Ints | None:
    """Lay the strakes `free` the best way for a goal, those before it no worse."""
    n = task.t.open.shape[1]
    standing = laid.copy()
    standing[list(free)] = n
    t = _beside(task.t, standing, free)
    model = model_of(t, task.limits.longest, free)
    no_fewer(model, task.limits.alone, free)
    model.cp.add(_butts_of(model, free) == int((laid[list(free)] < n).sum()))
    sums = _sums(task, Aims(model, t, free, laid, task.most_each(), standing), goal)
    if not now(sums[-1]):
        return None
    return _solved(model, t, sums, laid, PART * task.seconds, task.until)[0]


def _beside(t: Tables, standing: Ints, free: range) -> Tables:
    """Close to the free strakes every place that clashes with a butt that stands."""
    open_, n = t.open.copy(), t.open.shape[1]
    for s in free:
        for k, u in enumerate((s + t.reach).tolist()):
            if 0 <= u < len(open_):
                there = standing[u][standing[u] < n]
                open_[s] &= ~t.clash[s, k][:, there].any(axis=1)
    return replace(t, open=open_)


def _sums(task: Task, aims: Aims, goal: int) -> list[list[Term]]:
    """Give the sums of the goals up to and with `goal`."""
    ways: tuple[Callable[[], list[Term]], ...] = (
        lambda: aims.beyond(task.per_frame),
        lambda: aims.pairs(task.t.near),
        lambda: aims.waste() if len(task.limits.yields) else [],
        lambda: aims.pairs(task.t.tight),
        aims.unevenness,
    )
    return [way() for way in ways[: goal + 1]]


def _solved(  # noqa: PLR0917
    model: Model, t: Tables, sums: list[list[Term]], laid: Ints, work: float, until: float
) -> tuple[Ints | None, float]:
    """Minimise the last of the sums, the others held; give a layout if any, and the bound."""
    for held in sums[:-1]:
        if held:
            model.cp.add(total(held) <= now(held))
    model.cp.minimize(total(sums[-1]))
    solver, status = solve(model, work, until, laid)
    if solver.status_name(status) not in {"OPTIMAL", "FEASIBLE"}:
        return None, solver.best_objective_bound
    found = read_off(solver, model, t)
    return _joined(laid, found, model, t.open.shape[1]), solver.best_objective_bound


def _joined(laid: Ints, found: Ints, model: Model, nothing: int) -> Ints:
    """Put the strakes of a model into the whole layout; `nothing` is said where no butt is."""
    rows = sorted({s for s, _ in model.at})
    width = max(laid.shape[1], found.shape[1])
    whole = np.full((len(laid), width), nothing)
    whole[:, : laid.shape[1]] = laid
    whole[rows] = nothing
    whole[rows, : found.shape[1]] = found[rows]
    return whole


def _butts_of(model: Model, rows: Iterable[int]) -> Any:
    wanted = set(rows)
    return sum(v for (s, _), v in model.at.items() if s in wanted)


def _by_groups(task: Task, search: Search, goal: int) -> float:
    """Bound pairs and unevenness by groups of neighbouring strakes that do not overlap."""
    whole = int(task.t.open.sum()) <= LARGEST
    if goal not in {NEAR, TIGHT, UNEVEN} or search.best is None or (whole and goal != UNEVEN):
        return 0.0
    strakes, least = len(task.t.open), 0.0
    for start in range(0, strakes, GROUP):
        if not task.over:
            rows = range(start, min(start + GROUP, strakes))
            least += _apart(task, search.best.laid, goal, rows)
    return as_scored(goal, least, task.butts + strakes)


def _apart(task: Task, laid: Ints, goal: int, rows: range) -> float:
    """Bound a goal of a group by itself, with as many butts as it can have."""
    t = task.t
    model = model_of(t, task.limits.longest, rows)
    no_fewer(model, task.limits.alone, rows)
    model.cp.add(_butts_of(model, rows) >= task.known.get((rows.start, rows.stop), 0))
    model.cp.add(_butts_of(model, rows) <= task.most(rows.start, rows.stop))
    aims = Aims(model, t, rows, laid, task.most_each(), np.full_like(laid, t.open.shape[1]))
    ways = {NEAR: lambda: aims.pairs(t.near), TIGHT: lambda: aims.pairs(t.tight)}
    terms = ways.get(goal, aims.unevenness)()
    if not now(terms):
        return 0.0
    _, bound = _solved(model, t, [terms], laid, PART * task.seconds, task.until)
    return max(bound, 0.0)


def _whole(task: Task, search: Search, goal: int) -> float:
    """Try the whole vessel for a goal, those before it held; gives the bound."""
    t, strakes = task.t, len(task.t.open)
    if search.best is None or int(t.open.sum()) > LARGEST:
        return 0.0
    rows, laid = range(strakes), search.best.laid
    model = model_of(t, task.limits.longest, rows)
    no_fewer(model, task.limits.alone, rows)
    within_stock(model, t, task.limits)
    for (a, b), least in task.known.items():
        model.cp.add(_butts_of(model, range(a, b)) >= least)
    model.cp.add(_butts_of(model, rows) == task.butts)
    nobody = np.full_like(laid, t.open.shape[1])
    sums = _sums(task, Aims(model, t, rows, laid, task.most_each(), nobody), goal)
    found, bound = _solved(model, t, sums, laid, WHOLE[goal] * task.seconds, task.until)
    if found is not None:
        search.offer(found)
    unit = 100.0 if goal == WASTE else 1.0
    return as_scored(goal, bound / unit, task.butts + strakes)
