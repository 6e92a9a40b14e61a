"""Butts: our search against general-purpose ways to do the same, in one run, on the same vessels.

*A plain programme*: one yes-or-no a place, the rules as linear constraints, fewest butts, handed to
CP-SAT as it is, with both cores and a seed. *Strake by strake*: from the keel up, each laid the
cheapest way exactly against the strakes below it, nothing laid twice, as one would by hand; where a
strake cannot be laid so, it has found nothing. All have the same rules and the same seconds by the
wall. What is compared is the number of butts; every layout of the others is counted only after the
checker, which shares nothing with any of them, has found no clash in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from benchmarks.table import NOTHING, Row, compared, made
from ribband.butts import Butt, Layout, clashes, lay
from ribband.butts.problem import TOUCH_MM, greatest_mm
from ribband.butts.tables import Tables, tables

__all__ = ["rows"]

SEEDS = (0, 1, 2)
CASES = (("12 x 35", 12, 35, 450.0, 7315.2, 1.0), ("25 x 60", 25, 60, 400.0, 7315.2, 3.0))
LARGE = ("60 x 140", 60, 140, 450.0, 9753.6, 10.0)
RAKES = (0.04, 0.06, 0.08)  # of the stem: another vessel a seed


def rows() -> Iterator[Row]:
    """Compare on vessels of three sizes; the largest once."""
    for name, strakes, frames, space, longest, seconds in CASES:
        yield from beside(name, SEEDS, seconds, strakes, frames, space, longest)
    name, *size, seconds = LARGE
    yield from beside(name, SEEDS[:1], seconds, *size)


def beside(name: str, seeds: tuple[int, ...], seconds: float, *size: Any) -> Iterator[Row]:
    """Run ours and the others on a vessel a seed; a row for each of the others."""
    vessel = made("made_ways").Vessel(*size)
    rules = made("made_ways").rules_for(vessel)
    jobs = [made("made_ways").made_ways(vessel, rules, rake=RAKES[seed]) for seed in seeds]
    laid = [lay(w, rules, seed, seconds) for w, seed in zip(jobs, seeds, strict=True)]
    ours = [float(one.goals[1].value) if one.feasible else NOTHING for one in laid]
    bounds = "; ".join(f"{one.goals[1].bound:g}" if one.goals else "not known" for one in laid)
    ways: dict[str, Callable[[Any, Any, int, float], float]] = {
        "a plain programme": plain,
        "strake by strake": by_hand,
    }
    for way, run in ways.items():
        theirs = [run(w, rules, seed, seconds) for w, seed in zip(jobs, seeds, strict=True)]
        what = f"butts {name}, {way}, {seconds:g} s"
        yield compared(what, ours, theirs, "butts", note=f"none can have fewer than {bounds}")


def plain(ways: Any, rules: Any, seed: int, seconds: float) -> float:
    """Give the butts a plain programme comes to, or infinity."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - heavy

    t, longest = tables(ways, rules), greatest_mm(ways, rules)
    model = cp_model.CpModel()
    strakes = range(len(t.open))
    at = {(s, int(j)): model.new_bool_var("") for s in strakes for j in np.flatnonzero(t.open[s])}
    for s in strakes:
        for stretch in stretches(t, s, longest):
            model.add(sum(at[s, j] for j in stretch) >= 1)
        for i, j in zip(*np.nonzero(np.triu(t.short[s], 1)), strict=True):
            together(model, at, (s, int(i)), (s, int(j)))
        for k, offset in enumerate(t.reach):
            for i, j in zip(*np.nonzero(t.clash[s, k]), strict=True):
                if offset > 0:
                    together(model, at, (s, int(i)), (s + int(offset), int(j)))
    model.minimize(sum(at.values()))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = seed
    if solver.solve(model) not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return NOTHING
    return counted(ways, rules, t, [place for place, var in at.items() if solver.value(var)])


def together(model: Any, at: dict[tuple[int, int], Any], a: Any, b: Any) -> None:
    """Forbid that butts stand in both places."""
    if a in at and b in at:
        model.add(at[a] + at[b] <= 1)


def stretches(t: Tables, s: int, longest: float) -> Iterator[list[int]]:
    """Give the stretches of a strake that must hold a butt: one longest plank from any start."""
    places = np.flatnonzero(t.open[s])
    for start in (0.0, *t.along[s, places]):
        if t.strake_length[s] - start > longest + TOUCH_MM:
            ahead = t.along[s, places] - start
            yield places[(ahead > TOUCH_MM) & (ahead <= longest + TOUCH_MM)].tolist()


def by_hand(ways: Any, rules: Any, seed: int, seconds: float) -> float:
    """Give the butts of strakes laid one after another from the keel, or infinity."""
    t = tables(ways, rules)
    laid: list[tuple[int, int]] = []
    for s in range(len(t.open)):
        shut = np.zeros(t.open.shape[1], dtype=bool)
        for k, offset in enumerate(t.reach):
            for below, j in laid:
                if below == s + offset:
                    shut |= t.clash[s, k][:, j]
        own = fewest_of(t, s, shut)
        if own is None:
            return NOTHING
        laid += [(s, j) for j in own]
    return counted(ways, rules, t, laid)


def fewest_of(t: Tables, s: int, shut: Any) -> list[int] | None:
    """Lay one strake with the fewest butts clear of what is shut; None if it cannot be."""
    if t.whole[s]:
        return []
    count, came = np.where(t.first[s] & ~shut, 1.0, NOTHING), {}
    for j in range(len(count)):
        for k, gap in enumerate(t.back):
            i = j - int(gap)
            if i >= 0 and not shut[j] and t.arc[k, s, j] and count[i] + 1 < count[j]:
                count[j], came[j] = count[i] + 1, i
    ends = np.where(t.last[s] & ~shut, count, NOTHING)
    at: int | None = int(ends.argmin())
    if at is None or ends[at] == NOTHING:
        return None
    own = []
    while at is not None:
        own.append(at)
        at = came.get(at)
    return own


def counted(ways: Any, rules: Any, t: Tables, places: list[tuple[int, int]]) -> float:
    """Count the butts of a layout in which the checker finds no clash.

    Raises
    ------
    RuntimeError : it finds one, so the way compared does not do the same
    """
    butts = tuple(Butt(s, int(t.columns[j])) for s, j in sorted(places))
    layout = Layout(butts, feasible=True, goals=(), seconds=0.0, seed=0)
    found = clashes(ways, rules, layout)
    if found:
        raise RuntimeError(f"a way compared breaks the rules: {found[0]}")
    return float(len(butts))
