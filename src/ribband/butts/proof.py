"""Proving how few butts there can be, by exact search over neighbouring strakes.

Groups of neighbouring strakes are small enough to be solved outright (CP-SAT of OR-Tools); the
strakes fall apart into such groups, and the sum over the groups is a bound for the whole vessel.
If the bound does not meet the layout found, the whole vessel is tried, from that layout.

The model has one yes-or-no per strake and column. Rules: in every stretch as long as the longest
plank at least one butt; of any set of butts that clash pairwise at most one; each strake no
fewer butts than it needs alone. Counts of stock are left out of the groups (the bound stays
true, only weaker) and put into the whole.

Runs are limited by OR-Tools' own measure of work, so the same problem gives the same answer on
any machine unless the clock stops it first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from time import monotonic
from typing import Any

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from ribband.butts.bounds import Bound, Known, Limits, tiled_to
from ribband.butts.problem import TOUCH_MM
from ribband.butts.tables import Tables
from ribband.hull.model import Floats

__all__ = [
    "Model",
    "fewest",
    "laid_somehow",
    "model_of",
    "must_butt",
    "no_fewer",
    "one_at_most",
    "read_off",
    "runs",
    "solve",
    "spread",
    "within_stock",
]

Ints = NDArray[np.int64]
Place = tuple[int, int]  # strake, column
GROUP = (4, 6)  # strakes in a group: first try, second try
WORK = 4.0  # OR-Tools' deterministic seconds for a group
WHOLE = 10.0  # the same for the whole vessel


@dataclass(slots=True)
class Model:
    """A CP-SAT model over some strakes: `at[strake, column]` is true where a butt stands."""

    cp: Any
    at: dict[Place, Any]


def fewest(
    t: Tables,
    limits: Limits,
    laid: Ints,
    until: float,
    progress: Callable[[float], None] | None = None,
) -> Bound:
    """Bound the number of butts from below; stops as soon as the bound meets `laid`."""
    alone = limits.alone
    have = int((laid < t.open.shape[1]).sum())
    known: Known = {(s, s + 1): int(least) for s, least in enumerate(alone.astype(int))}
    best = _tiled(known, len(alone))
    for size in GROUP:
        for start in spread(len(alone), size):
            if best >= have or monotonic() > until:
                return Bound(best, known)
            rows = range(start, min(start + size, len(alone)))
            known[rows.start, rows.stop] = _group(t, limits, laid, rows, until)
            best = _tiled(known, len(alone))
            if progress:
                progress(best / have)
    return _whole(t, limits, laid, known, until)


def laid_somehow(t: Tables, longest: float, until: float) -> Ints | bool | None:
    """Lay all the strakes of `t` somehow: (S, k) columns; False if none can be; None if unknown."""
    model = model_of(t, longest, range(len(t.open)))
    solver, status = solve(model, 4 * WORK, until)
    said = solver.status_name(status)
    if said in {"OPTIMAL", "FEASIBLE"}:
        return read_off(solver, model, t)
    return False if said == "INFEASIBLE" else None


def must_butt(t: Tables, longest: float) -> tuple[int, int, int, int] | None:
    """Find two strakes that must both butt in stretches where every pair of places clashes.

    Returns the strakes and the first and last column of the two stretches together.
    """
    for k, offset in enumerate(t.reach):
        for s in range(len(t.open)):
            u = s + int(offset)
            if offset < 0 or u >= len(t.open):
                continue
            for a in _stretches(t, longest, s):
                for b in _stretches(t, longest, u):
                    if a and b and t.clash[s, k][np.ix_(a, b)].all():
                        return s, u, min(*a, *b), max(*a, *b)
    return None


def model_of(t: Tables, longest: float, rows: Sequence[int]) -> Model:
    """Build the model of some strakes."""
    cp = cp_model.CpModel()
    at: dict[Place, Any] = {
        (s, int(j)): cp.new_bool_var(f"{s},{j}") for s in rows for j in np.flatnonzero(t.open[s])
    }
    for s in rows:
        for stretch in _stretches(t, longest, s):
            cp.add(sum(at[s, j] for j in stretch) >= 1)
        for j in np.flatnonzero(t.must[s]):
            cp.add(at[s, int(j)] == 1)
    for clique in _cliques(t, rows):
        cp.add_at_most_one([at[place] for place in clique])
    return Model(cp, at)


def solve(model: Model, work: float, until: float, hint: Ints | None = None) -> Any:
    """Run the solver on one worker; returns (solver, status)."""
    if hint is not None:
        for (s, j), var in model.at.items():
            model.cp.add_hint(var, int(j in hint[s]))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = work
    solver.parameters.max_time_in_seconds = max(until - monotonic(), 0.01)
    return solver, solver.solve(model.cp)


def spread(strakes: int, size: int) -> Iterable[int]:
    """Give starts of groups: a whole tiling first, then the tilings shifted by one."""
    return (start for shift in range(size) for start in range(shift, strakes - 1, size))


def _tiled(known: Known, strakes: int) -> int:
    """Give the best sum over groups that do not overlap."""
    return tiled_to(known, strakes)[strakes]


def _group(t: Tables, limits: Limits, laid: Ints, rows: Sequence[int], until: float) -> int:
    model = model_of(t, limits.longest, rows)
    no_fewer(model, limits.alone, rows)
    model.cp.minimize(sum(model.at.values()))
    solver, _ = solve(model, WORK, until, laid)
    least = int(limits.alone[list(rows)].sum())
    return max(int(np.ceil(solver.best_objective_bound - 1e-6)), least)


def _whole(t: Tables, limits: Limits, laid: Ints, known: Known, until: float) -> Bound:
    have, best = int((laid < t.open.shape[1]).sum()), _tiled(known, len(limits.alone))
    if best >= have or monotonic() > until:
        return Bound(best, known)
    rows = range(len(limits.alone))
    model = model_of(t, limits.longest, rows)
    no_fewer(model, limits.alone, rows)
    within_stock(model, t, limits)
    for (a, b), least in known.items():
        if b - a > 1:
            model.cp.add(sum(v for (s, _), v in model.at.items() if a <= s < b) >= least)
    model.cp.minimize(sum(model.at.values()))
    solver, status = solve(model, WHOLE, until, laid)
    bound = max(best, int(np.ceil(solver.best_objective_bound - 1e-6)))
    if solver.status_name(status) not in {"OPTIMAL", "FEASIBLE"} or solver.objective_value >= have:
        return Bound(bound, known)
    return Bound(bound, known, read_off(solver, model, t))


def within_stock(model: Model, t: Tables, limits: Limits) -> None:
    """Planks longer than a board's yield, no more than there are longer boards."""
    if not len(limits.yields):
        return
    have = np.concatenate([np.cumsum(limits.counts[::-1])[::-1][1:], [0.0]])
    for yields, boards in zip(limits.yields, have, strict=True):
        if not np.isfinite(boards) or yields >= limits.longest:
            continue
        longer = [v for s in range(len(t.open)) for v in _longer_planks(model, t, s, yields)]
        model.cp.add(sum(longer) <= int(boards))


