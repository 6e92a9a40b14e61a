"""Laying the butts: search, proof, and the reasons when nothing fits.

`lay` is pure: the same problem, rules and seed give the same layout, as long as the clock does
not stop it (its limits are counts of sweeps and of proof work; `seconds` is a stop on top).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from ribband.butts.goals import NAMES
from ribband.butts.model import Butt, Goal, Layout, Ways
from ribband.butts.problem import greatest_mm, stock_in_hand
from ribband.butts.proof import fewest
from ribband.butts.rules import ButtRules
from ribband.butts.search import Found, Prices, Search, fewest_alone
from ribband.butts.tables import Tables, clash_kinds, tables
from ribband.hull.model import Floats

__all__ = ["lay"]

Ints = NDArray[np.int64]
Tell = Callable[[float, str], None] | None
SWEEPS = 900  # of the first search; about a second for 25 strakes x 60 frames
AGAIN = 120  # sweeps when starting from a layout


def lay(
    ways: Ways,
    rules: ButtRules,
    seed: int = 0,
    seconds: float = 30.0,
    start: Layout | None = None,
    progress: Tell = None,
) -> Layout:
    """Lay the butts: fewest planks that keep the rules, then the goals of `ribband.butts.goals`.

    Parameters
    ----------
    seconds : stop by this time, with what has been found and proved
    start : a layout to begin from and stay near, as when a butt has been moved and fixed; the
        search is short then, and only quick bounds are given
    progress : told the fraction done and what is being done

    Returns
    -------
    Layout : `feasible` is False where no layout keeps every rule (or none was found); it then
        holds the best attempt, what clashes, and the ways out
    """
    begun = monotonic()
    until = begun + seconds
    t = tables(ways, rules)
    alone = fewest_alone(t)
    if not np.isfinite(alone).all():
        return _no_way(ways, rules, seed, begun)
    search = _search(ways, rules, t, seed, start)
    _run(search, start, until, alone, progress)
    if search.best is None:
        return _no_way(ways, rules, seed, begun)
    bound = int(alone.sum())
    best = search.best
    if start is None:
        proved = fewest(t, greatest_mm(ways, rules), alone, best.laid, until, _second(progress))
        bound = proved.value
    goals = _goals(t, best, bound, rules)
    butts = _butts(t, best.laid)
    return Layout(butts, True, goals, monotonic() - begun, seed)


def _search(ways: Ways, rules: ButtRules, t: Tables, seed: int, start: Layout | None) -> Search:
    yields, counts = stock_in_hand(ways, rules)
    prices = Prices()
    search = Search(t, _tight(ways, rules, t), rules.per_frame, yields, counts, seed, prices)
    if start is not None:
        search.begin_from(_laid(t, start))
    return search


def _run(search: Search, start: Layout | None, until: float, alone: Floats, tell: Tell) -> None:
    sweeps = SWEEPS if start is None else AGAIN
    first = (lambda part: tell(0.6 * part, "laying the butts")) if tell else None
    search.run(sweeps, until, progress=first)


def _second(tell: Tell) -> Callable[[float], None] | None:
    return (lambda part: tell(0.6 + 0.4 * part, "proving how few there can be")) if tell else None


def _goals(t: Tables, best: Found, bound: int, rules: ButtRules) -> tuple[Goal, ...]:
    butts, crowded, waste, tight, uneven = best.score
    least = max(0.0, butts - rules.per_frame * t.open.shape[1]) if butts <= bound else 0.0
    pairs = [
        (0.0, 0.0),
        (butts, float(bound)),
        (crowded, least),
        (waste, 0.0),
        (tight, 0.0),
        (uneven, 0.0),
    ]
    return tuple(
        Goal(name, value, low, value <= low)
        for name, (value, low) in zip(NAMES, pairs, strict=True)
    )


def _butts(t: Tables, laid: Ints) -> tuple[Butt, ...]:
    n = t.open.shape[1]
    return tuple(
        Butt(s, int(t.columns[j]), bool(t.must[s, j]))
        for s, row in enumerate(laid)
        for j in row
        if j < n
    )


def _laid(t: Tables, layout: Layout) -> Ints:
    """Give (S, k) columns of a layout, leaving out butts that may no longer stand."""
    count, n = t.open.shape
    at = {int(landing): j for j, landing in enumerate(t.columns)}
    rows: list[list[int]] = [[] for _ in range(count)]
    for butt in layout.butts:
        j = at.get(butt.landing, -1)
        if butt.strake < count and j >= 0 and t.open[butt.strake, j]:
            rows[butt.strake].append(j)
    laid = np.full((count, max(map(len, rows), default=0) + 1), n)
    for s, row in enumerate(rows):
        laid[s, : len(row)] = sorted(row)
    return laid


def _tight(ways: Ways, rules: ButtRules, t: Tables) -> Floats:
    """Mark pairs of adjacent butts with less than a frame space to spare, (S, 2 D, n + 1, n)."""
    space = float(np.median(np.diff(ways.x_mm)))
    wider = replace(
        rules,
        adjacent_spaces=rules.adjacent_spaces + bool(rules.adjacent_spaces),
        adjacent_mm=rules.adjacent_mm + space * bool(rules.adjacent_mm),
    )
    count, n = t.open.shape
    tight = np.zeros((count, len(t.reach), n + 1, n))
    for k, offset in enumerate(t.reach):
        near = clash_kinds(ways, wider, t.columns, int(offset))["adjacent"]
        tight[:, k, :n] = (near & ~t.clash[:, k]).transpose(0, 2, 1)
    return tight


def _no_way(ways: Ways, rules: ButtRules, seed: int, begun: float) -> Layout:
    return Layout((), False, (), monotonic() - begun, seed)