def _longer_planks(model: Model, t: Tables, s: int, yields: float) -> Iterable[Any]:
    """Give, for every place a plank of strake s may begin, whether it is longer than `yields`."""
    places = np.flatnonzero(t.open[s])
    begins = [(0.0, 1), *((t.along[s, j], model.at[s, int(j)]) for j in places)]
    for start, there in begins:
        if t.strake_length[s] - start <= yields + TOUCH_MM:
            continue
        run = t.along[s, places] - start
        within = places[(run > TOUCH_MM) & (run <= yields + TOUCH_MM)]
        longer = model.cp.new_bool_var("")
        model.cp.add(longer + sum(model.at[s, int(j)] for j in within) >= there)
        yield longer


def read_off(solver: Any, model: Model, t: Tables) -> Ints:
    """Give (S, k) columns of the layout that the solver found."""
    count, n = t.open.shape
    rows: list[list[int]] = [[] for _ in range(count)]
    for (s, j), var in model.at.items():
        if solver.value(var):
            rows[s].append(j)
    laid = np.full((count, max(map(len, rows)) + 1), n)
    for s, row in enumerate(rows):
        laid[s, : len(row)] = sorted(row)
    return laid


def no_fewer(model: Model, alone: Floats, rows: Sequence[int]) -> None:
    """Ask no fewer butts of every strake than it needs alone."""
    for s in rows:
        model.cp.add(sum(v for (r, _), v in model.at.items() if r == s) >= int(alone[s]))


def _stretches(t: Tables, longest: float, s: int) -> Iterable[tuple[int, ...]]:
    """Give the stretches of strake s that must hold a butt: one longest plank from any start."""
    along, seen = t.along[s], set()
    places = np.flatnonzero(t.open[s])
    for start in (0.0, *along[places]):
        if t.strake_length[s] - start <= longest + TOUCH_MM:
            continue
        within = (along[places] > start + TOUCH_MM) & (along[places] <= start + longest + TOUCH_MM)
        stretch = tuple(int(j) for j in places[within])
        if stretch not in seen:
            seen.add(stretch)
            yield stretch


def _cliques(t: Tables, rows: Sequence[int]) -> Iterable[list[Place]]:
    """Give sets of butts that clash pairwise, covering every clash among `rows`."""
    for s in rows:
        yield from _too_short(t, s)
    for k, offset in enumerate(t.reach):
        for s in rows:
            if offset > 0 and s + offset in rows:
                yield from _across(t, s, int(s + offset), k)
    for j in range(t.open.shape[1]):
        yield from _on_one_landing(t, [s for s in rows if t.open[s, j]], j)


def _too_short(t: Tables, s: int) -> Iterable[list[Place]]:
    places = np.flatnonzero(t.open[s])
    for a, b in runs(t.short[s][np.ix_(places, places)]):
        yield [(s, int(j)) for j in places[a:b]]


def _across(t: Tables, s: int, u: int, k: int) -> Iterable[list[Place]]:
    """Cover the clashes of two strakes by windows of columns, the rest by pairs."""
    clash = t.clash[s, k]
    here, there = t.open[s], t.open[u]
    all_clash = (clash | ~(here[:, None] & there[None])) & one_at_most(t, s) & one_at_most(t, u)
    left = clash & here[:, None] & there[None] & ~np.eye(len(clash), dtype=bool)
    for a, b in runs(all_clash & all_clash.T):
        left[a:b, a:b] = False
        yield [(r, j) for r, ok in ((s, here), (u, there)) for j in range(a, b) if ok[j]]
    for a, b in np.argwhere(left):
        yield [(s, int(a)), (u, int(b))]


def one_at_most(t: Tables, s: int) -> NDArray[np.bool_]:
    """Say of two columns, (n, n), whether a strake can butt at only one of them."""
    shut = ~t.open[s]
    return np.asarray(t.short[s] | shut[:, None] | shut[None] | np.eye(len(shut), dtype=bool))


def _on_one_landing(t: Tables, rows: list[int], j: int) -> Iterable[list[Place]]:
    place = {int(offset): k for k, offset in enumerate(t.reach)}

    def clash(s: int, u: int) -> bool:
        return u == s or ((u - s) in place and bool(t.clash[s, place[u - s], j, j]))

    table = np.array([[clash(s, u) for u in rows] for s in rows], dtype=bool)
    covered = np.zeros_like(table)
    for a, b in runs(table) if len(rows) else ():
        covered[a:b, a:b] = True
        yield [(s, j) for s in rows[a:b]]
    for a, b in np.argwhere(np.triu(table & ~covered, 1)):
        yield [(rows[a], j), (rows[b], j)]


def runs(table: NDArray[np.bool_]) -> Iterable[tuple[int, int]]:
    """Give maximal runs [a, b), b - a > 1, in which every pair of `table` holds.

    table : (n, n), the same both ways
    """
    n = len(table)
    if n < 2:
        return
    fails = np.triu(~table)
    first = np.where(fails.any(axis=1), fails.argmax(axis=1), n).tolist()
    end = 0
    for a in range(n):
        b, i = first[a], a + 1
        while i < b:
            b, i = min(b, first[i]), i + 1
        if b > end and b - a > 1:
            end = b
            yield a, b
